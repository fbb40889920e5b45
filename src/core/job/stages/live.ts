import { type FillPoint } from '../../hydraulics/compliance.ts';
import { type FilledLitres, FillMeter } from '../../hydraulics/fill.ts';
import { bandsOf } from '../../hydraulics/bands.ts';
import type { HoldPoint } from '../../hydraulics/leak-rate.ts';
import type { MixPoint } from '../../chemistry/mixed.ts';
import type { Uncertain } from '../../quantity/interval.ts';
import type { SampleKey } from '../../quantity/channels.ts';
import { emptySample, type Sample } from '../../quantity/sample.ts';
import { Seconds } from '../../quantity/seconds.ts';
import { BandClock, type ClockState } from '../clocks.ts';
import type { RunEvent } from '../event.ts';
import type { Job } from '../state.ts';
import { type CarriedDirt, DirtBook, noDirt } from '../dirt.ts';

/** Litres since the rinse began, with what the water held then. */
export interface RinseReading {
  readonly litres: number;
  readonly ntu: number | null;
  readonly usCm: number | null;
}

/** The emitter that the rinse water comes through, as told; how many were before it, and litres of the rinse till then. */
export interface RinseWay {
  readonly emitter: string;
  readonly before: number;
  readonly fromL: number;
}

const noWay: RinseWay = { emitter: '', before: 0, fromL: 0 };

/** What a run's samples come to, as the stages need it. */
export interface LiveFigures {
  /** Means of the last ten seconds; `null`: nothing came in them. */
  readonly now: Readonly<Record<SampleKey, number | null>>;
  /** Channels that have given a value in this run. */
  readonly seen: ReadonlySet<SampleKey>;
  readonly filled: FilledLitres | null;
  readonly fillPoints: readonly FillPoint[];
  readonly holdPoints: readonly HoldPoint[];
  /** Conductivity of the minute before the cleaner went in. */
  readonly beforeDose: Uncertain | null;
  readonly mixPoints: readonly MixPoint[];
  readonly contact: ClockState | null;
  readonly circulated: ClockState | null;
  /** Rise of the return temperature over the last minutes, K/min. */
  readonly riseKPerMin: number | null;
  readonly rinsed: FilledLitres | null;
  /** Second by second since the emitter was opened that the rinse water comes through. */
  readonly rinsePoints: readonly RinseReading[];
  readonly rinseWay: RinseWay;
  /** Conductivity when the rinse was left or the inhibitor went in, which conducts too; null: neither happened yet. */
  readonly rinsedOut: { readonly usCm: number | null } | null;
  readonly dirt: CarriedDirt;
}

const { timeS: _, ...nothing } = emptySample(0);

export const noFigures: LiveFigures = {
  now: nothing,
  seen: new Set(),
  filled: null,
  fillPoints: [],
  holdPoints: [],
  beforeDose: null,
  mixPoints: [],
  contact: null,
  circulated: null,
  riseKPerMin: null,
  rinsed: null,
  rinsePoints: [],
  rinseWay: noWay,
  rinsedOut: null,
  dirt: noDirt,
};

const meanS = 10;
const riseS = 300;
const beforeS = 60;
/** A point a second for three hours; then every second one is dropped. */
const mostPoints = 10_800;

/** From the rinse on the water is no longer that of the dose: what it conducts says nothing of how that mixed. */
const afterDose: ReadonlySet<string> = new Set(['rinse', 'after-samples', 'protect', 'hand-over', 'end']);

/**
 * Follows samples and events of a run and keeps what the stages show and what their gates ask: litres of fill and rinse,
 * the hold, the mixing, clocks, rates. Fed in time order; everything counts in whole seconds of the run's clock.
 */
export class StageLive {
  private readonly seconds = new Seconds('end');
  /** The last minutes second by second, each at its end. */
  private readonly recent: Sample[] = [];
  private timeS = 0;
  private stage = '';
  private fill: FillMeter | null = null;
  private fillPoints: FillPoint[] = [];
  private holding = false;
  private holdPoints: HoldPoint[] = [];
  private beforeDose: Uncertain | null = null;
  private doseL: number | null = null;
  private mixPoints: MixPoint[] = [];
  private contact: BandClock | null = null;
  private circulated: BandClock | null = null;
  private rinse: FillMeter | null = null;
  private rinsePoints: RinseReading[] = [];
  private rinseWay: RinseWay = noWay;
  private rinsedOut: LiveFigures['rinsedOut'] = null;
  private inhibited = 0;
  private readonly dirt = new DirtBook();
  private readonly system: 'sealed' | 'open-vented';

