import { Rig } from '../../../../simulators/circuit/rig.ts';
import { contextOf } from '../../../../simulators/circuit/context.ts';
import { ObedientRig } from '../../../../simulators/obedient-rig.ts';
import { Random } from '../../../../simulators/random.ts';
import { rehearsalHouse, rehearsalSensors } from '../../../../simulators/scenarios/rehearsal.ts';
import { channelRanges } from '../../../../simulators/sensors/hello.ts';
import { SensorSet } from '../../../../simulators/sensors/sensor-set.ts';
import { alarmList } from '../../../../src/core/alarm/list.ts';
import type { AlarmKind } from '../../../../src/core/alarm/rules.ts';
import { limitsFor } from '../../../../src/core/alarm/watch.ts';
import { type Analysis, createAnalysis } from '../../../../src/core/analyse.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { RunAlarms } from '../../../../src/core/job/run-alarms.ts';
import { type JobState, startState } from '../../../../src/core/job/state.ts';

/** The rehearsal's water, watched for alarms at 10 Hz, without bytes and pages between: minutes in a blink. */
export class Rehearsed {
  readonly rig: Rig;
  readonly sensors: SensorSet;
  readonly site: ObedientRig;
  readonly alarms = new RunAlarms(limitsFor('sealed'));
  /** No pack comes. */
  isSilent = false;
  private readonly analysis: Analysis;
  private state: JobState;
  private timeS = 0;

  constructor(seed: string, sensors = rehearsalSensors) {
    const random = new Random(seed);
    this.rig = new Rig(rehearsalHouse, random.fork('rig'));
    this.sensors = new SensorSet(sensors, random.fork('sensors'));
    this.site = new ObedientRig(this.rig, this.sensors);
    const kit = { id: 'urn:dev:mac:02000000feed0001', channels: channelRanges(sensors) };
    const context = { ...contextOf(rehearsalHouse, 10), kit };
    this.analysis = createAnalysis(context);
    this.state = startState(context);
  }

  tell(name: string, emitter = '', note = ''): this {
    this.timeS += 0.001;
    const of = name.startsWith('agitate-') ? (this.state.job.openEmitter ?? '') : emitter;
    const event = { timeS: this.timeS, event: name, emitter: of, note };
    this.alarms.advance(this.timeS, this.analysis, this.state.job);
    this.analysis.event(event);
    this.state = fold(this.state, { id: `e${this.state.log.length}`, event, who: 'engineer' });
    this.alarms.event(event);
    this.site.obey(event);
    return this;
  }

  go(seconds: number): this {
    for (let i = 0; i < 10 * seconds; i++) {
      this.timeS = Math.round((this.timeS + 0.1) * 10) / 10;
      this.site.advance(0.1);
      const sample = { ...this.sensors.read(this.rig), timeS: this.timeS };
      this.alarms.advance(this.timeS, this.analysis, this.state.job);
      if (this.isSilent) continue;
      this.analysis.sample(sample);
      this.alarms.sample(sample);
    }
    return this;
  }

  fault(name: string): this {
    this.site.fault(name);
    return this;
  }

  /** Alarms that rose so far. */
  get rose(): readonly AlarmKind[] {
    return [...new Set(this.alarms.rises.map((r) => r.kind))];
  }

  get listed(): readonly AlarmKind[] {
    return alarmList(this.alarms.memory.alarms).shown.map((a) => a.kind);
  }

  get verdict(): string {
    return this.analysis.rinse?.verdict.reason.code ?? this.analysis.verdict.reason.code;
  }

  get notices(): readonly string[] {
    return this.analysis.notices.map((n) => n.reason.code);
  }
}
