import type { RunContext } from '../job/context.ts';
import type { RunEvent } from '../job/event.ts';
import type { Sample } from '../quantity/sample.ts';
import { ChamberWatch } from './chamber.ts';
import { fillingLoopOf } from './filling-loop.ts';
import { FlowLevel, type FlowStep } from './flow-level.ts';
import { leakOf } from './leak.ts';
import { MainsWatch } from './mains-lost.ts';
import { MeterStep } from './meter-step.ts';
import { PressureTrendWatch } from './pressure-trend.ts';
import { PumpWatch } from './pump.ts';
import type { Remark, Second } from './remark.ts';
import { Seconds } from '../quantity/seconds.ts';
import { type HydraulicSettings, hydraulicSettings } from './settings.ts';
import { TwoOpenWatch } from './two-open.ts';
import { ValveWatch, valveRemark } from './valve.ts';
import { WindowWatch } from './window.ts';

/** Taps that move the flow by themselves. */
const movesFlow = new Set([
  'emitter-open',
  'emitter-shut',
  'rig-pump-on',
  'rig-pump-off',
  'flow-reverse',
  'flow-forward',
  'chamber-emptied',
  'vent',
  'dose',
  'sample',
]);

/** Stages in which water should run round, and those in which the circuit is closed and its pressure its own. */
const runs = new Set(['', 'baseline', 'emitters', 'circulate', 'rinse']);
const closed = new Set(['join', 'warm', 'emitters', 'circulate']);

/**
 * Watches flow and pressure beside the verdict: valves, pump, leak, filling loop, two emitters open, mains lost, chamber
 * full, window fouled. Fed the run's samples and events in time order; each remark depends on what came up to its `atS` alone. Speaks
 * once an episode: a remark that cries twice is not heard.
 */
export class Hydraulics {
  private readonly settings: HydraulicSettings;
  private sealed: boolean;
  private readonly seconds = new Seconds('mean');
  private readonly level = new FlowLevel();
  private readonly meter = new MeterStep();
  /** Flow of the last second that had one. */
  private lastLpm: number | null = null;
  private readonly pump: PumpWatch;
  private readonly valve: ValveWatch;
  private readonly twoOpen: TwoOpenWatch;
  private readonly trend: PressureTrendWatch;
  private readonly chamber: ChamberWatch;
  private readonly window: WindowWatch;
  private readonly mains = new MainsWatch();
  private stage = '';
  /** What was told: the emitter opened last, whether it was shut since, and whether the pump is off. */
  private open = '';
  private isShut = false;
  private isPumpOff = false;
  private quietFromS = 0;
  private told = new Set<string>();

  constructor(context: Pick<RunContext, 'system'>, settings: Partial<HydraulicSettings> = {}) {
    this.settings = { ...hydraulicSettings, ...settings };
    this.sealed = context.system !== 'open-vented';
    this.pump = new PumpWatch(this.settings);
    this.valve = new ValveWatch(this.settings);
    this.twoOpen = new TwoOpenWatch(this.settings);
    this.trend = new PressureTrendWatch(this.settings);
    this.chamber = new ChamberWatch(this.settings);
    this.window = new WindowWatch(this.settings);
  }

  /** From now on the system is known to be so. */
  know(context: Pick<RunContext, 'system'>): void {
    this.sealed = context.system !== 'open-vented';
  }

  event(e: RunEvent): void {
    if (e.event.startsWith('stage:')) {
      this.stage = e.event.slice('stage:'.length);
      this.twoOpen.shut();
      this.mains.reset();
      this.isShut = false;
      this.trend.forget();
      this.touched(e);
    }
    if (!movesFlow.has(e.event)) return;
    this.touched(e);
    this.follow(e);
    if (e.event === 'emitter-open' && this.stage === 'emitters') this.twoOpen.opened(e.emitter, e.timeS);
    if (e.event === 'emitter-shut') this.twoOpen.shut(e.emitter);
    if (e.event === 'flow-reverse' || e.event === 'flow-forward') this.twoOpen.forget();
    if (e.event === 'chamber-emptied') this.chamber.forget(true);
  }

  /** Is water to run, by what was told? */
  private follow({ event, emitter }: RunEvent): void {
    if (event === 'rig-pump-on' || event === 'rig-pump-off') this.isPumpOff = event === 'rig-pump-off';
    if (event === 'emitter-shut' && emitter === this.open) this.isShut = true;
    if (event !== 'emitter-open') return;
    this.open = emitter;
    this.isShut = false;
  }

