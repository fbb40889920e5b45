import type { SimulatedRun } from '../../../../simulators/dataset.ts';
import { type AlarmMeasure, measureAlarms } from '../../../../src/core/alarm/measure.ts';
import type { AlarmKind } from '../../../../src/core/alarm/rules.ts';
import { limitsFor } from '../../../../src/core/alarm/watch.ts';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import type { RunEvent } from '../../../../src/core/job/event.ts';
import { fold } from '../../../../src/core/job/fold.ts';
import { type AlarmRise, RunAlarms } from '../../../../src/core/job/run-alarms.ts';
import { startState } from '../../../../src/core/job/state.ts';
import type { Sample } from '../../../../src/core/quantity/sample.ts';

export interface WatchedRun extends AlarmMeasure {
  readonly kinds: readonly AlarmKind[];
  readonly risesS: readonly AlarmRise[];
}

/** The alarms of a simulated run, as the live run has them; the engineer acknowledges each after twenty seconds. */
export function watchRun(run: SimulatedRun): WatchedRun {
  const analysis = createAnalysis(run.context);
  const alarms = new RunAlarms(limitsFor(run.context.system ?? 'sealed'));
  let state = startState(run.context);
  let handled = 0;
  const bring = (timeS: number): void => {
    alarms.advance(timeS, analysis, state.job);
    for (let rise = alarms.rises[handled]; rise && rise.atS + 20 <= timeS; rise = alarms.rises[++handled])
      alarms.event({ timeS, event: 'alarm-acknowledge', emitter: '', note: rise.kind });
  };
  const events = [...run.events].sort((a, b) => a.timeS - b.timeS);
  const told = (event: RunEvent): void => {
    bring(event.timeS);
    analysis.event(event);
    state = fold(state, { id: `e${state.log.length}`, event, who: 'engineer' });
    alarms.event(event);
  };
  const read = (sample: Sample): void => {
    bring(sample.timeS);
    analysis.sample(sample);
    alarms.sample(sample);
  };
  for (const sample of run.samples) {
    while ((events[0]?.timeS ?? Infinity) <= sample.timeS) {
      const event = events.shift();
      if (event) told(event);
    }
    read(sample);
  }
  for (const event of events) told(event);
  const fromS = run.samples[0]?.timeS ?? 0;
  const toS = Math.max(run.samples.at(-1)?.timeS ?? fromS, run.events.at(-1)?.timeS ?? fromS);
  return {
    ...measureAlarms(
      alarms.rises.map((r) => r.atS),
      fromS,
      toS,
    ),
    kinds: [...new Set(alarms.rises.map((r) => r.kind))],
    risesS: alarms.rises,
  };
}
