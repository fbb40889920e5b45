import type { Texts } from './texts.ts';

/** Sentences of the way to the firm, by code. */
export const hubTexts: Texts = {
  'outbox-away': (p) =>
    `The firm's broker ${p['url']} cannot be reached (${p['detail']}). Nothing is lost: the record stays on this bridge and goes out when the broker is back.`,
  'outbox-nobody': (p) =>
    `The firm's broker ${p['url']} is there, but no hub listens. Start one (limpid hub); the record waits on this bridge until then.`,
  'outbox-not-allowed': (p) =>
    `The firm's broker ${p['url']} does not let this rig write as "${p['rig']}". Ask the firm for the right login, or set the name of the rig that the login is for (--rig).`,
  'outbox-refused': (p) => `The firm's broker ${p['url']} did not take a message. It is sent again in a minute.`,
  'outbox-too-large': (p) =>
    `The firm's broker ${p['url']} takes messages of ${p['largest']} bytes at most, and the next one has ${p['bytes']}. Let it take 256 kB (max_packet_size); the record waits on this bridge until then.`,
  'outbox-rig': (p) =>
    `"${p['found']}" cannot be the name of a rig: letters, digits and hyphens, 63 at most, are what a topic and a login take. Set another with --rig.`,
  'hub-away': (p) =>
    `The broker ${p['url']} cannot be reached (${p['detail']}). The rigs keep their records; the hub joins again by itself.`,
  'hub-not-allowed': (p) =>
    `The broker ${p['url']} does not let the hub read ${p['filter']}. It needs MQTT 5 with shared subscriptions, and a login that may read limpid/+/up/# and write limpid/+/down/#.`,
  'hub-not-kept': (p) =>
    `What a rig sent could not be kept (${p['detail']}). It is not acknowledged, so it comes again; make room or mend the disk.`,
  'hub-part-unreadable': (p) => `A message under ${p['leaf']} is none of ours: ${p['detail']}.`,
  'hub-chunk-differs': (p) =>
    `Samples ${p['chunk']} of run ${p['runId']} are not what their own head says (another hash). The rig sends them again.`,
  'hub-other-rig': (p) =>
    `Run ${p['runId']} came first from another rig; "${p['rig']}" sends it, too. Nothing was mixed: find out which of the two has a copied data folder.`,
  'hub-head-invalid': (p) => `The head of run ${p['runId']} cannot be read (${p['detail']}).`,
  'hub-chain-differs': (p) =>
    `Entry ${p['index']} of run ${p['runId']} does not follow the one before it (${p['kind']}). Nothing after it was taken in.`,
  'hub-record-differs': (p) =>
    `The sealed record of run ${p['runId']} is not what was signed, or is of another run: ${p['detail']}.`,
  'hub-series-away': (p) =>
    `The time series ${p['url']} did not take samples (${p['detail']}). They wait on the hub's disk and are written when it does.`,
  'hub-busy': (p) => `Another process has the firm's store ${p['file']} open; this hub only collects.`,
};
