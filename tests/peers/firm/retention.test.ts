import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, test } from 'vitest';
import { z } from 'zod';
import { hasServer, influxd } from './series.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

const statements = (/```influxql\n([^]*?)\n```/.exec(readFileSync('docs/firm.md', 'utf8'))?.[1] ?? '').split('\n');
const answer = z.object({
  results: z.array(
    z.object({
      error: z.string().optional(),
      series: z.array(z.object({ columns: z.array(z.string()), values: z.array(z.array(z.unknown())) })).optional(),
    }),
  ),
});

describe.skipIf(!hasServer('influxd', 'influxdb'))('the statements of docs/firm.md on how long samples stay', () => {
  test('are taken, and keep the least and the most of each minute', async () => {
    const series = await influxd();
    ends.push(() => series.dispose());
    const ask = async (q: string) => {
      const reply = await fetch(`${series.url}/query?db=limpid&q=${encodeURIComponent(q)}`, { method: 'POST' });
      const { results } = answer.parse(await reply.json());
      expect(results[0]?.error).toBeUndefined();
      return results[0]?.series?.[0];
    };
    expect(statements).toHaveLength(4);
    for (const statement of statements) await ask(statement);
    const fromS = 1_767_225_600;
    const rows = Array.from({ length: 180 }, (_, i) => `limpid,rig=a,run=r turbidity_ntu=${i} ${(fromS + i) * 1000}`);
    await fetch(`${series.url}/write?db=limpid&precision=ms`, { method: 'POST', body: rows.join('\n') });
    const select = /BEGIN (SELECT .*) END/.exec(statements[3] ?? '')?.[1] ?? '';
    await ask(select);
    const kept = await ask('SELECT min_turbidity_ntu, max_turbidity_ntu FROM limpid.coarse.limpid_minute');
    expect(kept?.values.map(([, least, most]) => [least, most])).toEqual([
      [0, 59],
      [60, 119],
      [120, 179],
    ]);
  });
});
