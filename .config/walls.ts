// Who may import whom. This table is the law; `npm run walls` writes it into .oxlintrc.json for the linter,
// and tests/architecture.test.ts plants a breach of each row.
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

/** Rooms inside src/core, and which of their siblings each may use. Every room may use itself. */
export const coreRooms: Readonly<Record<string, readonly string[]>> = {
  quantity: [],
  message: [],
  seal: ['quantity'],
  water: ['quantity'],
  circuit: ['quantity', 'event'],
  signal: ['quantity', 'event'],
  changepoint: ['quantity'],
  chemistry: ['quantity'],
  hydraulics: ['quantity', 'event', 'water', 'changepoint', 'signal'],
  rinse: ['quantity', 'event', 'signal', 'changepoint', 'line'],
  line: ['quantity', 'event', 'signal', 'changepoint', 'circuit', 'message'],
  alarm: ['quantity', 'event', 'line', 'rinse', 'chemistry', 'hydraulics', 'circuit', 'message'],
  job: ['quantity', 'message', 'line', 'rinse', 'chemistry', 'hydraulics', 'circuit', 'alarm', 'analyse'],
  audit: [
    'quantity',
    'message',
    'event',
    'line',
    'rinse',
    'chemistry',
    'hydraulics',
    'circuit',
    'alarm',
    'job',
    'seal',
    'analyse',
    'signal',
    'changepoint',
    'water',
  ],
};

/** A room outside core: its files, what it may import of ours, and which registry packages. */
export interface OuterRoom {
  readonly files: string;
  readonly ours: readonly string[];
  readonly packages: readonly string[];
  readonly pure?: boolean;
}

export const outerRooms: readonly OuterRoom[] = [
  { files: 'firmware-bridge/wire/**', ours: ['core/quantity', 'core/message'], packages: ['zod', 'cborg'], pure: true },
  { files: 'firmware-bridge/clock/**', ours: ['core/quantity', 'core/message'], packages: [], pure: true },
  {
    files: 'firmware-bridge/calibration/**',
    ours: ['core/quantity', 'core/message', 'core/water', 'wire'],
    packages: ['zod'],
    pure: true,
  },
  { files: 'firmware-bridge/transport/**', ours: ['wire', 'core'], packages: ['serialport', 'mqtt', 'aedes', 'zod'] },
  { files: 'src/store/**', ours: ['core'], packages: ['@photostructure/sqlite', 'zod', 'canonicalize'] },
  { files: 'src/recording/**', ours: ['core', 'store'], packages: ['udsv', 'zod', 'canonicalize', 'fflate'] },
  { files: 'src/report/**', ours: ['core'], packages: ['pdfkit', 'uqr', 'zod'] },
  { files: 'src/server/**', ours: ['core'], packages: ['fastify', '@fastify/static', 'prom-client', 'zod'] },
  { files: 'src/hub/**', ours: ['core'], packages: ['mqtt', 'influx', 'zod', 'canonicalize'] },
  {
    files: 'src/run/**',
    ours: [
      'core',
      'wire',
      'clock',
      'calibration',
      'transport',
      'store',
      'recording',
      'report',
      'server',
      'hub',
      'simulators',
    ],
    packages: ['zod'],
  },
  {
    files: 'src/cli/**',
    ours: ['core', 'wire', 'clock', 'transport', 'store', 'recording', 'report', 'server', 'hub', 'run', 'simulators'],
    packages: ['commander', 'uqr', 'zod', 'udsv'],
  },
  {
    files: 'dashboards/**',
    ours: ['core', 'wire', 'server/protocol.ts'],
    packages: ['preact', 'preact/hooks', '@preact/signals', 'uplot', 'zod', 'vite'],
  },
  {
    files: 'simulators/**',
    ours: ['core', 'wire', 'clock', 'transport/transport.ts', 'transport/pipe-peer.ts'],
    packages: ['avr8js'],
  },
];

/** How a relative import of a room looks from elsewhere. */
const patterns: Readonly<Record<string, readonly string[]>> = {
  core: ['**/core/**'],
  'core/quantity': ['**/core/quantity/**'],
  'core/message': ['**/core/message/**'],
  'core/water': ['**/core/water/**'],
  wire: ['**/wire/**'],
  clock: ['**/clock/**'],
  calibration: ['**/calibration/**'],
  transport: ['**/transport/**'],
  'transport/transport.ts': ['**/transport/transport.ts'],
  'transport/pipe-peer.ts': ['**/transport/pipe-peer.ts'],
  store: ['**/store/**'],
  recording: ['**/recording/**'],
  report: ['**/report/**'],
  server: ['**/server/**'],
  hub: ['**/hub/**'],
  'server/protocol.ts': ['**/server/protocol.ts'],
  run: ['**/run/**'],
  cli: ['**/cli/**'],
  simulators: ['**/simulators/**'],
  dashboards: ['**/dashboards/**'],
};
const outerNames = [
  'report',
  'core',
  'wire',
  'clock',
  'calibration',
  'transport',
  'store',
  'recording',
  'server',
  'hub',
  'run',
  'cli',
  'simulators',
  'dashboards',
];

