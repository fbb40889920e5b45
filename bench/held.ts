import { parseArgs } from 'node:util';
import { quantile, share } from './bars.ts';
import { folderOfRuns } from './dataset.ts';

/** One asking of a forecast: the moment or seconds that it promised, with its interval, and what it truly was. */
export interface Asked {
  readonly forecast: { readonly likelyS: number; readonly fromS: number; readonly toS: number } | null;
  readonly trueS: number;
}

const tenth = (value: number): number => Number(value.toFixed(1));

/** Of some askings: how many forecasts were made and held, per cent, and how far off and how wide they were, s. */
export function heldOf(asked: readonly Asked[]): Record<string, number> {
  const made = asked.flatMap(({ forecast, trueS }) => (forecast ? [{ ...forecast, trueS }] : []));
  const of = (is: (one: (typeof made)[number]) => boolean): number => tenth(share(made.filter(is).length, made.length));
  const offS = made.map((m) => m.likelyS - m.trueS);
  return {
    asked: asked.length,
    made: tenth(share(made.length, asked.length)),
    inside: of((m) => m.trueS >= m.fromS && m.trueS <= m.toS),
    before: of((m) => m.trueS < m.fromS),
    after: of((m) => m.trueS > m.toS),
    offS10: tenth(quantile(offS, 0.1)),
    offS50: tenth(quantile(offS, 0.5)),
    offS90: tenth(quantile(offS, 0.9)),
    widthS50: tenth(
      quantile(
        made.map((m) => m.toS - m.fromS),
        0.5,
      ),
    ),
  };
}

/** Which runs the command line asks for: so many of each kind, from a seed on, and where they are kept. */
export function runsAsked(): { readonly folder: string; readonly seeds: readonly number[] } {
  const { values } = parseArgs({
    options: {
      runs: { type: 'string', default: '4' },
      from: { type: 'string', default: '1' },
      folder: { type: 'string', default: '.cache/verdict' },
    },
  });
  const seeds = Array.from({ length: Number(values.runs) }, (_, i) => Number(values.from) + i);
  return { folder: folderOfRuns(values.folder), seeds };
}
