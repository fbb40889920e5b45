import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build, type Plugin } from 'vite';
import { afterAll } from 'vitest';

const sqlite = '@photostructure/sqlite';
/** Below the project, so that what is bundled finds the registry's packages. */
const cache = fileURLToPath(new URL('../.cache/programs', import.meta.url));

/**
 * Programs in TypeScript bundled into one folder, each `NAME.ts` as `NAME.js`; the folder goes after the last test of the
 * file. For what is started hundreds of times: to read every source takes longer than what such a program does.
 * @param paths from the root of the project
 * @param database what stands in for the database's package, and has it itself
 */
export async function bundled(paths: readonly string[], database?: string): Promise<string> {
  mkdirSync(cache, { recursive: true });
  const folder = mkdtempSync(join(cache, 'of-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const input = Object.fromEntries(paths.map((path) => [basename(path, '.ts'), resolve(path)]));
  await build({
    configFile: false,
    publicDir: false,
    logLevel: 'warn',
    plugins: database === undefined ? [] : [standIn(resolve(database))],
    // The database is native code.
    ssr: { noExternal: true, external: [sqlite] },
    build: {
      ssr: true,
      outDir: folder,
      target: 'node20',
      minify: false,
      rollupOptions: { input, output: { entryFileNames: '[name].js', chunkFileNames: '[name]-[hash].js' } },
    },
  });
  return folder;
}

function standIn(path: string): Plugin {
  return {
    name: 'stand-in',
    enforce: 'pre',
    resolveId: (name, importer) => (name === sqlite && importer !== path ? path : undefined),
  };
}