const root = new URL('../', import.meta.url);
const manifest = z
  .object({ dependencies: z.record(z.string(), z.string()), devDependencies: z.record(z.string(), z.string()) })
  .parse(JSON.parse(readFileSync(new URL('package.json', root), 'utf8')));
const packages = [...Object.keys(manifest.dependencies), ...Object.keys(manifest.devDependencies)];

const packagePatterns = (allowed: readonly string[]): string[] =>
  packages.filter((name) => !allowed.includes(name)).flatMap((name) => [name, `${name}/**`]);

/** One group of patterns; exceptions (`!`) go last, where they win. */
function restrict(groups: readonly (readonly string[])[], message: string): unknown {
  const all = groups.flat();
  const group = [...all.filter((p) => !p.startsWith('!')), ...all.filter((p) => p.startsWith('!'))];
  return ['error', { patterns: [{ group, message }] }];
}

const timeless = {
  'no-restricted-globals': [
    'error',
    { name: 'Date', message: 'Time enters core as data.' },
    { name: 'performance', message: 'Time enters core as data.' },
  ],
  'no-restricted-properties': [
    'error',
    { object: 'Math', property: 'random', message: 'Randomness enters core as data.' },
  ],
};

function coreOverride(room: string): unknown {
  const allowed = coreRooms[room] ?? [];
  const siblings = Object.keys(coreRooms).filter((name) => name !== room && !allowed.includes(name));
  const forbidden = siblings.map((name) => {
    const group = [`**/${name}/**`];
    // The shapes of an event and of a context live in job/, and any room that is given them may name them.
    if (name === 'job' && allowed.includes('event')) group.push('!**/job/event.ts', '!**/job/context.ts');
    return group;
  });
  if (!allowed.includes('analyse')) forbidden.push(['**/analyse.ts']);
  const message = `src/core/${room} may import only: ${allowed.join(', ') || 'itself'} (and zod). See .config/walls.ts.`;
  return {
    files: [`src/core/${room}/**/*.ts`],
    rules: {
      'no-restricted-imports': restrict(
        [
          ...forbidden,
          ['node:*', ...packagePatterns(['zod'])],
          ['**/firmware-bridge/**', '**/src/**', '**/dashboards/**', '**/simulators/**'],
        ],
        message,
      ),
      ...timeless,
    },
  };
}

function outerOverride(room: OuterRoom): unknown {
  const forbidden = outerNames
    .filter(
      (name) => !room.ours.includes(name) && !room.files.includes(`/${name}/`) && !room.files.startsWith(`${name}/`),
    )
    .map((name) => [
      ...(patterns[name] ?? []),
      ...room.ours
        .filter((ours) => ours.startsWith(`${name}/`))
        .flatMap((ours) => (patterns[ours] ?? []).map((p) => `!${p}`)),
    ]);
  const message = `${room.files} may import only: ${room.ours.join(', ')}; packages: ${room.packages.join(', ') || 'none'}. See .config/walls.ts.`;
  return {
    files: [room.files.replace('/**', '/**/*.{ts,tsx}')],
    rules: {
      'no-restricted-imports': restrict(
        [...forbidden, [...packagePatterns(room.packages), ...(room.pure ? ['node:*'] : [])]],
        message,
      ),
      ...(room.pure ? timeless : {}),
    },
  };
}

export function lintConfig(): Readonly<Record<string, unknown>> {
  return {
    $schema: './node_modules/oxlint/configuration_schema.json',
    plugins: ['import', 'typescript', 'promise', 'vitest'],
    categories: { correctness: 'error' },
    ignorePatterns: ['dist', '.cache', 'docs/**', 'firmware-bridge/firmware/**'],
    rules: {
      'import/no-cycle': 'error',
      'typescript/no-explicit-any': 'error',
      'typescript/no-floating-promises': 'error',
      'typescript/no-misused-promises': 'error',
      'typescript/switch-exhaustiveness-check': 'error',
      'no-var': 'error',
      eqeqeq: 'error',
      'vitest/no-focused-tests': 'error',
      // Waiting for a thing on a page is an assertion too: it fails when the thing does not come.
      'vitest/expect-expect': [
        'error',
        { assertFunctionNames: ['expect', 'fc.assert', 'says', 'page.waitForSelector'] },
      ],
    },
    overrides: [
      ...Object.keys(coreRooms).map(coreOverride),
      {
        files: ['src/core/*.ts'],
        rules: {
          'no-restricted-imports': restrict(
            [['node:*', ...packagePatterns(['zod'])]],
            'src/core imports core and zod only.',
          ),
          ...timeless,
        },
      },
      ...outerRooms.map(outerOverride),
    ],
  };
}

const file = new URL('.oxlintrc.json', root);
if (process.argv[1] === fileURLToPath(import.meta.url))
  writeFileSync(file, `${JSON.stringify(lintConfig(), null, 2)}\n`);
