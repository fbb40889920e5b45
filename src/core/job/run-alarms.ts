import { dueFrom } from '../quantity/due.ts';
import type { Analysis } from '../analyse.ts';
import type { AlarmInput } from '../alarm/machine.ts';
import { type AlarmKind, type AlarmLimits, isAlarmKind } from '../alarm/rules.ts';
import { type AlarmMemory, freshAlarms, handleAlarm, type WatchStep, watchAlarms } from '../alarm/watch.ts';
import type { Notice } from '../line/verdict.ts';
import { type Sample, sampleKeys, sampleOf, valuesInto } from '../quantity/sample.ts';
import type { RunEvent } from './event.ts';
import type { Job } from './state.ts';

/** One rise of an alarm, heard or not. */
export interface AlarmRise {
  readonly atS: number;
  readonly kind: AlarmKind;
}

const none: readonly Notice['reason'][] = [];
/** A value is good for so long; a slow kit that sends once a second is no gap. */
const staleS = 5;
/** Remarks that count while the run rests: then the water may stand, but the circuit must hold. */
const atRest = new Set(['leak', 'filling-loop-open']);
/** Stages in which the kit is in line, so that its silence is a trouble. */
const withKit = new Set(['join', 'fill', 'dose', 'warm', 'baseline', 'emitters', 'circulate', 'rinse']);

/**
 * The alarms of a run: one look at the end of each whole second of the run's clock, whatever comes between. Nothing but
 * samples and events enters, so that the record alone gives the same alarms again after a power cut, and afterwards.
 * Fed in time order: `advance` to the time of an input first, then the input.
 */
export class RunAlarms {
  memory: AlarmMemory = freshAlarms;
  readonly rises: AlarmRise[] = [];
  /** How often something was to be heard. */
  heard = 0;
  private nextS = Number.NaN;
  private lastSampleS = Number.NaN;
  private told = 0;
  private names: string[] = [];
  /** What the moment at hand gives; of each channel the last value that it gave, and when (NaN: never). */
  private readonly given = new Float64Array(sampleKeys.length);
  private readonly values = new Float64Array(sampleKeys.length);
  private readonly seenS = new Float64Array(sampleKeys.length).fill(Number.NaN);
  private readonly limits: AlarmLimits;

  constructor(limits: AlarmLimits) {
    this.limits = limits;
  }

  /** Take the looks that are due up to `timeS`. */
  advance(timeS: number, analysis: Analysis, job: Job): void {
    if (Number.isNaN(this.nextS)) this.nextS = Math.floor(timeS) + 1;
    this.nextS = dueFrom(this.nextS, timeS);
    while (this.nextS <= timeS) {
      analysis.advance(this.nextS);
      this.look(this.nextS, analysis, job);
      this.nextS += 1;
    }
  }

  sample(sample: Sample): void {
    this.lastSampleS = sample.timeS;
    valuesInto(sample, this.given);
    for (let i = 0; i < this.given.length; i += 1) {
      const value = this.given[i] ?? Number.NaN;
      if (!Number.isFinite(value)) continue;
      this.values[i] = value;
      this.seenS[i] = sample.timeS;
    }
  }

  event(event: RunEvent): void {
    const input = handled(event);
    if (input) this.take(handleAlarm(this.memory, input), event.timeS);
    else this.names.push(event.event);
  }

  private look(atS: number, analysis: Analysis, job: Job): void {
    const { visit, notices } = analysis;
    const news = notices.length === this.told ? none : notices.slice(this.told).map((n) => n.reason);
    this.told = notices.length;
    const step = watchAlarms(
      this.memory,
      {
        atS,
        sample: this.freshAt(atS),
        verdict: this.verdict(atS, analysis, job),
        remarks: news.filter((r) => concerns(r.code, job)),
        events: this.names,
        visit: visit && { passes: visit.passesS.length, isDone: visit.verdict.done },
      },
      this.limits,
    );
    this.names = [];
    this.take(step, atS);
  }

  /** Of each channel the last value, where it is not too old. */
  private freshAt(atS: number): Sample {
    for (let i = 0; i < this.given.length; i += 1) {
      const isFresh = atS - (this.seenS[i] ?? Number.NaN) <= staleS;
      this.given[i] = isFresh ? (this.values[i] ?? Number.NaN) : Number.NaN;
    }
    return sampleOf(atS, this.given);
  }

  /** While the run rests nobody waits for a verdict. */
  private verdict(atS: number, analysis: Analysis, job: Job): Analysis['verdict']['reason'] | null {
    if (job.paused) return null;
    const silentS = atS - this.lastSampleS;
    if (silentS > staleS && withKit.has(job.stage ?? '')) return { code: 'silence', figures: { silentS } };
    return job.stage === 'rinse' && analysis.rinse ? analysis.rinse.verdict.reason : analysis.verdict.reason;
  }

  private take(step: WatchStep, atS: number): void {
    this.memory = step.memory;
    for (const kind of step.rises) this.rises.push({ atS, kind });
    if (step.sounds.length > 0) this.heard += 1;
  }
}

/** Whether a remark is a trouble now: while the run rests, and between two emitters, the water may stand. */
function concerns(code: string, job: Job): boolean {
  if (job.paused) return atRest.has(code);
  return code !== 'flow-stopped' || job.stage !== 'emitters' || job.openEmitter !== null;
}

/** What an event does with the alarms; null: it is about something else. */
export function handled({ event, timeS, note, data }: RunEvent): Exclude<AlarmInput, { type: 'look' }> | null {
  if (event === 'alarm-silence') return { type: 'silence', atS: timeS };
  if (!isAlarmKind(note)) return null;
  const minutes = data?.['minutes'];
  switch (event) {
    case 'alarm-acknowledge':
      return { type: 'acknowledge', atS: timeS, kind: note };
    case 'alarm-shelve':
      return { type: 'shelve', atS: timeS, kind: note, minutes: typeof minutes === 'number' ? minutes : 0 };
    case 'alarm-unshelve':
      return { type: 'unshelve', atS: timeS, kind: note };
    default:
      return null;
  }
}
