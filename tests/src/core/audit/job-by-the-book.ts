import { gather, type Gathered } from '../../../../src/core/audit/gather.ts';
import type { LoggedEvent, RunRecord } from '../../../../src/core/audit/record.ts';
import type { RunContext } from '../../../../src/core/job/context.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { emptySample, type Sample } from '../../../../src/core/quantity/sample.ts';

/**
 * A whole invented job on two radiators in which nothing is amiss: one sample a second, every stage, clear figures.
 * Tests bend it in one place and look what the audit says.
 */
export const at = {
  before: 20,
  join: 60,
  fill: 400,
  dose: 440,
  warm: 900,
  halfFill: 960,
  emitters: 1000,
  hall: 1010,
  kitchen: 1900,
  shut: 2800,
  circulate: 2820,
  rinse: 4200,
  after: 4900,
  protect: 4960,
  handOver: 5100,
  end: 5200,
} as const;

export const kit = 'urn:dev:mac:0024befffe804ff1';
const startedS = Date.UTC(2026, 4, 6, 8, 0, 0) / 1000;

const event = (timeS: number, name: string, more: Partial<RunEvent> = {}): RunEvent => ({
  timeS,
  event: name,
  emitter: '',
  note: '',
  ...more,
});
export { event };

const context: RunContext = {
  emitters: [
    { id: 'hall', name: 'Hall', volume_l: 8, path_l: 3, type: 'panel' },
    { id: 'kitchen', name: 'Kitchen', volume_l: 6, path_l: 3, type: 'column' },
  ],
  loop_volume_l: 25,
  return_volume_l: 3,
  mains: { turbidity_ntu: 0.5, conductivity_us_cm: 300 },
  sample_hz: 1,
  system: 'sealed',
};

const visit = (id: string, fromS: number): RunEvent[] => [
  event(fromS, 'emitter-open', { emitter: id }),
  ...[150, 380, 610].flatMap((s) => [
    event(fromS + s - 30, 'agitate-start', { emitter: id }),
    event(fromS + s, 'agitate-end', { emitter: id }),
  ]),
];

export const events: readonly RunEvent[] = [
  event(0, 'stage:survey'),
  event(1, 'kit-hello', { data: { kit, firmware: '1.2.0', 'step-turbidity': 0.01 } }),
  event(2, 'calibrated', {
    data: { kit, channel: 'turbidity', certificate: 'turbidity-2026-02', state: 'valid', due: '2027-02-01' },
  }),
  event(at.before, 'stage:before-samples'),
  event(at.before + 5, 'sample', { data: { water: 'mains', turbidity: 0.5, conductivity: 300, ph: 7.4 } }),
  event(at.before + 9, 'sample', { data: { water: 'before', turbidity: 46, conductivity: 700, ph: 7.1 } }),
  event(at.join, 'stage:join'),
  event(at.join + 10, 'hold-start'),
  event(at.fill - 10, 'hold-end'),
  event(at.fill, 'stage:fill'),
  event(at.fill + 5, 'check', { note: 'filled-from-empty' }),
  event(at.fill + 20, 'typed', { data: { what: 'fill-litres', value: 31 } }),
  event(at.dose, 'stage:dose'),
  event(at.dose + 2, 'label', { data: { what: 'cleaner', amount: 1, unit: 'l/100 l' } }),
  event(at.dose + 3, 'typed', { data: { what: 'contact-min', value: 30 } }),
  event(at.dose + 5, 'dose', { data: { what: 'cleaner', litres: 0.35 } }),
  event(at.warm, 'stage:warm'),
  event(at.halfFill, 'stage:half-fill'),
  event(at.emitters, 'stage:emitters'),
  ...visit('hall', at.hall),
  event(at.hall + 880, 'emitter-shut', { emitter: 'hall' }),
  ...visit('kitchen', at.kitchen),
  event(at.shut, 'emitter-shut', { emitter: 'kitchen' }),
  event(at.circulate, 'stage:circulate'),
  event(at.rinse, 'stage:rinse'),
  event(at.after, 'stage:after-samples'),
  event(at.after + 20, 'sample', { data: { water: 'after', turbidity: 1, conductivity: 305, ph: 8.6 } }),
  event(at.protect, 'stage:protect'),
  event(at.protect + 2, 'label', { data: { what: 'inhibitor', amount: 1, unit: 'l/100 l' } }),
  event(at.protect + 5, 'dose', { data: { what: 'inhibitor', litres: 0.35 } }),
  event(at.handOver, 'stage:hand-over'),
  event(at.handOver + 10, 'hand-over', { data: { engineer: 'A. Engineer', client: 'B. Client', site: 'Sampleton' } }),
  event(at.end, 'stage:end'),
];

