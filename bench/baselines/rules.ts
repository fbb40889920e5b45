import type { Verdicts, VisitResult } from '../../src/core/analyse-recording.ts';
import { Cusum } from '../../src/core/changepoint/cusum.ts';
import type { Sample } from '../../src/core/quantity/sample.ts';
import type { BenchRun } from '../dataset.ts';

/**
 * The obvious rules: what a careful person would write in an hour. They know the visits and the passes, wait for the
 * survey's litres of the path at the measured flow (with 30 % to spare), and know nothing of background, echo or faults.
 * They are here to be beaten, and to show by how much.
 */
export interface Rule {
  /** A pass or an opening: start afresh. */
  restart(): void;
  /** One reading of a visit; whether the rule says clear now. */
  step(timeS: number, ntu: number): boolean;
}

/** The mean of the last 30 s is under a fixed 20 NTU. */
export class MeanUnder implements Rule {
  private readonly values: { timeS: number; ntu: number }[] = [];
  private sum = 0;

  restart(): void {
    this.values.length = 0;
    this.sum = 0;
  }

  step(timeS: number, ntu: number): boolean {
    this.values.push({ timeS, ntu });
    this.sum += ntu;
    let first = this.values[0];
    const span = timeS - (first?.timeS ?? timeS);
    while (first && timeS - first.timeS > 30) {
      this.sum -= first.ntu;
      this.values.shift();
      first = this.values[0];
    }
    return span >= 29 && this.sum / this.values.length < 20;
  }
}

/** The slope of the last minute is flat: under 2 NTU a minute either way. */
export class FlatSlope implements Rule {
  private readonly values: { timeS: number; ntu: number }[] = [];

  restart(): void {
    this.values.length = 0;
  }

  step(timeS: number, ntu: number): boolean {
    const { values } = this;
    values.push({ timeS, ntu });
    const span = timeS - (values[0]?.timeS ?? timeS);
    while (values.length > 0 && timeS - (values[0]?.timeS ?? timeS) > 60) values.shift();
    if (span < 59) return false;
    const n = values.length;
    const t = values.reduce((s, v) => s + v.timeS, 0) / n;
    const y = values.reduce((s, v) => s + v.ntu, 0) / n;
    let stt = 0;
    let sty = 0;
    for (const v of values) {
      stt += (v.timeS - t) ** 2;
      sty += (v.timeS - t) * (v.ntu - y);
    }
    return Math.abs((sty / stt) * 60) < 2;
  }
}

/** A plain two-sided CUSUM about the last 20 s of the opening: clear once it has been quiet for 30 s. */
export class PlainCusum implements Rule {
  private reference: number[] = [];
  private cusum: Cusum | null = null;
  private quietFromS = Number.NaN;

  restart(): void {
    this.quietFromS = Number.NaN;
  }

  step(timeS: number, ntu: number): boolean {
    if (!this.cusum) {
      this.reference.push(ntu);
      if (this.reference.length < 40) return false;
      const mean = this.reference.reduce((a, b) => a + b, 0) / this.reference.length;
      const sd = Math.sqrt(this.reference.reduce((a, b) => a + (b - mean) ** 2, 0) / this.reference.length);
      this.cusum = new Cusum({ reference: { mean, sd: Math.max(sd, 0.5) }, k: 0.5, h: 5, side: 'both' });
    }
    if (Number.isNaN(this.quietFromS) || this.cusum.step(ntu, timeS)) this.quietFromS = timeS;
    return timeS - this.quietFromS > 30;
  }
}

export const rules: Readonly<Record<string, () => Rule>> = {
  'mean of 30 s under 20 NTU': () => new MeanUnder(),
  'flat slope for a minute': () => new FlatSlope(),
  'plain CUSUM': () => new PlainCusum(),
};

/** Litres of the path by the survey (half of the emitter's content), and how much more is waited for. */
const spare = 1.3;
/** Without a flow reading. */
const usualLpm = 10;

function surveyedL(run: BenchRun, id: string): number {
  const emitter = run.context.emitters.find((e) => e.id === id);
  return (emitter?.path_l ?? run.context.return_volume_l) + (emitter?.volume_l ?? 0) / 2;
}

/** What a rule says of a run, in the shape of an analysis. */
export function runRule(run: BenchRun, make: () => Rule): Verdicts {
  const visits: VisitResult[] = [];
  const counts = new Map<string, number>();
  let next = 0;
  let now: { visit: Mutable; rule: Rule } | null = null;
  const shut = (): void => {
    if (now) visits.push(now.visit);
    now = null;
  };
  let stage = '';
  let waitL = 0;
  let lastS = 0;
  for (const sample of run.samples) {
    waitL -= ((sample.flowLpm ?? usualLpm) / 60) * Math.min(1, sample.timeS - lastS);
    lastS = sample.timeS;
    for (let e = run.events[next]; e && e.timeS <= sample.timeS; e = run.events[next]) {
      next += 1;
      if (e.event.startsWith('stage:')) stage = e.event;
      if (e.event.startsWith('stage:') || (e.event === 'emitter-shut' && now?.visit.emitter === e.emitter)) shut();
      if (e.event === 'emitter-open' && (stage === 'stage:emitters' || stage === '')) {
        shut();
        counts.set(e.emitter, (counts.get(e.emitter) ?? 0) + 1);
        now = { visit: blank(e.emitter, counts.get(e.emitter) ?? 1), rule: make() };
        waitL = spare * surveyedL(run, e.emitter);
      }
      if (now && (e.event === 'agitate-start' || e.event === 'agitate-end')) {
        now.rule.restart();
        waitL = spare * surveyedL(run, e.emitter);
        end(now.visit, sample);
      }
    }
    if (!now || sample.turbidityNtu === null) continue;
    if (!now.rule.step(sample.timeS, sample.turbidityNtu)) end(now.visit, sample);
    else if (waitL > 0) continue;
    else if (now.visit.clears.at(-1)?.to_s !== null) now.visit.clears.push({ from_s: sample.timeS, to_s: null });
  }
  shut();
  return { visits, rinse: null };
}

type Mutable = Omit<VisitResult, 'clears'> & { clears: { from_s: number; to_s: number | null }[] };

function end(visit: Mutable, sample: Sample): void {
  const last = visit.clears.at(-1);
  if (last && last.to_s === null) last.to_s = sample.timeS;
}

function blank(emitter: string, visit: number): Mutable {
  return {
    emitter,
    visit,
    clear_at_s: null,
    clears: [],
    withheld: false,
    done: false,
    pulses: [],
    confidence: null,
    reason: { code: 'rule', text: '', figures: {} },
  };
}
