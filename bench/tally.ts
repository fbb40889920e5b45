/** Counts and delays over any number of visits; the bars are made of these. */
export interface Tally {
  runs: number;
  visits: number;
  passes: number;
  clears: number;
  wrongOwn: number;
  wrongEcho: number;
  /** Wrong where all that the chambers would still catch counts. */
  wrongCaught: number;
  /** Of those with the echo, said at most 15 s too early. */
  wrongSlightly: number;
  /** Clears that stand when their visit ends; of these right, echo counted; and the confidence told of them, summed. */
  standing: number;
  standingRight: number;
  toldSum: number;
  due: number;
  missed: number;
  delaysS: number[];
  delaysTransits: number[];
  lowOnsets: number;
  lowHits: number;
  tailOnsets: number;
  tailHits: number;
  pulses: number;
  pulseHits: number;
  mustWithhold: number;
  withheldRight: number;
  others: number;
  withheldWrong: number;
  rinses: number;
  rinseFalse: number;
  rinseDue: number;
  rinseMissed: number;
  rinseDelaysS: number[];
  /** Troubles of flow and pressure that had to be named, each with the seconds until it was; null: it was not. */
  troubles: { readonly kind: string; readonly afterS: number | null }[];
  /** Codes of notices with nothing the matter. */
  falseNotices: string[];
}

export function emptyTally(): Tally {
  return {
    runs: 0,
    visits: 0,
    passes: 0,
    clears: 0,
    wrongOwn: 0,
    wrongEcho: 0,
    wrongCaught: 0,
    wrongSlightly: 0,
    standing: 0,
    standingRight: 0,
    toldSum: 0,
    due: 0,
    missed: 0,
    delaysS: [],
    delaysTransits: [],
    lowOnsets: 0,
    lowHits: 0,
    tailOnsets: 0,
    tailHits: 0,
    pulses: 0,
    pulseHits: 0,
    mustWithhold: 0,
    withheldRight: 0,
    others: 0,
    withheldWrong: 0,
    rinses: 0,
    rinseFalse: 0,
    rinseDue: 0,
    rinseMissed: 0,
    rinseDelaysS: [],
    troubles: [],
    falseNotices: [],
  };
}

/** Sum of two tallies. */
export function add(into: Tally, from: Tally): void {
  for (const key of Object.keys(into) as (keyof Tally)[]) {
    const a = into[key];
    const b = from[key];
    if (Array.isArray(a) && Array.isArray(b)) (a as unknown[]).push(...b);
    else if (typeof a === 'number' && typeof b === 'number') Object.assign(into, { [key]: a + b });
  }
}
