// Writes docs/settings.md from the schemas that check the settings: `npm run settings`. A test holds the page to it.
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { hub } from '../src/cli/commands/hub.ts';
import { start } from '../src/cli/commands/start.ts';
import type { Option } from '../src/cli/command.ts';
import { bridgeSettings } from '../src/run/config.ts';
import { hubSettings } from '../src/run/hub-config.ts';

const page = new URL('../docs/settings.md', import.meta.url);

interface Named {
  readonly names: readonly string[];
  readonly expected: Readonly<Record<string, string>>;
}

function table({ names, expected }: Named, options: readonly Option[]): string {
  const flagOf = (name: string): string => {
    const flags = options.find((o) => new RegExp(`^--${name.replaceAll('_', '-')}\\b`).test(o.flags))?.flags;
    return flags ? `\`${flags}\`` : '';
  };
  const rows = names.map(
    (name) => `| \`${name}\` | ${flagOf(name)} | \`LIMPID_${name.toUpperCase()}\` | ${expected[name] ?? ''} |`,
  );
  return ['| in the file | flag | environment | what it takes |', '|---|---|---|---|', ...rows].join('\n');
}

export function settingsPage(): string {
  return `# Settings

Made by \`npm run settings\` from the schemas that check them. A flag wins over the environment, that over the file, that
over the default. What may hold a password has no flag: a command line can be read by every user of the machine.

## The bridge (\`limpid start\`)

File: \`limpid.json\` in the data folder, or \`--config\`.

${table(bridgeSettings, start.options)}

## The hub (\`limpid hub\`)

File: \`hub.json\` in the data folder, or \`--config\`.

${table(hubSettings, hub.options)}

## Every command

| environment | what it does |
|---|---|
| \`LIMPID_LOG=json\` | remarks on stderr as one JSON object a line: \`{"at","say"}\` |
`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) writeFileSync(page, settingsPage());
export const written = (): string => readFileSync(page, 'utf8');
