import type { SimulatedRun } from '../../simulators/dataset.ts';
import type { BlindSpan } from '../../simulators/truth/blind.ts';
import { channelValues, quietScatter, steps } from './readings.ts';

/** Whether runs of a family show what it is there to show. */
type Claim = (runs: readonly SimulatedRun[]) => boolean;

const visits = (run: SimulatedRun) => run.truth.visits;
const every =
  (holds: (run: SimulatedRun) => boolean): Claim =>
  (runs) =>
    runs.every(holds);
const some =
  (holds: (run: SimulatedRun) => boolean): Claim =>
  (runs) =>
    runs.some(holds);
const most = (values: readonly number[]): number => values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
const least = (values: readonly number[]): number => values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);

const trouble = (name: string): Claim => some((run) => run.truth.troubles.some((t) => t.name === name));
const blind = (...why: BlindSpan['why'][]): Claim =>
  some((run) => visits(run).some((v) => v.blind.some((b) => why.includes(b.why))));
const told = (name: string): Claim => some((run) => run.events.some((e) => e.event === name));

/** What still stands of a visit's own dirt a hundred seconds after its highest, as a share of that; the largest of the run. */
function tail(run: SimulatedRun): number {
  const shares = visits(run).flatMap((v) => {
    const own = run.truth.rows
      .filter((row) => row.timeS >= v.fromS && row.timeS <= v.toS)
      .map((row) => ({
        timeS: row.timeS,
        ntu: row.slotNtu.reduce((sum, ntu, s) => sum + (row.slotVisit[s] === v.number ? ntu : 0), 0),
      }));
    const top = own.reduce((a, b) => (b.ntu > a.ntu ? b : a), { timeS: 0, ntu: 0 });
    const later = own.find((row) => row.timeS >= top.timeS + 100);
    return later && top.ntu > 20 ? [later.ntu / top.ntu] : [];
  });
  return most([0, ...shares]);
}

const background = (run: SimulatedRun): number[] =>
  run.truth.rows
    .filter((row) => visits(run).some((v) => row.timeS > v.fromS && row.timeS < v.toS))
    .map((r) => r.backgroundNtu);

/** One for each family, by its name. */
export const claims: Readonly<Record<string, Claim>> = {
  ordinary: every((run) => run.truth.troubles.length === 0),
  heavy: every((run) => most(visits(run).map((v) => v.peakNtu)) > 600),
  clean: every((run) => visits(run).every((v) => v.peakNtu < 80)),
  hard: every((run) => tail(run) > 0.1),
  'never-clears': some((run) => visits(run).some((v) => v.trueClearS === null && v.toS - v.fromS > 300)),
  overlapping: some((run) =>
    visits(run).some((v) => v.passes.some((p, i) => i > 0 && p.startS < (v.passes[i - 1]?.endS ?? 0) + v.transitS)),
  ),
  microbore: every((run) => most(run.truth.rows.map((r) => r.flowLpm)) < 12),
  many: every((run) => run.context.emitters.length >= 12),
  echo: every((run) => most(run.truth.rows.map((r) => r.passFraction)) >= 0.3),
  loading: every((run) => (run.truth.rows.at(-1)?.chamberLoad ?? 0) > 0.5),
  'slow-background': every((run) => most(background(run)) > 1.3 * least(background(run))),
  'high-background': every((run) => most(background(run)) > 45),
  bubbles: trouble('bubbles'),
  fouling: some((run) => most(run.truth.rows.map((r) => r.foulingNtu)) > 5),
  saturation: blind('over-range'),
  'fold-back': some(
    (run) => most(channelValues(run, 'turbidityNtu')) < 0.7 * most(run.truth.rows.map((r) => r.totalNtu)),
  ),
  stuck: blind('stuck'),
  dark: blind('dark', 'gone'),
  coarse: every((run) => least(steps(channelValues(run, 'turbidityNtu'))) >= 1.99),
  noisy: every((run) => quietScatter(channelValues(run, 'turbidityNtu')) > 1.5),
  'coarse-flow': every((run) => least(steps(channelValues(run, 'flowLpm'))) >= 0.49),
  'no-flow-meter': some((run) => channelValues(run, 'flowLpm').length === 0),
  gaps: every((run) => most(steps(run.samples.map((s) => s.timeS))) > 10),
  restarts: some((run) => run.rows.length > run.samples.length + 10),
  irregular: every((run) => {
    const waits = steps(run.samples.map((s) => s.timeS)).toSorted((a, b) => a - b);
    return (waits[Math.floor(0.9 * waits.length)] ?? 0) > 2 * (waits[Math.floor(0.1 * waits.length)] ?? 1);
  }),
  'slow-rate': every((run) => run.context.sample_hz === 1),
  'second-turbidity': every((run) => channelValues(run, 'turbidityOutNtu').length > 0),
  'pump-stops': blind('no-flow'),
  kink: trouble('kink'),
  'two-open': trouble('two-open'),
  forgotten: some((run) => {
    const passes = visits(run).flatMap((v) => v.passes.map((p) => p.toldS));
    return passes.includes(null) && passes.some((toldS) => toldS !== null);
  }),
  untold: every((run) => !run.events.some((e) => e.event.startsWith('agitate'))),
  hasty: some((run) => visits(run).some((v) => v.trueClearS === null && !v.mustWithhold)),
  dawdling: some((run) => visits(run).some((v) => (v.leftS ?? 0) > 150)),
  reversed: told('flow-reverse'),
  emptied: told('chamber-emptied'),
  leak: trouble('leak'),
  'filling-loop': trouble('filling-loop'),
  'too-hot': every((run) => most(channelValues(run, 'supplyC')) > 75),
  anything: some((run) => new Set(run.truth.troubles.map((t) => t.name)).size > 1),
  rinse: every((run) => run.truth.rinse?.trueAtMainsS !== null),
  'rinse-cut-short': some((run) => run.truth.rinse?.trueAtMainsS === null),
  'rinse-mains-lost': trouble('mains-lost'),
  'rinse-rounds': every((run) => {
    const fromS = run.truth.rinse?.fromS ?? Number.POSITIVE_INFINITY;
    return run.events.some((e) => e.event === 'emitter-open' && e.timeS > fromS + 60);
  }),
  'rinse-late-slug': trouble('late-slug'),
  'rinse-no-conductivity': every((run) => channelValues(run, 'conductivityUsCm').length === 0),
};
