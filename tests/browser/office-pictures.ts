// Pictures of the office's page, made anew: npx tsx tests/browser/office-pictures.ts [folder] [--all]
// Without --all only those that the documents show. The runs are simulated.
import { mkdirSync } from 'node:fs';
import { launch } from './chromium.ts';
import { officeWorld } from './office-world.ts';

const folder = process.argv[2]?.startsWith('--') === false ? process.argv[2] : 'docs/pictures';
const all = process.argv.includes('--all');
mkdirSync(folder, { recursive: true });

const run = '#run=run-20260104-0001';
const sizes = { desk: [1440, 900], tablet: [800, 1280], phone: [412, 915] } as const;
type Wanted = readonly [name: string, hash: string, size: keyof typeof sizes, theme: 'light' | 'dark'];

const documented: readonly Wanted[] = [
  ['audit-run', `${run}&from=2300&to=4300`, 'desk', 'light'],
  ['audit-list', '', 'desk', 'light'],
];
const every: readonly Wanted[] = [
  ...documented,
  ['audit-run-dark', run, 'desk', 'dark'],
  ['audit-run-tablet', run, 'tablet', 'light'],
  ['audit-run-phone', run, 'phone', 'dark'],
  ['audit-list-tablet', '', 'tablet', 'dark'],
  ['audit-across', '#page=across', 'desk', 'light'],
  ['audit-across-dark', '#page=across&by=engineer&measure=passes', 'desk', 'dark'],
  ['audit-people', '#page=people', 'desk', 'light'],
];

const world = await officeWorld({ runs: 12 });
await world.audit.lookAtAll();
const browser = await launch();
for (const [name, hash, size, theme] of all ? every : documented) {
  const [width, height] = sizes[size];
  const page = await browser.newPage({ viewport: { width, height } });
  await page.addInitScript(`localStorage.setItem('limpid-theme', '${theme}')`);
  await page.goto(`${world.server.url}/audit.html${hash}`);
  await page.waitForSelector('.runs tbody tr, .visits tbody tr, .box, .line-form');
  await page.waitForTimeout(600);
  await page.screenshot({ path: `${folder}/${name}.png` });
  await page.close();
}
await browser.close();
await world.stop();
