import type { Texts } from './texts.ts';

/** Sentences of the wire room, by code: what was found, what is expected, what to do. */
export const wireTexts = {
  'wire-crc': (p) =>
    `A line's check sum was ${p['found']}, its bytes give ${p['expected']}; the line was skipped. Many of these: look at the cable, its length and its neighbours.`,
  'wire-crc-form': (p) =>
    `A line's check sum has ${p['bytes']} characters behind "*" that are not four upper-case hex digits; the line was skipped. Print it as %04X.`,
  'wire-too-long': (p) =>
    `A line is longer than a pack may be (${p['limit']} bytes) and was skipped. Does the kit end each pack with a line feed?`,
  'wire-not-text': (p) =>
    `A line of ${p['bytes']} bytes is no UTF-8 text and was skipped. Many of these: check the speed of the port and the ground wire.`,
  'wire-cut': (p) =>
    `A line was cut (${p['bytes']} characters, begins ${p['start']}) and was skipped. Many of these: does the kit restart while it talks, or is its send buffer too small?`,
  'wire-not-json': (p) =>
    `A line is no SenML pack in JSON (${p['bytes']} characters, begins ${p['start']}) and was skipped. Print nothing else on this port; docs/wire.md has a sketch that works.`,
  'wire-not-cbor': (p) =>
    `A message of ${p['bytes']} bytes is no SenML pack in CBOR (${p['what']}) and was skipped. Send JSON, which begins with "[", or CBOR as RFC 8428 section 6 has it.`,
  'wire-topic': (p) =>
    `A pack of ${p['found']} came on the topic of ${p['expected']} and was skipped: a kit publishes below its own name only.`,
  'wire-no-pack': () =>
    'A line is JSON but no SenML pack and was skipped: a pack is a list of at least one record, as [{"bn":...}].',
  'wire-record': (p) =>
    `Record ${p['record']} of a pack was not used: its field ${p['field']} is wrong (${p['what']}). See docs/wire.md.`,
  'wire-number': (p) =>
    `${p['channel']} was sent without a number and was not used. Leave a failed sensor's record out instead of sending nan or null.`,
  'wire-version': (p) => `A pack says SenML version ${p['found']}; this bridge reads up to 10. Leave bver out.`,
  'wire-label': (p) =>
    `A pack holds the field ${p['found']}, whose final "_" says that it must be understood; it is not, so the pack was skipped.`,
  'wire-name': (p) =>
    `A record's name "${p['found']}" holds characters that SenML does not allow and was not used: letters, digits and - : . / _ only.`,
  'wire-values': (p) =>
    `${p['name']} has ${p['values']} values where it needs exactly one of v, vs, vb, vd; it was not used.`,
  'wire-base64': (p) => `${p['name']} has a vd that is no base64url without padding; it was not used.`,
  'wire-kit': (p) =>
    `A pack's first name is "${p['found']}"; it must be urn:dev:..., then "_", then the channel. Put "bn":"urn:dev:mac:..._" in the first record.`,
  'wire-kits': (p) =>
    `A pack holds records of two kits (${p['first']}, ${p['found']}) and was skipped: one pack, one kit.`,
  'wire-times': (p) =>
    `A pack holds records of two times (${p['first']}, ${p['found']}) and was skipped: one pack is one instant.`,
  'wire-no-identity': (p) =>
    `A pack of ${p['kit']} lacks ${p['missing']} and was skipped: each pack needs boot, seq and up.`,
  'wire-identity': (p) =>
    `A pack's ${p['channel']} is ${p['found']} and the pack was skipped: boot and seq are whole numbers from 0 (unit count), up is seconds since start (unit s).`,
  'wire-channel': (p) =>
    `The kit sends "${p['channel']}", a channel that is not known; it was not used. docs/wire.md lists the names.`,
  'wire-unit': (p) => `${p['channel']} came in unit ${p['found']} and was not used; send it in ${p['expected']}.`,
  'wire-type': (p) => `${p['channel']} was not used: it must be sent as ${p['expected']}.`,
  'wire-doubled': (p) => `${p['channel']} stands twice in one pack; the first value was used.`,
  'wire-absurd': (p) =>
    `${p['channel']} reads ${p['found']} ${p['unit']}, which no heating system gives (${p['min']} to ${p['max']}); it was not used. Check the sensor, its wiring and its conversion.`,
  'wire-negative-flow': (p) =>
    `Flow reads ${p['found']} ${p['unit']}; it was not used. Is the flow sensor fitted against its arrow, or its zero off?`,
  'wire-hello-alone': (p) =>
    `The kit sends "${p['channel']}" without "hello" in the same pack; it was not used. Put both in one pack.`,
  'command-rate': (p) => `A kit cannot be asked for ${p['found']} packs a second: ${p['min']} to ${p['max']}.`,
  'command-many': (p) => `The kit has ${p['most']} commands to answer already; wait for them.`,
  'command-not-sent': () => 'The command could not be sent: the kit is not there now. Try again when it is.',
  'command-refused': (p) => `The kit refused the command: ${p['why']}.`,
  'command-restart': () =>
    'The kit restarted before it answered; whether it obeyed is not known. Look at what it says now, and ask again.',
  'command-no-answer': (p) =>
    `The kit has not answered within ${p['seconds']} s. Does its firmware know commands, and does the cable carry both ways?`,
  'command-other-rate': (p) =>
    `The kit answered, but goes on with ${p['found']} packs a second: it cannot give the rate that was asked for.`,
} satisfies Texts;
