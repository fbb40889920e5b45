import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { verifyRecording } from '../../src/recording/recording.ts';
import { sealedFolder } from '../../src/recording/sealed.ts';
import { startBridgeProcess } from './bridge-process.ts';
import { hasChromium, launch } from './chromium.ts';
import { beginAtSurvey, sealRecord, walkRun } from './walk-run.ts';

const hasPoppler = spawnSync('pdftotext', ['-v']).error === undefined;
if (!hasPoppler && process.env['LIMPID_PEERS'] === 'required') throw new Error('pdftotext is required');

/** Pressure in another unit: the run, its pages and its report follow. */
async function inPsi(page: Page): Promise<void> {
  await page.locator('.units-choice .tool').first().click();
  await page.locator('.condition-value small', { hasText: 'psi' }).first().waitFor();
}

async function reportText(url: string): Promise<string> {
  // A draft is drawn once in a while only.
  await new Promise((done) => setTimeout(done, 3500));
  const answer = await fetch(`${url}/api/runs/current/report.pdf`);
  const pdf = Buffer.from(await answer.arrayBuffer());
  return execFileSync('pdftotext', ['-layout', '-', '-'], { input: pdf, encoding: 'utf8' });
}

describe.skipIf(!hasChromium || !hasPoppler)('a whole run at the page, in chromium against the simulated rig', () => {
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
        if (stage === 'fill' && when === 'begun') await inPsi(page);
      });
      const stages = stageNames.filter((s) => s !== 'emitters');
      expect(seen).toEqual(stages);
      const view = await page.evaluate(async () => (await fetch('/api/view')).json());
      const line: { name: string; status: string; why: string }[] = view.timeLine;
      expect(line.map((p) => p.status)).toEqual([...stageNames.slice(0, -1).map(() => 'done'), 'now']);
      expect(line.every((p) => p.why === '')).toBe(true);
      const runId = String(view.runId);
      const draft = await reportText(bridge.url);
      expect(draft).toContain('Draft: not sealed');

      expect(await sealRecord(page)).toMatch(/Checked: intact\..*Key[0-9a-f ]{39}/);
      expect(await page.locator('.stage-form:not([data-form="comment"])').count()).toBe(0);
      await page.locator('#comment-by').fill('The office');
      await page.locator('#comment-text').fill('Looked at.');
      await page.locator('[data-form="comment"] .keep').click();
      await page.locator('.comments', { hasText: 'Looked at.' }).waitFor();
      const check = verifyRecording(sealedFolder(folder, runId));
      expect(check).toMatchObject({ sound: true, seal: { state: 'good', seal: { simulated: true } } });
      const names = Object.keys(check.seal.seal?.files ?? {});
      expect(names.filter((n) => n.startsWith('files/')).length).toBe(2);

      const text = await reportText(bridge.url);
      expect(text).not.toContain('Draft');
      for (const words of ['Simulated water', 'A. Fitter', 'B. Owner', 'Two jars', 'psi', 'Looked at.'])
        expect(text).toContain(words);
      expect(text.replace(/\s+/g, '')).toContain(check.seal.seal?.head ?? 'no seal');
      expect(complaints).toEqual([]);
    } finally {
      await browser.close();
      await bridge.stop('SIGINT');
      rmSync(folder, { recursive: true, force: true });
    }
  }, 600_000);
});
