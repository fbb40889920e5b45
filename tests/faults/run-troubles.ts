import type { Sample } from '../../src/core/quantity/sample.ts';
import type { BenchRun } from '../../bench/dataset.ts';
import { encodeLine } from '../../firmware-bridge/wire/encode.ts';
import { cut, delay, duplicate, flip, noise, type LineFault, type TimedChunk } from '../../simulators/line/faults.ts';
import type { KitClock, KitHappening } from './kit-line.ts';
import type { BridgeHappening, Shown } from './live-run.ts';

/** A span in which the fault leaves nothing to be seen: what is called clear within it is false. */
export interface Blinded {
  readonly fromS: number;
  readonly toS: number;
}

/** One fault, or several, done to a run. Times are those of the truth. */
export interface Trouble {
  readonly name: string;
  readonly blinded?: readonly Blinded[];
  readonly sensors?: (sample: Sample) => Sample;
  readonly kit?: readonly KitHappening[];
  readonly clock?: KitClock;
  readonly line?: (lines: readonly TimedChunk[], random: () => number) => TimedChunk[];
  readonly bridge?: readonly BridgeHappening[];
}

export type Random = () => number;

/** A trouble that begins at a moment of a run, drawn by chance. */
export type Make = (fromS: number, random: Random, run: BenchRun) => Trouble;

const between = (random: Random, low: number, high: number): number => low + random() * (high - low);

/** Lengths that matter: shorter than the patience for silence, as long as a pulse, as long as a visit. */
const lengthS = (random: Random): number => Math.exp(between(random, Math.log(1), Math.log(150)));

/** Within a span only. */
function during(fromS: number, toS: number, fault: LineFault): NonNullable<Trouble['line']> {
  return (lines, random) => {
    const inside = lines.filter((l) => l.atS >= fromS && l.atS < toS);
    const outside = lines.filter((l) => l.atS < fromS || l.atS >= toS);
    return [...outside, ...fault(inside, random)];
  };
}

const onTheLine =
  (name: string, fault: (random: Random) => LineFault): Make =>
  (fromS, random) => {
    const toS = fromS + lengthS(random);
    return { name: `${name} for ${(toS - fromS).toFixed(0)} s`, line: during(fromS, toS, fault(random)) };
  };

const ofTheSensor =
  (name: string, change: (sample: Sample, held: Sample, random: Random) => Partial<Sample>, blinds = true): Make =>
  (fromS, random) => {
    const toS = fromS + lengthS(random);
    let held: Sample | null = null;
    return {
      name: `${name} for ${(toS - fromS).toFixed(0)} s`,
      blinded: blinds ? [{ fromS, toS }] : [],
      sensors(sample) {
        if (sample.timeS < fromS || sample.timeS >= toS) return sample;
        held ??= sample;
        return { ...sample, ...change(sample, held, random) };
      },
    };
  };

/** Lines overtake one another by up to this long, as messages may. */
const reorder =
  (mostS: number): LineFault =>
  (lines, random) =>
    lines.map((line) => ({ ...line, atS: line.atS + random() * mostS }));

const silence: LineFault = () => [];

/** Whole and good packs of another kit, in other water. */
function secondKit(fromS: number, toS: number, everyS: number, ntu: number): NonNullable<Trouble['line']> {
  return (lines) => {
    const more: TimedChunk[] = [];
    const endS = Math.min(toS, lines.at(-1)?.atS ?? fromS);
    for (let seq = 0; fromS + seq * everyS < endS; seq++) {
      const values = { turbidityNtu: ntu + (seq % 3) * 0.1, flowLpm: 12 };
      const pack = { kit: 'urn:dev:mac:02000000feed0002', boot: 1, seq, upS: 3 + seq * everyS, values };
      more.push({ atS: fromS + seq * everyS, bytes: encodeLine(pack) });
    }
    return [...lines, ...more];
  };
}

