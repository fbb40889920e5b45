import type { Texts } from './texts.ts';

/** Sentences of the HTTP server, by code. */
export const serverTexts = {
  'body-not-json': () =>
    'The body is not JSON that can be read. Send one JSON object with the header content-type: application/json.',
  'body-too-large': (p) =>
    `What was sent is larger than ${p['limitBytes'] ?? ''} bytes, the most that is taken here. Send a shorter note, or a smaller picture.`,
  'bad-field': (p) => `${p['where'] ?? 'The request'}: ${p['what'] ?? 'not as expected'}. See /api/openapi.json.`,
  'not-found': (p) => `There is nothing at ${p['path'] ?? ''}. See /api/openapi.json for what there is.`,
  'foreign-host': (p) =>
    `This bridge does not answer to the name "${p['host'] ?? ''}". Open it by the address that its console prints.`,
  'foreign-origin': (p) =>
    `A page from ${p['origin'] ?? 'elsewhere'} may not write here. Open the bridge's own page by the address that its console prints.`,
  'foreign-reader': (p) =>
    `A page from ${p['origin'] ?? 'elsewhere'} may not load from here. Open the bridge's own page by the address that its console prints.`,
  'not-paired': () =>
    'This device may watch only. To work from it, type the pairing code that the console of the bridge shows.',
  'wrong-code': () => 'That is not the pairing code. It stands on the console of the bridge; look again and retype it.',
  'too-many-guesses': (p) => `Too many wrong codes. Wait ${p['waitS'] ?? ''} s, then type the code again.`,
  'too-many-pages': (p) =>
    `${p['limit'] ?? ''} pages follow this bridge already. Close one that is not needed, then reload this page.`,
  'too-much-asked': (p) =>
    `${p['path'] ?? 'This'} was asked for too often from this address. Wait ${p['waitS'] ?? ''} s, then try again.`,
  'too-much-asked-by-all': (p) =>
    `${p['path'] ?? 'This'} is asked for by too many devices that are not paired. Wait ${p['waitS'] ?? ''} s, then try again; a paired device is not held up.`,
  'may-write-here': () => 'This is the machine of the bridge: it may write without pairing.',
  'may-write-paired': () => 'This device is paired and may write.',
  'pairing-not-kept': (p) =>
    `The pairing could not be kept in ${p['file'] ?? 'the data folder'} (${p['why'] ?? ''}). This device is paired until the bridge stops; check that the folder can be written.`,
  'office-sign-in': () =>
    'These pages are not open to everyone. Sign in, or pair this device by the code on the console of the bridge.',
  'office-role': (p) =>
    `This needs the role ${p['role'] ?? ''}; you have the role ${p['is'] ?? ''}. Ask an administrator of the bridge.`,
  'office-link-only': () => 'This link shows one run and nothing else. Sign in to see more.',
  'office-link-ended': () => 'This link has ended, or never was. Ask whoever sent it for a new one.',
  'office-wrong-password': () => 'Name and password do not go together. Look at both and type them again.',
  'office-too-many-guesses': (p) => `Too many wrong passwords. Wait ${p['waitMin'] ?? ''} min, then try again.`,
  'office-busy': () => 'Too many are signing in at this moment. Try again in some seconds.',
  'office-no-run': (p) => `There is no run ${p['run'] ?? ''} here. The list of runs shows what there is.`,
  'office-no-file': (p) => `There is no such file of a run: ${p['file'] ?? ''}. Known: ${p['known'] ?? ''}.`,
  'office-no-person': (p) => `There is nobody here by the name ${p['name'] ?? ''}.`,
  'office-no-link': () => 'There is no such link to this run; it may have ended.',
  'office-no-export': () => 'There is no such export; it may have been taken away after a day. Start it again.',
  'office-export-working': () => 'This export is not ready yet. Ask for its state, and fetch it when it is ready.',
  'office-upload-too-large': (p) =>
    `The archive is larger than ${p['limitMb'] ?? ''} MB. Send one run in each archive, or use limpid import on the machine of the bridge.`,
  'office-no-name': () =>
    'Who says so? A comment, a sign-off and the closing of a finding carry a name: type yours ("by"), or sign in.',
  'office-no-finding': (p) =>
    `The run ${p['runId'] ?? ''} has no finding "${p['finding'] ?? ''}", so there is nothing to close. The page of the run names its findings, each with its key.`,
  'office-closed-already': (p) =>
    `${p['by'] ?? ''} closed the finding "${p['finding'] ?? ''}" already (${String(p['at'] ?? '')
      .slice(0, 16)
      .replace(
        'T',
        ' ',
      )} UTC): "${p['text'] ?? ''}". To say otherwise open it again first (the page shows it closed once it is loaded anew).`,
  'office-open-already': (p) => `The finding "${p['finding'] ?? ''}" is open: there is nothing to open again.`,
  'office-not-looked-yet': (p) =>
    `The run ${p['runId'] ?? ''} is still being looked at, so its findings are not known. Try again in some seconds.`,
  'office-settings': (p) => `These settings cannot be used: ${p['what'] ?? ''}. docs/method.md lists them.`,
  'office-not-looked': (p) =>
    `The run ${p['runId'] ?? ''} could not be looked at${p['why'] ? ` (${p['why']})` : ''}. Its readings are whole; the log of the bridge says more.`,
  'server-fault': () =>
    'The bridge met a fault of its own and kept the details in its log. Try once more; the run itself goes on.',
} satisfies Texts;
