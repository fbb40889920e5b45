import { type DemoRun, demoRun } from './demo-run.ts';

/** The run as it stood in the midst of its third emitter. */
export function halfDone(run: DemoRun): DemoRun {
  const opened = run.events.filter((e) => e.event === 'emitter-open');
  const untilS = (opened[2]?.timeS ?? 0) + 90;
  return {
    context: run.context,
    samples: run.samples.filter((s) => s.timeS <= untilS),
    events: run.events.filter((e) => e.timeS <= untilS),
  };
}

/** A house of twenty: the emitters' work of three runs one after another, the last of them with its rinse. */
export function twentyEmitters(): DemoRun {
  const runs = [demoRun('rinse', 8), demoRun('rinse', 3), demoRun('rinse', 5)];
  const emitters = runs
    .flatMap(({ context }, r) =>
      context.emitters.map((e) => ({ ...e, id: `${r}-${e.id}`, name: `${e.name} ${'ABC'[r]}` })),
    )
    .slice(0, 20);
  const known = new Set(emitters.map((e) => e.id));
  let shift = 0;
  const parts = runs.map((run, r) => {
    const isLast = r === runs.length - 1;
    const begin = run.events.find((e) => e.event === 'stage:emitters')?.timeS ?? 0;
    const end = isLast ? Number.POSITIVE_INFINITY : (run.events.find((e) => e.event === 'stage:circulate')?.timeS ?? 0);
    const from = r === 0 ? 0 : begin + 1;
    const offset = r === 0 ? 0 : shift - from;
    const move = <T extends { readonly timeS: number }>(all: readonly T[]): T[] =>
      all.filter((x) => x.timeS >= from && x.timeS < end).map((x) => ({ ...x, timeS: x.timeS + offset }));
    shift = end + offset;
    const events = move(run.events).map((e) => (e.emitter === '' ? e : { ...e, emitter: `${r}-${e.emitter}` }));
    return { samples: move(run.samples), events: events.filter((e) => e.emitter === '' || known.has(e.emitter)) };
  });
  const context = { ...(runs[0]?.context ?? demoRun().context), emitters };
  return { context, samples: parts.flatMap((p) => p.samples), events: parts.flatMap((p) => p.events) };
}
