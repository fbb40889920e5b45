import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { commands } from '../../src/cli/commands.ts';

const folder = 'docs/deploy';
const files = readdirSync(folder);
const text = (name: string): string => readFileSync(`${folder}/${name}`, 'utf8');

describe('the files of docs/deploy', () => {
  it.each(files)('%s calls commands and options that are there', (name) => {
    const calls = [...text(name).matchAll(/(?:limpid\.js|-t limpid|limpid) (start|hub)((?: --?[^\n]*)?)/g)];
    expect(calls.length).toBeGreaterThan(0);
    for (const [, command, rest = ''] of calls) {
      const known = commands.find((c) => c.name === command)?.options.map((o) => o.flags.split(' ')[0]) ?? [];
      for (const [flag] of rest.matchAll(/--[a-z]+/g)) expect(known).toContain(flag);
    }
  });

  const has = spawnSync('systemd-analyze', ['--version']).error === undefined;
  it.skipIf(!has).each(files.filter((name) => name.endsWith('.service')))('%s is a unit that systemd takes', (name) => {
    const checked = spawnSync('systemd-analyze', ['verify', `${folder}/${name}`], { encoding: 'utf8' });
    // Where Node stands is the machine's matter.
    const said = checked.stderr.split('\n').filter((line) => line !== '' && !/not executable|No such file/.test(line));
    expect(said).toEqual([]);
  });
});
