import { createAnalysis } from '../../../../src/core/analyse.ts';
import { type AlarmMeasure, measureAlarms } from '../../../../src/core/alarm/measure.ts';
import type { AlarmKind } from '../../../../src/core/alarm/rules.ts';
import {
  type AlarmMemory,
  freshAlarms,
  handleAlarm,
  limitsFor,
  watchAlarms,
} from '../../../../src/core/alarm/watch.ts';
import type { SimulatedRun } from '../../../../simulators/dataset.ts';

export interface WatchedRun extends AlarmMeasure {
  readonly kinds: readonly AlarmKind[];
  readonly risesS: readonly { readonly atS: number; readonly kind: AlarmKind }[];
}

/** The alarms of a simulated run, one look a second, an engineer who acknowledges after twenty seconds. */
export function watchRun(run: SimulatedRun): WatchedRun {
  const analysis = createAnalysis(run.context);
  const limits = limitsFor(run.context.system ?? 'sealed');
  const events = [...run.events];
  const rises: { atS: number; kind: AlarmKind }[] = [];
  let memory: AlarmMemory = freshAlarms;
  let told = 0;
  let nextS = 1;
  const lookAt = (atS: number, sample: object, names: readonly string[]): void => {
    analysis.advance(atS);
    const visit = analysis.visit;
    const remarks = analysis.notices.slice(told).map((n) => n.reason);
    told = analysis.notices.length;
    const step = watchAlarms(
      memory,
      {
        atS,
        sample,
        verdict: analysis.rinse?.verdict.reason ?? analysis.verdict.reason,
        remarks,
        events: names,
        visit: visit ? { passes: visit.passesS.length, isDone: visit.verdict.done } : null,
      },
      limits,
    );
    memory = step.memory;
    for (const kind of step.rises) rises.push({ atS, kind });
    for (const r of rises.filter((x) => x.atS === atS - 20))
      memory = handleAlarm(memory, { type: 'acknowledge', atS, kind: r.kind }).memory;
  };
  let names: string[] = [];
  let last: object = {};
  for (const s of run.samples) {
    while (nextS <= s.timeS) {
      lookAt(nextS++, last, names);
      names = [];
      last = {};
    }
    while ((events[0]?.timeS ?? Infinity) <= s.timeS) {
      const e = events.shift();
      if (!e) break;
      analysis.event(e);
      names.push(e.event);
    }
    analysis.sample(s);
    last = s;
  }
  const risesS = rises.map((r) => r.atS);
  return {
    ...measureAlarms(risesS, run.samples[0]?.timeS ?? 0, nextS),
    kinds: [...new Set(rises.map((r) => r.kind))],
    risesS: rises,
  };
}
