import type { Refusal } from '../quantity/refusal.ts';
import type { Conditions } from './conditions.ts';
import { type Life, type LifeInput, lifeTable } from './life.ts';
import { type AlarmKind, type AlarmRule, alarmKinds, alarmRules } from './rules.ts';

/** One alarm. Plain data, so that it can be kept over a restart: an acknowledgement must not be lost. */
export interface AlarmEntry {
  readonly life: Life;
  /** After the delays. */
  readonly isOn: boolean;
  /** Before them, and since when. */
  readonly isWanted: boolean;
  readonly wantedSinceS: number;
  /** When it last rose, and its place in the row of rises. */
  readonly sinceS: number;
  readonly order: number;
  readonly risesS: readonly number[];
  readonly isChattering: boolean;
  readonly shelvedUntilS: number | null;
  readonly figures: Readonly<Record<string, number>>;
  readonly because: string;
}

export interface AlarmState {
  readonly entries: Readonly<Record<AlarmKind, AlarmEntry>>;
  readonly rises: number;
  /** The sound is off until something new rises. */
  readonly isSilenced: boolean;
  /** First alarm of the burst that stands; null when all is quiet. */
  readonly firstUp: AlarmKind | null;
}

export type AlarmInput =
  | { readonly type: 'look'; readonly atS: number; readonly conditions: Conditions }
  | { readonly type: 'acknowledge'; readonly atS: number; readonly kind: AlarmKind }
  | { readonly type: 'silence'; readonly atS: number }
  | { readonly type: 'shelve'; readonly atS: number; readonly kind: AlarmKind; readonly minutes: number }
  | { readonly type: 'unshelve'; readonly atS: number; readonly kind: AlarmKind };

export interface AlarmStep {
  readonly state: AlarmState;
  /** Alarms that are to be heard now. */
  readonly sounds: readonly AlarmKind[];
  /** Every rise, heard or not: what the record and the measure count. */
  readonly rises: readonly AlarmKind[];
  readonly refusal: Refusal | null;
}

export const shelveMinutes: readonly number[] = [5, 15, 30];
/** More rises than this in a minute and the alarm is latched as one that chatters, until it was quiet for as long. */
const chatterRises = 3;
const chatterS = 60;

const fresh: AlarmEntry = {
  life: 'normal',
  isOn: false,
  isWanted: false,
  wantedSinceS: 0,
  sinceS: 0,
  order: 0,
  risesS: [],
  isChattering: false,
  shelvedUntilS: null,
  figures: {},
  because: '',
};

export const quietAlarms: AlarmState = {
  entries: {
    'kit-silent': fresh,
    'pressure-high': fresh,
    leak: fresh,
    'too-hot': fresh,
    'no-flow': fresh,
    'mains-lost': fresh,
    'filling-loop': fresh,
    'chamber-full': fresh,
    sensor: fresh,
    window: fresh,
    'two-open': fresh,
    'never-clears': fresh,
  },
  rises: 0,
  isSilenced: false,
  firstUp: null,
};

/** The alarm machine: state and input in, state and sounds out. Time comes with the input and does not go back. */
export function alarmStep(state: AlarmState, input: AlarmInput, rules: readonly AlarmRule[] = alarmRules): AlarmStep {
  const same = { state, sounds: [], rises: [], refusal: null };
  switch (input.type) {
    case 'look':
      return look(state, input.atS, input.conditions, rules);
    case 'silence':
      return { ...same, state: { ...state, isSilenced: true } };
    case 'acknowledge': {
      const rule = ruleOf(rules, input.kind);
      const entry = live(state.entries[input.kind], 'acknowledge');
      const ends = rule?.endsOnAcknowledge === true;
      const next = ends ? { ...entry, life: 'normal' as const, isOn: false, isWanted: false } : entry;
      return { ...same, state: settled({ ...state, entries: { ...state.entries, [input.kind]: next } }) };
    }
    case 'shelve': {
      const refusal = refuseShelve(input.kind, input.minutes, rules);
      if (refusal) return { ...same, refusal };
      return {
        ...same,
        state: settled(withEntry(state, input.kind, { shelvedUntilS: input.atS + 60 * input.minutes })),
      };
    }
    case 'unshelve':
      return { ...same, state: withEntry(state, input.kind, { shelvedUntilS: input.atS }) };
  }
}

/** Why this alarm may not be put aside for so long; null: it may. */
export function refuseShelve(
  kind: AlarmKind,
  minutes: number,
  rules: readonly AlarmRule[] = alarmRules,
): Refusal | null {
  if (!shelveMinutes.includes(minutes))
    return { code: 'shelve-minutes', params: { found: minutes, allowed: shelveMinutes.join(', ') } };
  return ruleOf(rules, kind)?.priority === 'urgent' ? { code: 'shelve-urgent', params: { kind } } : null;
}

function ruleOf(rules: readonly AlarmRule[], kind: AlarmKind): AlarmRule | undefined {
  return rules.find((r) => r.kind === kind);
}

function withEntry(state: AlarmState, kind: AlarmKind, change: Partial<AlarmEntry>): AlarmState {
  return { ...state, entries: { ...state.entries, [kind]: { ...state.entries[kind], ...change } } };
}

function live(entry: AlarmEntry, input: LifeInput): AlarmEntry {
  return { ...entry, life: lifeTable[entry.life][input].to };
}

