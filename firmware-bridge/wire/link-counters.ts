/** What came over one link since it was made, as whole numbers that only grow. Reopening the port does not clear them. */
export interface LinkCounters {
  bytes: number;
  oddBytes: number;
  lines: number;
  packs: number;
  withoutCrc: number;
  firstPartial: number;
  badLines: number;
  badCrc: number;
  tooLong: number;
  resynchronised: number;
  recordsRejected: number;
  duplicates: number;
  gaps: number;
  missing: number;
  outOfOrder: number;
  late: number;
  restarts: number;
  sequenceWraps: number;
}

export function noCounts(): LinkCounters {
  return {
    bytes: 0,
    oddBytes: 0,
    lines: 0,
    packs: 0,
    withoutCrc: 0,
    firstPartial: 0,
    badLines: 0,
    badCrc: 0,
    tooLong: 0,
    resynchronised: 0,
    recordsRejected: 0,
    duplicates: 0,
    gaps: 0,
    missing: 0,
    outOfOrder: 0,
    late: 0,
    restarts: 0,
    sequenceWraps: 0,
  };
}

/** What each counter means, for the page of the link and for `doctor`. */
export const counterSentences: Readonly<Record<keyof LinkCounters, string>> = {
  bytes: 'Bytes that came from the kit.',
  oddBytes: 'Bytes that are no plain text; many of them mean a wrong speed or electrical noise.',
  lines: 'Lines or messages that were seen, good and bad, the empty lines not counted.',
  packs: 'Packs that were taken, each once.',
  withoutCrc: 'Packs that were taken without a check sum: whole as far as one can tell, but not assured.',
  firstPartial: 'First lines after opening that were cut because the kit was already talking; expected, not a fault.',
  badLines: 'Lines or messages that were skipped: cut, garbled, or not as docs/wire.md says.',
  badCrc: 'Of the skipped lines, those whose check sum did not match.',
  tooLong: 'Of the skipped lines, those longer than a line may be.',
  resynchronised: 'Good packs found behind the remains of a cut line, proven by their check sum.',
  recordsRejected: 'Single values that were not believed while the rest of their pack was used.',
  duplicates: 'Packs that came a second time and were dropped.',
  gaps: 'Places where the sequence number jumped: packs are missing there.',
  missing: 'Packs that are missing now; it shrinks when the kit sends kept ones later.',
  outOfOrder: 'Packs that came after a later one.',
  late: 'Packs that the kit had kept while the link was away.',
  restarts: 'Times the kit started anew.',
  sequenceWraps: 'Times the sequence number began again or leapt although the kit had run on.',
};
