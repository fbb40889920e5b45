import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';
import { beginAtSurvey, walkRun } from './walk-run.ts';

describe.skipIf(!hasChromium)('a whole run at the page, in chromium against the simulated rig', () => {
  it('goes from survey to hand-over through every stage, each left by its open gate', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-whole-'));
    const bridge = await startBridgeProcess({ data: folder, speed: 40 });
    const browser = await launch();
    const complaints: string[] = [];
    try {
      const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
      page.on('pageerror', (error) => complaints.push(error.message));
      await page.goto(bridge.url);
      await beginAtSurvey(page);
      const seen: string[] = [];
      await walkRun(page, async (_, stage, when) => {
        if (when === 'begun') seen.push(stage);
      });
      const stages = stageNames.filter((s) => s !== 'emitters');
      expect(seen).toEqual(stages);
      const view = await page.evaluate(async () => (await fetch('/api/view')).json());
      const line: { name: string; status: string; why: string }[] = view.timeLine;
      expect(line.map((p) => p.status)).toEqual([...stageNames.slice(0, -1).map(() => 'done'), 'now']);
      expect(line.every((p) => p.why === '')).toBe(true);
      expect(complaints).toEqual([]);
    } finally {
      await browser.close();
      await bridge.stop('SIGINT');
      rmSync(folder, { recursive: true, force: true });
    }
  }, 600_000);
});