function look(state: AlarmState, atS: number, conditions: Conditions, rules: readonly AlarmRule[]): AlarmStep {
  // Most seconds of a run: nothing is wrong, and nothing was.
  if (
    state.firstUp === null &&
    rules.every(({ kind }) => conditions[kind]?.isOn === false && isAtRest(state.entries[kind]))
  )
    return { state, sounds: [], rises: [], refusal: null };
  const entries = { ...state.entries };
  const sounds: AlarmKind[] = [];
  const rises: AlarmKind[] = [];
  let count = state.rises;
  for (const rule of byCause(rules)) {
    const before = entries[rule.kind];
    const isHeld = rule.causes.some((c) => entries[c].isOn);
    const wanted = conditions[rule.kind];
    const next = delayed(unshelved(before, atS), rule, atS, isHeld ? null : (wanted?.isOn ?? null));
    let entry: AlarmEntry =
      wanted?.isOn === true && !isHeld ? { ...next, figures: wanted.figures, because: wanted.because } : next;
    const wasOn = before.isOn && !endedShelf(before, atS);
    if (entry.isOn !== wasOn) {
      const input = entry.isOn ? 'rise' : 'fall';
      const step = lifeTable[entry.life][input];
      entry = { ...entry, life: step.to };
      if (input === 'rise') {
        entry = risen(entry, atS, ++count);
        if (!(entry.isChattering && before.isChattering)) {
          rises.push(rule.kind);
          if (step.sounds && entry.shelvedUntilS === null) sounds.push(rule.kind);
        }
      }
    }
    entries[rule.kind] = quietened(entry, atS);
  }
  const isSilenced = state.isSilenced && sounds.length === 0;
  const all = { entries, rises: count, isSilenced, firstUp: state.firstUp };
  return { state: settled(all), sounds, rises, refusal: null };
}

const ordered = new WeakMap<readonly AlarmRule[], readonly AlarmRule[]>();

/** Causes before what they explain, so that one look settles both. Rules are looked at every second: ordered once. */
function byCause(rules: readonly AlarmRule[]): readonly AlarmRule[] {
  const known = ordered.get(rules);
  if (known) return known;
  const depth = (kind: AlarmKind, seen: readonly AlarmKind[] = []): number => {
    if (seen.includes(kind)) return 0;
    const causes = ruleOf(rules, kind)?.causes ?? [];
    return causes.reduce((most, c) => Math.max(most, 1 + depth(c, [...seen, kind])), 0);
  };
  const sorted = [...rules].sort((a, b) => depth(a.kind) - depth(b.kind));
  ordered.set(rules, sorted);
  return sorted;
}

/** Nothing is left to be done with it while its condition stays off. */
function isAtRest({ life, isOn, isWanted, isChattering, shelvedUntilS }: AlarmEntry): boolean {
  return life === 'normal' && !isOn && !isWanted && !isChattering && shelvedUntilS === null;
}

function endedShelf(entry: AlarmEntry, atS: number): boolean {
  return entry.shelvedUntilS !== null && atS >= entry.shelvedUntilS;
}

/** The shelf has an end: what still stands is told as if it rose now. */
function unshelved(entry: AlarmEntry, atS: number): AlarmEntry {
  return endedShelf(entry, atS) ? { ...entry, shelvedUntilS: null, life: 'normal' } : entry;
}

/** On and off delay. A condition that is held back or cannot be seen starts its delay anew and changes nothing. */
function delayed(entry: AlarmEntry, rule: AlarmRule, atS: number, wanted: boolean | null): AlarmEntry {
  if (wanted === null) return { ...entry, isWanted: entry.isOn, wantedSinceS: atS };
  const since = wanted === entry.isWanted ? entry.wantedSinceS : atS;
  const isOn = atS - since >= (wanted ? rule.onS : rule.offS) ? wanted : entry.isOn;
  if (wanted === entry.isWanted && isOn === entry.isOn) return entry;
  return { ...entry, isWanted: wanted, wantedSinceS: since, isOn };
}

function risen(entry: AlarmEntry, atS: number, order: number): AlarmEntry {
  const risesS = [...entry.risesS.filter((t) => t > atS - chatterS), atS];
  return { ...entry, sinceS: atS, order, risesS, isChattering: entry.isChattering || risesS.length > chatterRises };
}

/** A latched one stands, on or off, until no rise came for a minute. */
function quietened(entry: AlarmEntry, atS: number): AlarmEntry {
  if (!entry.isChattering || atS - (entry.risesS.at(-1) ?? 0) < chatterS) return entry;
  return { ...entry, isChattering: false, risesS: [] };
}

/** Is it one that the list shows? */
export function isStanding(entry: AlarmEntry): boolean {
  return entry.shelvedUntilS === null && (entry.life !== 'normal' || entry.isChattering);
}

/** First of a burst stays first until it is handled: acknowledged, or gone and seen. */
function settled(state: AlarmState): AlarmState {
  const standing = alarmKinds.filter((k) => isStanding(state.entries[k]));
  const isOpen = (k: AlarmKind): boolean => ['unacked', 'returned'].includes(state.entries[k].life);
  const first = state.firstUp;
  if (first !== null && standing.includes(first) && isOpen(first)) return state;
  const open = standing.filter(isOpen).sort((a, b) => state.entries[a].order - state.entries[b].order);
  return { ...state, firstUp: open[0] ?? null };
}
