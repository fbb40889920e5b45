// Writes docs/licences.md, what every installed package may be used under, from the lock file: `npm run licences`.
// tests/docs/licences.test.ts holds the page to it, and refuses a licence that has not been looked at.
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const page = new URL('../docs/licences.md', import.meta.url);
const lockSchema = z.object({
  packages: z.record(
    z.string(),
    z.object({ version: z.string().optional(), license: z.string().optional(), dev: z.boolean().optional() }),
  ),
});

export interface Licensed {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
  /** Only for building and testing: not in what runs. */
  readonly dev: boolean;
}

/** Packages that tell it in a file of theirs and not in their manifest; looked at there. */
const toldInFile: Readonly<Record<string, string>> = { 'png-js': 'MIT' };

export function packages(): Licensed[] {
  const lock = lockSchema.parse(JSON.parse(readFileSync(new URL('../package-lock.json', import.meta.url), 'utf8')));
  return Object.entries(lock.packages)
    .filter(([path]) => path !== '')
    .map(([path, { version = '', license, dev = false }]) => {
      const name = path.split('node_modules/').at(-1) ?? path;
      return { name, version, licence: license ?? toldInFile[name] ?? 'not told', dev };
    })
    .sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : a.version < b.version ? -1 : 1));
}

/** Looked at: each lets the product be used, changed and passed on. Weak copyleft (MPL) binds changes of the package itself. */
export const accepted: ReadonlySet<string> = new Set([
  '0BSD',
  'Apache-2.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'BlueOak-1.0.0',
  'CC0-1.0',
  'ISC',
  'MIT',
  'MIT OR Apache-2.0',
  'MIT OR CC0-1.0',
  '(MIT OR CC0-1.0)',
  'MPL-2.0',
  'Python-2.0',
  'Unlicense',
]);

export function licencesPage(): string {
  const table = (of: readonly Licensed[]): string =>
    [
      '| package | version | licence |',
      '|---|---|---|',
      ...of.map((p) => `| ${p.name} | ${p.version} | ${p.licence} |`),
    ].join('\n');
  const all = packages();
  return `# Licences of what is installed

Made by \`npm run licences\` from the lock file. Limpid itself: Apache-2.0 (LICENSE).

## In what runs

${table(all.filter((p) => !p.dev))}

## For building and testing only

${table(all.filter((p) => p.dev))}
`;
}

export const written = (): string => readFileSync(page, 'utf8');
if (process.argv[1] === fileURLToPath(import.meta.url)) writeFileSync(page, licencesPage());
