import type { RecordPort } from '../../../src/server/record-routes.ts';

const nothing = { status: 409, code: 'seal-none', text: 'There is none.' } as const;

/** A record that gives empty papers and refuses the rest. */
export const fakeRecord: RecordPort = {
  reportPdf: () => Promise.resolve(new Uint8Array(10)),
  labelPdf: () => Promise.resolve(new Uint8Array(10)),
  seal: () => nothing,
  state: () => nothing,
  comment: () => nothing,
  addPhoto: () => nothing,
  photo: () => null,
};