  constructor(system: 'sealed' | 'open-vented') {
    this.system = system;
  }

  /** `excessNtu`: turbidity over the background as the line's analysis has it, asked for once a second. */
  sample(sample: Sample, excessNtu: () => number | null): void {
    const second = this.seconds.take(sample);
    if (second) this.close(second, excessNtu());
    this.timeS = sample.timeS;
  }

  private close(second: Sample, excessNtu: number | null): void {
    this.recent.push(second);
    while (this.recent.length > 0 && (this.recent[0]?.timeS ?? 0) < second.timeS - riseS) this.recent.shift();
    this.follow(second, excessNtu);
  }

  private follow(second: Sample, excessNtu: number | null): void {
    const { timeS: endS, flowLpm, pressureBar, returnC, conductivityUsCm, turbidityNtu } = second;
    if (this.holding) keep(this.holdPoints, { timeS: endS, bar: pressureBar, celsius: returnC });
    if (this.fill && this.stage === 'fill') {
      this.fill.add(endS, flowLpm);
      if (pressureBar !== null && flowLpm !== null && flowLpm > 0)
        keep(this.fillPoints, { litres: this.fill.result().litres.value, bar: pressureBar });
    }
    if (this.doseL !== null && !afterDose.has(this.stage)) {
      this.doseL += (flowLpm ?? 0) / 60;
      if (conductivityUsCm !== null && this.mixPoints.length < mostPoints)
        this.mixPoints.push({ litres: this.doseL, usCm25: conductivityUsCm });
      this.contact?.add(endS, [flowLpm]);
    }
    if (this.stage === 'circulate') this.circulated?.add(endS, [flowLpm, returnC]);
    if (this.rinse && this.stage === 'rinse') {
      this.rinse.add(endS, flowLpm);
      keep(this.rinsePoints, {
        litres: this.rinse.result().litres.value,
        ntu: turbidityNtu,
        usCm: conductivityUsCm,
      });
    }
    if (this.stage === 'emitters' || (this.stage === '' && this.dirt.isOpen)) this.dirt.second(second, excessNtu);
  }

  /** `job`: as it is with this event. */
  event(event: RunEvent, job: Pick<Job, 'doses'>): void {
    this.dirt.event(event);
    this.followDoses(job);
    if (event.event.startsWith('stage:')) return this.enter(event.event.slice('stage:'.length));
    if (event.event === 'hold-start') {
      this.holding = true;
      this.holdPoints = [];
    } else if (event.event === 'hold-end') this.holding = false;
    else if (event.event === 'emitter-open' && this.rinse && this.stage === 'rinse')
      this.rinseBy(event.emitter, this.rinse);
  }

  /** Contact and mixing count from the first cleaner that still counts: one that was taken back never went in. */
  private followDoses(job: Pick<Job, 'doses'>): void {
    this.followInhibitor(job.doses.filter((d) => d.what === 'inhibitor').length);
    const isDosed = job.doses.some((d) => d.what !== 'inhibitor');
    if (isDosed && this.doseL === null) this.dosed();
    if (isDosed || this.doseL === null) return;
    this.doseL = null;
    this.beforeDose = null;
    this.contact = null;
    this.mixPoints = [];
  }

  /** What the water conducts once there is inhibitor in it says nothing of the cleaner. */
  private followInhibitor(doses: number): void {
    if (doses > this.inhibited) this.rinsedOut ??= this.conductsNow();
    const isRinsed = this.rinse !== null && this.stage !== 'rinse';
    if (doses === 0 && this.inhibited > 0 && !isRinsed) this.rinsedOut = null;
    this.inhibited = doses;
  }

  private conductsNow(): { readonly usCm: number | null } {
    return { usCm: this.meanNow('conductivityUsCm', this.timeS) };
  }