const storm: Make = (fromS, random) => {
  const toS = fromS + between(random, 5, 60);
  const kit: KitHappening[] = [];
  const keepsBoot = random() < 0.7;
  for (let atS = fromS; atS < toS; ) {
    const deadS = between(random, 0.05, 1.2);
    kit.push({ kind: 'restart', atS, deadS, keepsBoot });
    atS += deadS + between(random, 0, 2);
  }
  return { name: `${kit.length} restarts${keepsBoot ? '' : ' without start count'}`, kit };
};

/** Every fault that we know, each by its kind. */
export const makes: Readonly<Record<string, Make>> = {
  cut: onTheLine('cut lines', (r) => cut(between(r, 0.1, 1))),
  flip: onTheLine('flipped bits', (r) => flip(between(r, 0.1, 1))),
  noise: onTheLine('noise', (r) => noise(between(r, 0.1, 1))),
  duplicate: onTheLine('doubled lines', () => duplicate(1)),
  delay: onTheLine('delay', (r) => delay(between(r, 0.3, 20))),
  reorder: onTheLine('overtaking', (r) => reorder(between(r, 0.2, 8))),
  silence: onTheLine('silence', () => silence),
  thin: onTheLine('most lines lost', (r) => cut(between(r, 0.9, 0.99))),
  secondKit: (fromS, random) => {
    const toS = fromS + lengthS(random);
    return { name: 'a second kit in cleaner water', line: secondKit(fromS, toS, 0.1, between(random, 0.3, 5)) };
  },
  neighbour: (fromS, random) => {
    // Of another rig at the same broker, all the time; ours falls silent, or the bridge starts anew.
    const isKilled = random() < 0.5;
    // On a cable another kit, a minute after a restart, is one that was changed.
    const toS = fromS + between(random, 5, isKilled ? 55 : 150);
    const second = secondKit(20, Number.POSITIVE_INFINITY, 0.5, between(random, 0.3, 5));
    const silent = during(fromS, toS, silence);
    const bridge: BridgeHappening[] = isKilled ? [{ kind: 'killed', atS: fromS, forS: 2, tapsWaitS: 1 }] : [];
    return {
      name: `silence for ${(toS - fromS).toFixed(0)} s with a neighbour in cleaner water`,
      line: (lines, r) => second(silent(lines, r), r),
      bridge,
    };
  },
  stuck: ofTheSensor('stuck', (_s, held) => ({ turbidityNtu: held.turbidityNtu })),
  dark: ofTheSensor('dark', () => ({ turbidityNtu: 0 })),
  gone: ofTheSensor('turbidity gone', () => ({ turbidityNtu: null })),
  overRange: ofTheSensor('over range', (s, held) => ({
    turbidityNtu: Math.max(s.turbidityNtu ?? 0, (held.turbidityNtu ?? 0) + 400, 1000),
  })),
  spikes: ofTheSensor('spikes', (s, _h, r) => ({ turbidityNtu: r() < 0.3 ? r() * 900 : s.turbidityNtu }), false),
  flowGone: ofTheSensor('flow gone', () => ({ flowLpm: null }), false),
  flowNone: ofTheSensor('flow stands at 0', () => ({ flowLpm: 0 }), false),
  flowStuck: ofTheSensor('flow stuck', (_s, held) => ({ flowLpm: held.flowLpm }), false),
  allGone: ofTheSensor('all sensors gone', (s) => ({ turbidityNtu: null, flowLpm: null, timeS: s.timeS })),
  holes: ofTheSensor(
    'values left out',
    (s, _h, r) => (r() < 0.6 ? { turbidityNtu: null } : { flowLpm: r() < 0.5 ? null : s.flowLpm }),
    false,
  ),
  foldBack: (_fromS, random) => {
    const fold = Math.exp(between(random, Math.log(500), Math.log(1800)));
    const read = (ntu: number | null): number | null => (ntu === null ? null : ntu / (1 + (ntu / fold) ** 2));
    return {
      name: `folds back at ${fold.toFixed(0)} NTU`,
      sensors: (s) => ({ ...s, turbidityNtu: read(s.turbidityNtu) }),
    };
  },
  restart: (atS, random) => {
    const deadS = between(random, 0.1, 8);
    const keepsBoot = random() < 0.7;
    return { name: `kit restart, ${deadS.toFixed(1)} s`, kit: [{ kind: 'restart', atS, deadS, keepsBoot }] };
  },
  storm,
  kitLeap: (atS, random) => {
    const byS = between(random, -1, 1) * Math.exp(between(random, 0, Math.log(4e5)));
    return { name: `kit's clock leaps by ${byS.toFixed(1)} s`, kit: [{ kind: 'leap', atS, byS }] };
  },
  kitDrift: (atS, random) => {
    const ppm = between(random, -5000, 5000);
    return { name: `kit's clock drifts by ${ppm.toFixed(0)} ppm`, kit: [{ kind: 'drift', atS, ppm }] };
  },
  kitWrap: (atS, random) => {
    const wrapS = random() < 0.5 ? 2 ** 32 / 1000 : 2 ** 32 / 1e6;
    return { name: `up runs over at ${wrapS.toFixed(0)}`, clock: { firstUpS: wrapS - (atS % wrapS), wrapS } };
  },
  kept: (atS, random) => {
    const toS = atS + lengthS(random);
    return { name: `kept by the kit for ${(toS - atS).toFixed(0)} s`, kit: [{ kind: 'away', atS, toS, keeps: true }] };
  },
  held: (atS, random) => {
    // A port, a hub or a stalled driver gives out what it had kept, unmarked.
    const toS = atS + lengthS(random);
    const late: LineFault = (lines) => lines.map((line, i) => ({ ...line, atS: toS + i * 0.002 }));
    return { name: `held up for ${(toS - atS).toFixed(0)} s`, line: during(atS, toS, late) };
  },
  killed: (atS, random) => {
    const forS = lengthS(random);
    return {
      name: `bridge off for ${forS.toFixed(0)} s`,
      bridge: [{ kind: 'killed', atS, forS, tapsWaitS: random() * 3 }],
    };
  },
  killedOften: (fromS, random) => {
    const bridge: BridgeHappening[] = [];
    for (let atS = fromS, n = 0; n < 5; n++) {
      const forS = between(random, 0.5, 12);
      bridge.push({ kind: 'killed', atS, forS, tapsWaitS: random() * 3 });
      atS += forS + between(random, 3, 30);
    }
    return { name: 'bridge off five times', bridge };
  },
  asleep: (atS, random) => {
    const forS = lengthS(random);
    return { name: `bridge asleep for ${forS.toFixed(0)} s`, bridge: [{ kind: 'asleep', atS, forS }] };
  },
  stalled: (atS, random) => {
    const forS = between(random, 0.5, 60);
    return { name: `bridge stalled for ${forS.toFixed(0)} s`, bridge: [{ kind: 'stalled', atS, forS }] };
  },
  wall: (atS, random) => {
    const byS = between(random, -1, 1) * Math.exp(between(random, Math.log(60), Math.log(2e9)));
    return { name: `wall clock set by ${(byS / 3600).toFixed(1)} h`, bridge: [{ kind: 'wall', atS, byS }] };
  },
};

/** Moments at which a fault may do the most harm, and some of no account. */
export function momentOf(run: BenchRun, undisturbed: readonly Shown[], random: Random): number {
  const visit = run.visits[Math.floor(random() * run.visits.length)];
  if (!visit) return 10;
  const any = [between(random, visit.fromS, visit.toS)];
  const pulses = visit.releases.flatMap((r) => [r.onsetS - 5, r.onsetS + 1, r.peakS - 2, r.peakS + 3]);
  const clears = undisturbed
    .filter((c) => c.emitter === visit.emitter && c.visit === visit.visit)
    .flatMap((c) => [c.fromS - 40, c.fromS - 12, c.fromS - 3, c.fromS - 0.5]);
  const passes = visit.passes.flatMap((p) => [p.endS - 20, p.endS - 1, p.endS + 2]);
  const kinds = [any, pulses, clears, passes].filter((k) => k.length > 0);
  const kind = kinds[Math.floor(random() * kinds.length)] ?? any;
  const atS = kind[Math.floor(random() * kind.length)] ?? 10;
  return Math.max(1, atS + between(random, -1, 1));
}
