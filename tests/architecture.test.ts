import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { coreRooms, lintConfig, outerRooms } from '../.config/walls.ts';

/**
 * The walls between rooms are themselves tested: for each wall a breach is planted in a copy of the room's path, and
 * the linter must refuse it; and each thing that a room may import must pass.
 */
// Outside the checkout, where no ignore file hides it from the linter.
const base = mkdtempSync(join(tmpdir(), 'limpid-walls-'));
const outer = ['core', 'store', 'recording', 'server', 'run', 'cli'];

interface Plant {
  file: string;
  line: string;
  breach: boolean;
}

function up(file: string): string {
  return '../'.repeat(file.split('/').length - 1);
}

const plants: Plant[] = [];
let n = 0;
function plant(folder: string, target: string, breach: boolean): void {
  const file = `${folder}/planted-${n++}.ts`;
  const specifier = target.startsWith('~/') ? `${up(file)}${target.slice(2)}` : target;
  plants.push({ file, line: `import * as x from '${specifier}';\nexport const y = x;\n`, breach });
}

const corePlace = (room: string): string => `../${room}/thing.ts`;
for (const [room, allowed] of Object.entries(coreRooms)) {
  const folder = `src/core/${room}`;
  for (const other of Object.keys(coreRooms)) {
    if (other !== room) plant(folder, corePlace(other), !allowed.includes(other));
  }
  plant(folder, '../job/event.ts', !(allowed.includes('event') || allowed.includes('job') || room === 'job'));
  for (const name of ['node:fs', 'fastify', 'serialport', 'uplot']) plant(folder, name, true);
  for (const shell of outer.slice(1)) plant(folder, `~/src/${shell}/thing.ts`, true);
  plant(folder, '~/firmware-bridge/wire/thing.ts', true);
  plant(folder, 'zod', false);
}

const outerPlace: Record<string, string> = {
  core: '~/src/core/job/thing.ts',
  wire: '~/firmware-bridge/wire/thing.ts',
  clock: '~/firmware-bridge/clock/thing.ts',
  calibration: '~/firmware-bridge/calibration/thing.ts',
  transport: '~/firmware-bridge/transport/thing.ts',
  store: '~/src/store/thing.ts',
  recording: '~/src/recording/thing.ts',
  report: '~/src/report/thing.ts',
  server: '~/src/server/thing.ts',
  run: '~/src/run/thing.ts',
  cli: '~/src/cli/thing.ts',
  simulators: '~/simulators/thing.ts',
  dashboards: '~/dashboards/thing.ts',
};
for (const room of outerRooms) {
  const folder = room.files.replace('/**', '');
  for (const [name, place] of Object.entries(outerPlace)) {
    if (folder === name || folder.endsWith(`/${name}`)) continue;
    plant(folder, place, !room.ours.includes(name));
  }
  if (room.ours.includes('server/protocol.ts')) plant(folder, '~/src/server/protocol.ts', false);
  plant(folder, 'influx', !room.packages.includes('influx'));
  for (const name of room.packages) plant(folder, name, false);
  if (room.pure === true) plant(folder, 'node:fs', true);
}

const reportSchema = z.object({ diagnostics: z.array(z.object({ code: z.string(), filename: z.string() })) });

function lint(folder: string): Set<string> {
  const done = spawnSync(resolve('node_modules/.bin/oxlint'), ['-c', '.oxlintrc.json', '--format=json', '.'], {
    cwd: folder,
    encoding: 'utf8',
    maxBuffer: 64 << 20,
  });
  const { diagnostics } = reportSchema.parse(JSON.parse(done.stdout));
  return new Set(diagnostics.map((d) => `${d.filename.replaceAll('\\', '/')} ${d.code}`));
}

const restricted = 'eslint(no-restricted-imports)';

describe('walls of the house', () => {
  let found = new Set<string>();
  beforeAll(() => {
    const config = lintConfig();
    for (const { file, line } of plants) {
      mkdirSync(join(base, dirname(file)), { recursive: true });
      writeFileSync(join(base, file), line);
    }
    const core = join(base, 'src/core/line');
    writeFileSync(
      join(core, 'clock.ts'),
      'export const now = (): number => Date.now() + performance.now() + Math.random();\n',
    );
    writeFileSync(join(core, 'ring-a.ts'), "import { b } from './ring-b.ts';\nexport const a = (): number => b();\n");
    writeFileSync(join(core, 'ring-b.ts'), "import { a } from './ring-a.ts';\nexport const b = (): number => a();\n");
    writeFileSync(join(core, 'loose.ts'), 'export const loose = (x: any): unknown => x;\n');
    writeFileSync(join(base, '.oxlintrc.json'), JSON.stringify({ ...config, $schema: undefined, ignorePatterns: [] }));
    found = lint(base);
  });
  afterAll(() => rmSync(base, { recursive: true, force: true }));

  it('refuses every planted breach', () => {
    const missed = plants.filter((p) => p.breach && !found.has(`${p.file} ${restricted}`));
    expect(missed.map((p) => `${p.file}: ${p.line.split('\n')[0]}`)).toEqual([]);
  });

  it('lets through everything that a room may import', () => {
    const wrong = plants.filter((p) => !p.breach && found.has(`${p.file} ${restricted}`));
    expect(wrong.map((p) => `${p.file}: ${p.line.split('\n')[0]}`)).toEqual([]);
  });

  it('refuses the clock, randomness, cycles and any in core', () => {
    expect(found).toContain('src/core/line/clock.ts eslint(no-restricted-globals)');
    expect(found).toContain('src/core/line/clock.ts eslint(no-restricted-properties)');
    expect(found).toContain('src/core/line/ring-a.ts import(no-cycle)');
    expect(found).toContain('src/core/line/loose.ts typescript(no-explicit-any)');
  });

  it('keeps .oxlintrc.json equal to what the table of walls says', () => {
    expect(JSON.parse(readFileSync('.oxlintrc.json', 'utf8'))).toEqual(lintConfig());
  });
});
