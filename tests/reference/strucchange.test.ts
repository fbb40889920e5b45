import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { MeanCost } from '../../src/core/changepoint/cost-mean.ts';
import { optimalByCount } from '../../src/core/changepoint/optimal.ts';

const schema = z.record(
  z.string(),
  z.object({
    least: z.number(),
    values: z.array(z.number()),
    rss: z.array(z.number()),
    bic: z.array(z.number()),
    breaks: z.array(z.array(z.number())),
  }),
);
const path = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const golden = schema.parse(JSON.parse(readFileSync(path('./golden/strucchange.json'), 'utf8')));

// The command that made the golden values is the head of strucchange.R.
const script = path('./strucchange.R');
const probe = spawnSync('Rscript', ['-e', 'library(strucchange)'], { encoding: 'utf8' });
const hasR = probe.status === 0;
if (!hasR && process.env['LIMPID_PEERS'] === 'required')
  throw new Error('R with strucchange is missing: apt-get install r-base-core r-cran-strucchange');

describe('breakpoints of the R package strucchange (Zeileis et al. 2002; Bai and Perron 2003)', () => {
  for (const [name, series] of Object.entries(golden))
    it(`${name}: same breaks, same sums of squares, same BIC for 0 to 5 breaks`, () => {
      const n = series.values.length;
      const all = optimalByCount(new MeanCost(series.values), 5, series.least);
      series.rss.forEach((rss, k) => {
        const found = all[k];
        expect(found?.changepoints).toEqual(series.breaks[k]);
        expect((found?.cost ?? 0) / rss).toBeCloseTo(1, 9);
        const bic = n * (Math.log(2 * Math.PI) + Math.log((found?.cost ?? 0) / n) + 1) + 2 * (k + 1) * Math.log(n);
        expect(bic).toBeCloseTo(series.bic[k] ?? Number.NaN, 6);
      });
    });

  it.skipIf(!hasR)('live R gives the golden values (peer: Rscript with r-cran-strucchange)', () => {
    const run = spawnSync('Rscript', [script], { encoding: 'utf8' });
    const live = schema.parse(JSON.parse(run.stdout));
    expect(Object.keys(live)).toEqual(Object.keys(golden));
    for (const [name, series] of Object.entries(golden)) {
      expect(live[name]?.breaks).toEqual(series.breaks);
      series.rss.forEach((rss, k) => expect((live[name]?.rss[k] ?? 0) / rss).toBeCloseTo(1, 9));
    }
  });
});
