import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { z } from 'zod';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const foundSchema = z.array(
  z.object({
    id: z.string(),
    help: z.string(),
    nodes: z.array(z.object({ target: z.array(z.unknown()), html: z.string(), failureSummary: z.string().optional() })),
  }),
);

/** What breaks WCAG 2.2 A or AA on the page as it stands, by the rules of axe-core: one line each, with the place. */
export async function breaches(page: Page): Promise<string[]> {
  await page.evaluate(source);
  const found: unknown = await page.evaluate(async () => {
    const axe: unknown = Reflect.get(window, 'axe');
    const run: unknown = typeof axe === 'object' && axe !== null ? Reflect.get(axe, 'run') : undefined;
    if (typeof run !== 'function') throw new Error('axe-core is not there');
    const values = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
    const results: unknown = await Reflect.apply(run, axe, [document, { runOnly: { type: 'tag', values } }]);
    const rows: unknown = typeof results === 'object' && results !== null ? Reflect.get(results, 'violations') : [];
    return JSON.parse(JSON.stringify(rows)) as unknown;
  });
  return foundSchema
    .parse(found)
    .flatMap(({ id, help, nodes }) =>
      nodes.map((n) => `${id}: ${help} at ${n.target.join(' ')}: ${n.html.slice(0, 120)} ${n.failureSummary ?? ''}`),
    );
}