  private touched({ timeS, event }: RunEvent): void {
    this.valve.tap(timeS, event);
    this.trend.touch();
    this.chamber.forget();
    this.quietFromS = timeS + this.settings.tapAfterS;
    this.told.delete('leak');
    this.told.delete('filling-loop-open');
  }

  /** Remarks that this sample brings; usually none. */
  sample(s: Sample): readonly Remark[] {
    if (s.flowLpm !== null) this.meter.see(s.flowLpm);
    const second = this.seconds.take(s);
    if (!second) return [];
    const out: Remark[] = [];
    this.watchFlow(second, out);
    this.watchPressure(second, out);
    return out;
  }

  private watchFlow(s: Second, out: Remark[]): void {
    if (s.flowLpm === null) return;
    this.lastLpm = s.flowLpm;
    const should = runs.has(this.stage);
    const mains = this.stage === 'rinse' ? this.mains.step(s) : null;
    if (mains) out.push(mains);
    const { evidentLpm } = this.meter;
    const step = this.level.step(s.timeS, s.flowLpm, this.settings.riseShare, evidentLpm);
    const held = this.level.levelLpm;
    if (held !== null && this.stage !== 'rinse') this.twoOpen.held(held);
    if (step) {
      this.twoOpen.saw(step);
      this.trend.touch();
      this.chamber.forget();
    }
    // Outside the stages that run, standing and starting are the engineer's doing.
    const excused = !should || this.isShut || this.isPumpOff || this.valve.explained(s.timeS) || this.mains.isLost;
    const pump = this.pump.step(s, excused);
    const valve = this.valve.step(s.timeS, step);
    if (!should) return;
    if (pump && !mains && this.tellsPump(pump)) out.push(this.stage === 'rinse' ? inRinse(pump) : pump);
    if (valve && this.stage !== 'rinse') this.tellStep(s.timeS, valve, out);
    if (this.stage !== 'emitters' || this.pump.stopped) return;
    const two = this.twoOpen.step(s.timeS, s.flowLpm, evidentLpm);
    if (two) out.push(two);
    if (s.turbidityNtu === null) return;
    const film = this.window.step(s.timeS, s.turbidityNtu);
    if (film) out.push(film);
    if (s.timeS < this.quietFromS + 15) return;
    const full = this.chamber.step(s.timeS, s.flowLpm, s.turbidityNtu, evidentLpm);
    if (full) out.push(full);
  }

  /** Within a visit a rise has a likelier name than a valve, and so has the fall after it. */
  private tellStep(timeS: number, step: FlowStep, out: Remark[]): void {
    const rises = step.afterLpm > step.beforeLpm;
    const visit = this.stage === 'emitters' ? this.twoOpen[rises ? 'rose' : 'fell'](timeS, step) : null;
    const share = Math.abs(Math.log(step.afterLpm / step.beforeLpm));
    if (visit) out.push(visit);
    else if (share >= Math.log1p(this.settings.stepShare)) out.push(valveRemark(timeS, step));
  }

  /** "Back" is told only after "stopped" was. */
  private tellsPump(r: Remark): boolean {
    if (r.reason.code === 'flow-stopped') {
      this.told.add('flow-stopped');
      return true;
    }
    return this.told.delete('flow-stopped');
  }

  private watchPressure(s: Second, out: Remark[]): void {
    if (!this.sealed || s.pressureBar === null || !closed.has(this.stage) || s.timeS < this.quietFromS) return;
    for (const trend of this.trend.step(s.timeS, s.pressureBar, s.returnC, s.flowLpm ?? this.lastLpm))
      for (const r of [leakOf(trend, this.settings), fillingLoopOf(trend, this.settings)]) {
        if (!r || this.told.has(r.reason.code)) continue;
        this.told.add(r.reason.code);
        // What was told is not told again of the same minutes.
        this.trend.forget();
        out.push(r);
      }
  }
}

/** In the rinse it is the mains that push: the same stop has another remedy. */
function inRinse(r: Remark): Remark {
  if (r.reason.code !== 'flow-stopped') return r;
  return { ...r, reason: { ...r.reason, code: 'rinse-flow-stopped' } };
}
