import type { Texts } from './texts.ts';

/** Sentences of the HTTP server, by code. */
export const serverTexts = {
  'body-not-json': () =>
    'The body is not JSON that can be read. Send one JSON object with the header content-type: application/json.',
  'body-too-large': (p) =>
    `The body is larger than ${p['limitBytes'] ?? ''} bytes, more than any event needs. Send a shorter note.`,
  'bad-field': (p) => `${p['where'] ?? 'The request'}: ${p['what'] ?? 'not as expected'}. See /api/openapi.json.`,
  'not-found': (p) => `There is nothing at ${p['path'] ?? ''}. See /api/openapi.json for what there is.`,
  'foreign-host': (p) =>
    `This bridge does not answer to the name "${p['host'] ?? ''}". Open it by the address that its console prints.`,
  'foreign-origin': (p) =>
    `A page from ${p['origin'] ?? 'elsewhere'} may not write here. Open the bridge's own page by the address that its console prints.`,
  'not-paired': () =>
    'This device may watch only. To work from it, type the pairing code that the console of the bridge shows.',
  'wrong-code': () => 'That is not the pairing code. It stands on the console of the bridge; look again and retype it.',
  'too-many-guesses': (p) => `Too many wrong codes. Wait ${p['waitS'] ?? ''} s, then type the code again.`,
  'too-many-pages': (p) =>
    `${p['limit'] ?? ''} pages follow this bridge already. Close one that is not needed, then reload this page.`,
  'may-write-here': () => 'This is the machine of the bridge: it may write without pairing.',
  'may-write-paired': () => 'This device is paired and may write.',
  'pairing-not-kept': (p) =>
    `The pairing could not be kept in ${p['file'] ?? 'the data folder'} (${p['why'] ?? ''}). This device is paired until the bridge stops; check that the folder can be written.`,
  'server-fault': () =>
    'The bridge met a fault of its own and kept the details in its log. Try once more; the run itself goes on.',
} satisfies Texts;
