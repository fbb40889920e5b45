import type { SimulatedRun } from '../../simulators/dataset.ts';
import { ownOf } from '../../simulators/truth/clear.ts';
import type { TruthRow } from '../../simulators/truth/log.ts';
import type { VisitTruth } from '../../simulators/truth/truth.ts';
import { contextSchema } from '../../src/core/job/context.ts';
import { runEventSchema } from '../../src/core/job/event.ts';
import { channels } from '../../src/core/quantity/channels.ts';

/** What of a simulated run would not be fit for a recording and for an analysis; empty when all is well. */
export function unfit(run: SimulatedRun): string[] {
  const out: string[] = [];
  if (!contextSchema.safeParse(run.context).success) out.push('context does not parse');
  if (run.samples.length < 200) out.push(`only ${run.samples.length} samples`);
  for (const [i, sample] of run.samples.entries()) {
    if (i > 0 && sample.timeS <= (run.samples[i - 1]?.timeS ?? 0)) out.push(`time stands at ${sample.timeS}`);
    for (const c of channels) {
      const value = sample[c.key];
      if (value !== null && !(value >= c.min && value <= c.max)) out.push(`${c.name} ${value} at ${sample.timeS}`);
    }
  }
  const ids = new Set(['', ...run.context.emitters.map((e) => e.id)]);
  for (const event of run.events) {
    if (!runEventSchema.safeParse(event).success) out.push(`event ${JSON.stringify(event)}`);
    if (!ids.has(event.emitter)) out.push(`unknown emitter ${event.emitter}`);
  }
  return out;
}

/** Where the truth disagrees with its own definition, read again from its rows; empty when all is well. */
export function untrue(run: SimulatedRun): string[] {
  const out = run.truth.visits.length > 0 ? [] : ['no visit'];
  for (const visit of run.truth.visits) {
    const say = (what: string) => out.push(`${visit.emitter} visit ${visit.visit}: ${what}`);
    if (visit.toS <= visit.fromS) say('ends before it begins');
    for (const release of visit.releases) {
      if (release.peakS < release.onsetS) say(`peak ${release.peakS} before onset ${release.onsetS}`);
      if (release.onsetS < visit.fromS || release.peakS > visit.toS) say('release outside the visit');
      if (release.peakNtu < 5) say(`release of ${release.peakNtu} NTU`);
    }
    if (visit.mustWithhold && visit.trueClearS !== null) say('clear although it could not be seen');
    if (visit.trueClearS !== null) clearAgain(run, visit, visit.trueClearS, say);
  }
  return out;
}

function clearAgain(run: SimulatedRun, visit: VisitTruth, clearS: number, say: (what: string) => void): void {
  if (visit.ownClearS === null || visit.ownClearS > clearS) say('own release clear after the whole');
  const rows = run.truth.rows.filter((row) => row.timeS >= visit.fromS && row.timeS < visit.toS);
  const passS = visit.passes.at(-1)?.endS ?? visit.fromS;
  const litresAt = (timeS: number) => rows.find((row) => row.timeS >= timeS)?.litres ?? 0;
  const flowed = litresAt(clearS) - litresAt(passS);
  if (flowed < visit.pathL - 1e-9) say(`clear after ${flowed} of ${visit.pathL} l`);
  const limit = Math.max(5, 0.05 * visit.peakNtu);
  const own = (row: TruthRow, key: 'slotNtu' | 'slotPassedNtuL' | 'slotWaterNtuL') => ownOf(row, key, visit.number);
  const last = rows.at(-1);
  const freed = last ? own(last, 'slotPassedNtuL') + own(last, 'slotWaterNtuL') : 0;
  for (const row of rows.filter((r) => r.timeS >= clearS)) {
    if (own(row, 'slotNtu') >= limit) say(`own dirt ${own(row, 'slotNtu')} over ${limit} at ${row.timeS}`);
    const passed = own(row, 'slotPassedNtuL') / freed;
    if (visit.peakNtu >= 5 && passed < 0.95 - 1e-9) say(`only ${passed} has passed at ${row.timeS}`);
  }
}
