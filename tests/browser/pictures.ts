// Pictures of the page beside the rig, made anew: npx tsx tests/browser/pictures.ts [folder] [--all]
// Without --all only the handful that the documents show; --stages: every stage of a whole run, at its beginning, from
// the simulated rig itself. The water is played by the fake bridge.
import { mkdirSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { startServer } from '../../src/server/app.ts';
import { createFakeBridge, type FakeBridge } from '../src/server/fake-bridge.ts';
import { startBridgeProcess } from './bridge-process.ts';
import { launch } from './chromium.ts';
import { addPhoto, beginAtSurvey, sealRecord, walkRun } from './walk-run.ts';

const folder = process.argv[2]?.startsWith('--') === false ? process.argv[2] : 'docs/pictures';
const all = process.argv.includes('--all');
mkdirSync(folder, { recursive: true });

type Scene =
  | 'idle'
  | 'watching'
  | 'carrying'
  | 'settling'
  | 'clear'
  | 'done'
  | 'cannot-tell'
  | 'refused'
  | 'lost'
  | 'gone'
  | 'pointed'
  | 'pulses';
const sizes = { wide: [1280, 800], upright: [800, 1280], phone: [412, 915] } as const;
type Size = keyof typeof sizes;
type Wanted = readonly [Scene, Size, 'light' | 'dark'];

const documented: readonly Wanted[] = [
  ['settling', 'wide', 'light'],
  ['clear', 'upright', 'light'],
  ['lost', 'wide', 'light'],
  ['cannot-tell', 'wide', 'dark'],
  ['pointed', 'wide', 'light'],
  ['pulses', 'wide', 'light'],
];
const every: readonly Wanted[] = [
  ['idle', 'wide', 'light'],
  ['watching', 'wide', 'light'],
  ['carrying', 'wide', 'light'],
  ['settling', 'wide', 'light'],
  ['clear', 'wide', 'light'],
  ['done', 'wide', 'dark'],
  ['cannot-tell', 'wide', 'light'],
  ['cannot-tell', 'wide', 'dark'],
  ['refused', 'wide', 'light'],
  ['lost', 'wide', 'light'],
  ['gone', 'upright', 'light'],
  ['settling', 'upright', 'light'],
  ['clear', 'upright', 'light'],
  ['carrying', 'upright', 'dark'],
  ['clear', 'phone', 'light'],
  ['settling', 'phone', 'dark'],
];

const tap = (bridge: FakeBridge, event: string, emitter: string) =>
  bridge.post({ id: `${event}-${emitter}-${bridge.timeS}`, event, emitter, note: '', agoS: 0 }, 'loopback');

/** Play until the water shows what the scene is about. */
async function playTo(bridge: FakeBridge, scene: Scene): Promise<void> {
  bridge.play(30);
  if (scene === 'idle') return;
  await tap(bridge, 'emitter-open', 'e1');
  bridge.play(12);
  await tap(bridge, 'emitter-shut', 'e1');
  bridge.play(6);
  await tap(bridge, 'skip', 'e2');
  await tap(bridge, 'emitter-open', 'e3');
  bridge.play(20);
  await tap(bridge, 'agitate-end', 'e3');
  if (scene === 'watching') return bridge.play(12);
  if (scene === 'carrying') return bridge.play(20);
  if (scene === 'settling' || scene === 'refused') return bridge.play(60);
  bridge.play(102);
  if (scene === 'clear') return;
  await tap(bridge, 'agitate-end', 'e3');
  if (scene === 'pointed' || scene === 'pulses') return bridge.play(50);
  bridge.play(90);
  if (scene === 'lost' || scene === 'gone') return;
  if (scene === 'cannot-tell') {
    bridge.blind(true);
    const fromS = bridge.timeS;
    bridge.play(25);
    bridge.force({
      band: {
        words: 'Cannot tell',
        emitter: 'Living room, window',
        doNow: 'Look at the rig; do not go by the last verdict',
        reason: 'No turbidity reading for 25 s. Check the plug of the turbidity sensor and its cable to the kit.',
        kind: 'cannot-tell',
      },
      clears: bridge.view().clears.map((clear) => ({ ...clear, toS: clear.toS ?? fromS + 4 })),
      withheldSpans: [{ fromS: fromS + 4, toS: null, text: 'No turbidity reading' }],
      links: [
        {
          id: 'sensor',
          state: 'trouble',
          text: 'no turbidity for 25 s. Check the plug of the sensor.',
          ageS: 25,
        },
        { id: 'kit', state: 'ok', text: 'The kit sends 10 packs a second.', ageS: 0.1 },
        { id: 'bridge', state: 'ok', text: 'The bridge keeps the run.', ageS: 0 },
      ],
    });
    return;
  }
  await tap(bridge, 'agitate-end', 'e3');
  bridge.play(34);
}

async function picture(page: Page, [scene, size, theme]: Wanted): Promise<void> {
  const bridge = createFakeBridge();
  await playTo(bridge, scene);
  const server = await startServer({
    host: '127.0.0.1',
    port: 0,
    bridge,
    webRoot: 'dist/web',
    pairing: { code: '246810' },
  });
  const [width, height] = sizes[size];
  await page.setViewportSize({ width, height });
  await page.goto(server.url);
  await page.evaluate((name) => localStorage.setItem('limpid-theme', name), theme);
  await page.reload();
  await page.waitForSelector('.band');
  bridge.beat();
  const live = setInterval(() => {
    if (scene !== 'cannot-tell') bridge.play(0.1);
    bridge.beat();
  }, 200);
  await page.waitForTimeout(1200);
  if (scene === 'refused') {
    bridge.force({
      buttons: [
        {
          id: 'x',
          label: 'Shut and open Study',
          event: 'emitter-open',
          emitter: 'e9',
          note: '',
          hold: false,
          primary: false,
          why: false,
        },
      ],
    });
    await page.waitForTimeout(300);
    await page.click('.action');
    await page.waitForTimeout(500);
  }
  if (scene === 'pointed') await page.locator('.plot').click({ position: { x: 470, y: 120 } });
  if (scene === 'pulses') await page.selectOption('.plot-tools select', 'pulses');
  if (scene === 'pointed' || scene === 'pulses') await page.waitForTimeout(600);
  clearInterval(live);
  if (scene === 'lost' || scene === 'gone') {
    await server.close();
    await page.waitForTimeout(scene === 'lost' ? 4500 : 14_500);
  }
  await page.screenshot({ path: join(folder, `rig-${scene}-${size}-${theme}.png`) });
  await server.close();
}

const browser = await launch();
const page = await browser.newPage();
page.on('console', (message) => {
  if (message.type() === 'error' && !message.text().includes('ERR_CONNECTION')) console.error(message.text());
});
page.on('pageerror', (error) => console.error(error.message));
async function stagePictures(): Promise<void> {
  const bridge = await startBridgeProcess({ data: mkdtempSync(join(tmpdir(), 'limpid-pictures-')), speed: 40 });
  await page.setViewportSize({ width: 1280, height: 800 });
  await page.goto(bridge.url);
  await beginAtSurvey(page);
  await walkRun(page, async (on, stage, when) => {
    for (const [size, [width, height]] of Object.entries(sizes))
      for (const theme of ['light', 'dark'])
        if (when === 'begun' || (size === 'wide' && theme === 'light')) {
          await on.setViewportSize({ width, height });
          // By the page's own button, so that the charts follow, too.
          const toTheme = on.getByRole('button', { name: theme === 'dark' ? 'Dark' : 'Light', exact: true });
          if ((await toTheme.count()) > 0) await toTheme.first().click();
          await on.waitForTimeout(150);
          await on.screenshot({ path: join(folder, `stage-${stage}-${when}-${size}-${theme}.png`) });
        }
    await on.setViewportSize({ width: 1280, height: 800 });
  });
  await addPhoto(page, 'The system as it was left');
  await sealRecord(page);
  for (const [size, [width, height]] of Object.entries(sizes)) {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(150);
    await page.screenshot({ path: join(folder, `stage-hand-over-sealed-${size}.png`), fullPage: true });
  }
  await bridge.stop('SIGINT');
}

if (process.argv.includes('--stages')) await stagePictures();
else for (const wanted of all ? every : documented) await picture(page, wanted);
await browser.close();
