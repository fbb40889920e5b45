/**
 * On-line detectors against one another on the fronts of whole visits: which of them says most of the releases that truly
 * came, with fewest that did not, and how soon. Each gets the same: a visit's seconds (medians of the readings), on the
 * scale on which their scatter is even. None is told of passes and none knows the echo, which costs all of them alike.
 * Each stands at the best of its thresholds (by F1); prints JSON.
 *
 *   npx tsx bench/fronts.ts [--runs N]
 */
import { parseArgs } from 'node:util';
import { Bocpd } from '../src/core/changepoint/bocpd.ts';
import { Cusum } from '../src/core/changepoint/cusum.ts';
import type { Detector } from '../src/core/changepoint/detector.ts';
import { Ewma } from '../src/core/changepoint/ewma.ts';
import { Glr } from '../src/core/changepoint/glr.ts';
import { Fronts } from '../src/core/line/front.ts';
import { Noise } from '../src/core/signal/noise.ts';
import { median } from '../src/core/quantity/robust.ts';
import { familyNames } from '../simulators/dataset.ts';
import type { VisitTruth } from '../simulators/truth/truth.ts';
import { share } from './bars.ts';
import { type BenchRun, benchRun, folderOfRuns } from './dataset.ts';

const { values } = parseArgs({
  options: { runs: { type: 'string', default: '3' }, folder: { type: 'string', default: '.cache/verdict' } },
});

/** Scale: asinh(share y / floor) / share, the transform that evens a scatter of hypot(floor, share y). */
const floorNtu = 1;
const noiseShare = 0.025;
const scaled = (ntu: number): number => Math.asinh((noiseShare * ntu) / floorNtu) / noiseShare;

interface Second {
  readonly t: number;
  readonly ntu: number;
  /** On the even scale, in units of its scatter. */
  readonly z: number;
}

function seconds(run: BenchRun, visit: VisitTruth): Second[] {
  const noise = new Noise(floorNtu, noiseShare, 3);
  const out: Second[] = [];
  let held: number[] = [];
  let endS = Math.ceil(visit.fromS);
  for (const s of run.samples) {
    if (s.timeS < visit.fromS || s.timeS >= visit.toS) continue;
    while (s.timeS >= endS) {
      const ntu = median(held);
      if (held.length > 0) {
        noise.step(ntu);
        out.push({ t: endS, ntu, z: scaled(ntu) / (noise.sd(ntu) / Math.hypot(floorNtu, noiseShare * ntu)) });
      }
      held = [];
      endS += 1;
    }
    if (s.turbidityNtu !== null) held.push(s.turbidityNtu);
  }
  return out;
}

interface Said {
  readonly onsetS: number;
  readonly saidS: number;
}
type Rival = (threshold: number) => (visit: readonly Second[]) => Said[];

/** A detector of the change-point room; of what it says, the rises count. */
const plain =
  (make: (threshold: number) => Detector): Rival =>
  (threshold) =>
  (visit) => {
    const detector = make(threshold);
    return visit.flatMap(({ t, z }) => {
      const change = detector.step(z, t);
      return change?.direction === 'up' ? [{ onsetS: change.onsetT, saidS: t }] : [];
    });
  };

const reference = { samples: 15, minSd: 0.5 };
const rivals: Record<string, { make: Rival; thresholds: readonly number[] }> = {
  'CUSUM on a reference that follows (the line room)': {
    thresholds: [8, 12, 16, 24, 32, 48, 64],
    make: (threshold) => (visit) => {
      const fronts = new Fronts(threshold, threshold);
      let lowest = Number.POSITIVE_INFINITY;
      return visit.flatMap(({ t, z }) => {
        lowest = Math.min(lowest, z);
        const front = fronts.step(t, z, 1, lowest, false);
        return front ? [front] : [];
      });
    },
  },
  'likelihood ratio, the regime learned anew': {
    thresholds: [2.5, 3, 3.5, 4, 5, 6, 8],
    make: plain((threshold) => new Glr({ reference, threshold, window: 60, least: 2, after: 'relearn' })),
  },
  'Bayesian run length': {
    thresholds: [0.1, 0.2, 0.3, 0.5, 0.7, 0.9],
    make: plain((confidence) => new Bocpd({ reference, meanRun: 120, confidence })),
  },
  'CUSUM on the opening': {
    thresholds: [4, 8, 16, 32, 64],
    make: plain((h) => new Cusum({ reference, k: 1, h, side: 'up' })),
  },
  'EWMA on the opening': { thresholds: [3, 5, 8, 12, 20], make: plain((width) => new Ewma({ reference, width })) },
};

interface Found {
  threshold: number;
  due: number;
  hits: number;
  said: number;
  right: number;
  delaysS: number[];
}

const nearS = 15;
const visits = familyNames.flatMap((family) =>
  Array.from({ length: Number(values.runs) }, (_, i) => benchRun(folderOfRuns(values.folder), family, i + 1)).flatMap(
    (run) =>
      run.visits.filter((v) => v.blind.length === 0).map((visit) => ({ run, visit, seconds: seconds(run, visit) })),
  ),
);

function measure(threshold: number, make: Rival): Found {
  const found: Found = { threshold, due: 0, hits: 0, said: 0, right: 0, delaysS: [] };
  for (const { run, visit, seconds: all } of visits) {
    const said = make(threshold)(all);
    const used = new Set<number>();
    for (const release of visit.releases) {
      const lastS = Math.max(release.onsetS + nearS, release.peakS);
      const i = said.findIndex((s, n) => !used.has(n) && s.onsetS > release.firstS - nearS && s.onsetS < lastS);
      if (i >= 0) used.add(i);
      if (!release.isDue) continue;
      found.due += 1;
      if (i < 0) continue;
      found.hits += 1;
      found.delaysS.push(Math.max(0, (said[i]?.saidS ?? 0) - release.onsetS));
    }
    for (const [i, s] of said.entries()) {
      if (!used.has(i) && run.stirs.some((x) => x.fromS <= s.onsetS && s.onsetS <= x.toS)) continue;
      found.said += 1;
      if (used.has(i)) found.right += 1;
    }
  }
  return found;
}

const f1 = (f: Found): number => (2 * f.hits) / Math.max(1, f.due + f.hits + f.said - f.right);
const out = Object.entries(rivals).map(([name, { thresholds, make }]) => {
  const best = thresholds.map((t) => measure(t, make)).sort((a, b) => f1(b) - f1(a))[0];
  if (!best) throw new Error(`${name} has no threshold`);
  const detector = make(best.threshold);
  const from = performance.now();
  let count = 0;
  for (const v of visits) {
    detector(v.seconds);
    count += v.seconds.length;
  }
  return {
    detector: name,
    threshold: best.threshold,
    recall: Number(share(best.hits, best.due).toFixed(1)),
    precision: Number(share(best.right, best.said).toFixed(1)),
    f1: Number((100 * f1(best)).toFixed(1)),
    delayMedianS: median(best.delaysS),
    secondsPerMs: Math.round(count / (performance.now() - from)),
    n: best.due,
  };
});
console.log(JSON.stringify({ visits: visits.length, rivals: out }, null, 1));