  private enter(stage: string): void {
    if (stage === 'rinse' && this.stage !== 'rinse') this.rinsedOut = null;
    else if (this.stage === 'rinse' && stage !== 'rinse') this.rinsedOut ??= this.conductsNow();
    this.holding = false;
    const bands = bandsOf(this.system);
    this.stage = stage;
    // A stage that is taken up again goes on counting.
    if (stage === 'fill') this.fill ??= new FillMeter();
    if (stage === 'rinse') this.rinse ??= new FillMeter();
    if (stage === 'circulate')
      this.circulated ??= new BandClock([
        { name: 'flow', unit: 'l/min', least: bands.circulateLpm, most: null },
        { name: 'return temperature', unit: '°C', least: bands.circulateC[0], most: bands.circulateC[1] },
      ]);
  }

  /** Its own water comes now; what was read before tells nothing of it. */
  private rinseBy(emitter: string, meter: FillMeter): void {
    const { before, emitter: last } = this.rinseWay;
    this.rinseWay = { emitter, before: last === '' ? before : before + 1, fromL: meter.result().litres.value };
    this.rinsePoints = [];
  }

  private dosed(): void {
    const values = this.recent
      .filter((s) => s.timeS >= this.timeS - beforeS)
      .flatMap((s) => (s.conductivityUsCm === null ? [] : [s.conductivityUsCm]));
    this.beforeDose = values.length < 5 ? null : { value: mean(values), u: Math.max(5, spread(values)) };
    this.doseL = 0;
    this.contact = new BandClock([
      { name: 'flow', unit: 'l/min', least: bandsOf(this.system).circulateLpm / 2, most: null },
    ]);
  }

  private meanNow(key: SampleKey, nowS: number): number | null {
    const values = this.recent.flatMap((s) => (s.timeS <= nowS - meanS - 1 || s[key] === null ? [] : [s[key]]));
    return values.length === 0 ? null : mean(values);
  }

  figures(nowS: number): LiveFigures {
    const meanOf = (key: SampleKey): number | null => this.meanNow(key, nowS);
    return {
      now: {
        turbidityNtu: meanOf('turbidityNtu'),
        turbidityOutNtu: meanOf('turbidityOutNtu'),
        flowLpm: meanOf('flowLpm'),
        pressureBar: meanOf('pressureBar'),
        supplyC: meanOf('supplyC'),
        returnC: meanOf('returnC'),
        conductivityUsCm: meanOf('conductivityUsCm'),
      },
      seen: this.seconds.seen,
      filled: this.fill?.result() ?? null,
      fillPoints: this.fillPoints,
      holdPoints: this.holdPoints,
      beforeDose: this.beforeDose,
      mixPoints: this.mixPoints,
      contact: this.contact?.state(nowS) ?? null,
      circulated: this.circulated?.state(nowS) ?? null,
      riseKPerMin: this.rise(nowS),
      rinsed: this.rinse?.result() ?? null,
      rinsePoints: this.rinsePoints,
      rinseWay: this.rinseWay,
      rinsedOut: this.rinsedOut,
      dirt: this.dirt.result(),
    };
  }

  /** Least-squares slope of the return temperature over what was seen of the last five minutes, one at least. */
  private rise(nowS: number): number | null {
    const points = this.recent.flatMap((s) =>
      s.returnC === null || s.timeS < nowS - riseS ? [] : [[s.timeS, s.returnC] as const],
    );
    const first = points[0];
    const last = points.at(-1);
    if (!first || !last || last[0] - first[0] < 60) return null;
    const meanT = mean(points.map((p) => p[0]));
    const meanC = mean(points.map((p) => p[1]));
    let up = 0;
    let down = 0;
    for (const [t, c] of points) {
      up += (t - meanT) * (c - meanC);
      down += (t - meanT) ** 2;
    }
    return down > 0 ? (60 * up) / down : null;
  }
}

/** Points of the newest stretch; when there are too many, every second one of the old goes. */
function keep<T>(points: T[], point: T): void {
  points.push(point);
  if (points.length <= mostPoints) return;
  const thinner = points.filter((_, i) => i % 2 === 0);
  points.splice(0, points.length, ...thinner);
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / values.length;
}

function spread(values: readonly number[]): number {
  const m = mean(values);
  return Math.sqrt(values.reduce((a, v) => a + (v - m) ** 2, 0) / values.length);
}