/** Peaks of the pulses of one visit; the third pass brings nothing. */
const pulses = [
  [150, 300],
  [380, 60],
] as const;

/** An even scatter of a tenth, the same in every run. */
function scatter(i: number): number {
  const x = Math.sin(i * 12.9898) * 43758.5453;
  return 0.2 * (x - Math.floor(x) - 0.5);
}

function turbidityAt(t: number): number {
  if (t >= at.rinse) return 0.6 + 8 * Math.exp(-(t - at.rinse) / 60);
  let ntu = 8;
  for (const openS of [at.hall, at.kitchen]) {
    for (const [passS, peak] of pulses) {
      const s = t - (openS + passS + 10);
      if (s > 0) ntu += peak * Math.min(1, s / 8) * Math.exp(-Math.max(0, s - 8) / 18);
    }
  }
  return ntu;
}

function conductivityAt(t: number): number {
  if (t >= at.protect + 5) return 305 + 500 * (1 - Math.exp(-(t - at.protect - 5) / 20));
  if (t >= at.rinse) return 303 + 600 * Math.exp(-(t - at.rinse) / 80);
  return t > at.dose + 10 ? 900 : 700;
}

function sampleAt(t: number): Sample {
  const isHot = t >= at.circulate && t < at.rinse;
  return {
    ...emptySample(t),
    turbidityNtu: Math.round(100 * (turbidityAt(t) + scatter(t))) / 100,
    flowLpm: 12 + scatter(t + 7),
    pressureBar: 1.2 + scatter(t + 3) / 100,
    returnC: isHot ? 60 : 35,
    supplyC: isHot ? 65 : 38,
    conductivityUsCm: conductivityAt(t) + 5 * scatter(t + 5),
  };
}

export const samples: readonly Sample[] = Array.from({ length: at.end + 1 }, (_, t) => sampleAt(t));

export interface Bent {
  readonly events?: (all: readonly RunEvent[]) => readonly RunEvent[];
  readonly sample?: (s: Sample) => Sample | null;
  readonly context?: (c: RunContext) => RunContext;
  readonly record?: Partial<RunRecord>;
  /** Seconds by which the wall clock is ahead, at a time of the run. */
  readonly wallOff?: (timeS: number) => number;
  readonly who?: (e: RunEvent) => string;
}

/** The job, bent. */
export function job(bent: Bent = {}): RunRecord {
  const told = bent.events ? bent.events(events) : events;
  const entries = told
    .toSorted((a, b) => a.timeS - b.timeS)
    .map((e, i): LoggedEvent => {
      const wallS = startedS + e.timeS + (bent.wallOff?.(e.timeS) ?? 0);
      const who = bent.who?.(e) ?? (e.event === 'kit-hello' ? 'kit' : 'device-1');
      const id = who === 'bridge' ? `bridge-restart-${i}` : `e${i}`;
      return { id, event: e, who, wallAt: new Date(wallS * 1000).toISOString() };
    });
  return {
    head: {
      runId: 'run-20260506-0800',
      title: 'Clean of 7 Example Row',
      simulated: false,
      startedAt: new Date(startedS * 1000).toISOString(),
      context: bent.context ? bent.context(context) : context,
    },
    entries,
    samples: bent.sample ? samples.flatMap((s) => bent.sample?.(s) ?? []) : samples,
    chain: { count: entries.length, hash: 'f00d' },
    seal: { state: 'good' },
    ...bent.record,
  };
}

let gathered: Gathered | null = null;

/** The unbent job, gathered once. */
export function byTheBook(): Gathered {
  gathered ??= gather(job());
  return gathered;
}

/** Without the events that answer to this. */
export const without =
  (gone: (e: RunEvent) => boolean): NonNullable<Bent['events']> =>
  (all) =>
    all.filter((e) => !gone(e));

/** With some more. */
export const plus =
  (...more: readonly RunEvent[]): NonNullable<Bent['events']> =>
  (all) => [...all, ...more];

/** A change of the samples of a span; null takes one away. */
export const during = (fromS: number, toS: number, change: (s: Sample) => Sample | null) => (s: Sample) =>
  s.timeS >= fromS && s.timeS < toS ? change(s) : s;

/** Rule, what was bent, and what the finding must say. */
export type Bend = readonly [rule: string, what: string, bent: Bent, key: string, says: string];
