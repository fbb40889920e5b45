import type { BenchRun } from '../../bench/dataset.ts';
import { judgeClear } from '../../bench/score.ts';
import type { Hello } from '../../firmware-bridge/wire/pack.ts';
import { seeded } from '../../simulators/line/faults.ts';
import { kitLines } from './kit-line.ts';
import { type Live, LiveRun, type Shown } from './live-run.ts';
import type { Trouble } from './run-troubles.ts';

/** The run through the live path, with troubles or without. */
export function live(run: BenchRun, troubles: readonly Trouble[], seed: number): Live {
  const random = seeded(seed);
  const samples = run.samples.map((s) => troubles.reduce((now, t) => t.sensors?.(now) ?? now, s));
  const hello = helloOf(run);
  const kit = troubles.flatMap((t) => t.kit ?? []);
  const clock = troubles.find((t) => t.clock)?.clock;
  const lines = troubles.reduce((now, t) => t.line?.(now, random) ?? now, kitLines(samples, kit, hello, clock));
  const bridge = troubles.flatMap((t) => t.bridge ?? []);
  const toS = Math.max(samples.at(-1)?.timeS ?? 0, run.events.at(-1)?.timeS ?? 0) + 1;
  return new LiveRun(run.context).play(
    lines.filter((l) => l.atS <= toS),
    run.events,
    bridge,
    toS,
  );
}

/** What a kit would tell of itself, where the run knows it. */
function helloOf({ context }: BenchRun): Hello | null {
  const { channels } = context.kit ?? {};
  if (!channels) return null;
  const told: Record<string, { lo?: number; hi?: number; step?: number }> = {};
  for (const [name, { lo, hi, step }] of Object.entries(channels))
    told[name] = {
      ...(lo === undefined ? {} : { lo }),
      ...(hi === undefined ? {} : { hi }),
      ...(step === undefined ? {} : { step }),
    };
  return { firmware: 'a test', rateHz: context.sample_hz, channels: told };
}

/** As the benchmark has it: said no earlier than this before the true moment it was nearly right, seconds. */
const nearlyS = 15;

export interface FalseClear extends Shown {
  /** How long before the truth, seconds; infinite where it never came. */
  readonly earlyS: number;
  /** The visit's own dirt had not gone by, or nothing could be seen. Else it was what goes round and comes again. */
  readonly own: boolean;
}

/** Clears that are false in truth. */
export function falseClears(run: BenchRun, troubles: readonly Trouble[], shown: readonly Shown[]): FalseClear[] {
  const blinded = troubles.flatMap((t) => t.blinded ?? []).map((b) => ({ ...b, why: 'stuck' as const }));
  return shown.flatMap((clear): FalseClear[] => {
    const truth = run.visits.find((v) => v.emitter === clear.emitter && v.visit === clear.visit);
    if (!truth) return [{ ...clear, earlyS: Number.POSITIVE_INFINITY, own: true }];
    const blind = [...truth.blind, ...blinded];
    const { ownEarlyS, earlyS } = judgeClear({ ...truth, blind }, clear.fromS, run.context.sample_hz);
    if (earlyS <= nearlyS) return [];
    const own = ownEarlyS > nearlyS;
    return [{ ...clear, earlyS: own ? ownEarlyS : earlyS, own }];
  });
}

/**
 * Those of them that the undisturbed run did not show: neither at that moment nor, as falsely, before the same true moment.
 */
export function brought(run: BenchRun, found: readonly FalseClear[], undisturbed: readonly Shown[]): FalseClear[] {
  return found.filter((clear) => {
    const truth = run.visits.find((v) => v.emitter === clear.emitter && v.visit === clear.visit);
    const stretch = truth?.stretches.findLast((s) => s.knownS <= clear.fromS);
    const fromS = stretch?.knownS ?? clear.fromS;
    const toS = Math.min(clear.fromS + clear.earlyS, stretch?.toS ?? clear.toS);
    return !undisturbed.some(
      (u) => u.emitter === clear.emitter && u.visit === clear.visit && u.fromS < toS && u.toS > fromS,
    );
  });
}
