import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { commands } from '../../../src/cli/commands.ts';
import { version } from '../../../src/cli/version.ts';
import { analyseAnswerSchema } from './analyse-answer.ts';
import { limpid } from './command-line.ts';

let root = '';
let recording = '';
let data = '';
const at = (name: string): string => join(root, name);
const put = (name: string, text: string): string => {
  writeFileSync(at(name), text);
  return at(name);
};

beforeAll(async () => {
  root = mkdtempSync(join(tmpdir(), 'limpid-cli-'));
  recording = at('simulated');
  data = at('data');
  const made = await limpid('simulate', 'ordinary', recording, '--seed', '1');
  const taken = await limpid('import', recording, '--data', data);
  if (made.code !== 0 || taken.code !== 0) throw new Error(made.stderr + taken.stderr);
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

const parse = (text: string): unknown => JSON.parse(text);

describe('every command', () => {
  it.each(commands.map((c) => [c.name, c] as const))('%s explains itself with examples', async (name, command) => {
    const { code, stdout, stderr } = await limpid(name, '--help');
    expect(code).toBe(0);
    expect(stderr).toBe('');
    for (const example of command.examples) expect(stdout).toContain(example);
    expect(command.examples.length).toBeGreaterThan(0);
    expect(stdout).toContain('--json');
  });

  it.each(commands.map((c) => c.name))('%s refuses a flag that it does not have', async (name) => {
    const { code, stdout, stderr } = await limpid(name, '--nonsense');
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain('--nonsense');
  });

  it('says its version, which is that of the package', async () => {
    const manifest = z.object({ version: z.string() }).parse(parse(readFileSync('package.json', 'utf8')));
    expect(version).toBe(manifest.version);
    expect((await limpid('--version')).stdout.trim()).toBe(version);
  });
});

describe('docs/commands.md', () => {
  it('names every command, argument and option, and no command that is not there', () => {
    const text = readFileSync('docs/commands.md', 'utf8');
    const headings = [...text.matchAll(/^## `limpid ([a-z]+)/gm)].map((m) => m[1]);
    expect(headings).toEqual(commands.map((c) => c.name));
    for (const command of commands) {
      const section = text.split(`## \`limpid ${command.name}`)[1]?.split('\n## ')[0] ?? '';
      for (const option of command.options) expect(section).toContain(option.flags);
      for (const arg of command.args) expect(section).toContain(`\`${arg.name.toUpperCase()}\``);
      for (const example of command.examples) expect(section).toContain(example);
    }
  });
});

describe('export, import, verify, runs', () => {
  it('bring a run out and in again, the same', async () => {
    const listed = z.object({ runs: z.array(z.object({ run: z.string() })) });
    const { runs } = listed.parse(parse((await limpid('runs', '--data', data, '--json')).stdout));
    const runId = runs[0]?.run ?? '';
    expect(runId).toBe('simulated-ordinary-1');
    expect((await limpid('export', runId, at('out'), '--data', data)).code).toBe(0);
    expect((await limpid('verify', at('out'))).code).toBe(0);
    expect((await limpid('import', at('out'), '--data', at('data2'))).code).toBe(0);
    expect((await limpid('export', runId, at('out2'), '--data', at('data2'))).code).toBe(0);
    for (const name of ['recording.csv', 'events.csv', 'chain.jsonl'])
      expect(readFileSync(at(`out2/${name}`), 'utf8')).toBe(readFileSync(at(`out/${name}`), 'utf8'));
    const [a, b] = await Promise.all([limpid('analyse', recording, '--json'), limpid('analyse', at('out2'), '--json')]);
    const of = (answer: { stdout: string }) => analyseAnswerSchema.parse(parse(answer.stdout));
    // What was judged is the same; what is said of the record is not: one of them has a chain.
    expect(of(b).visits).toEqual(of(a).visits);
    expect(of(b).rinse).toEqual(of(a).rinse);
  });

  it('find a recording that was changed: exit 1, with what was found', async () => {
    cpSync(at('out'), at('changed'), { recursive: true });
    const file = at('changed/recording.csv');
    const lines = readFileSync(file, 'utf8').split('\n');
    lines[5] = (lines[5] ?? '').replace(/^([^,]*),[^,]*/, '$1,1.25');
    writeFileSync(file, lines.join('\n'));
    const { code, stdout } = await limpid('verify', at('changed'), '--json');
    expect(code).toBe(1);
    expect(parse(stdout)).toMatchObject({ sound: false, chained: true });
  });
});

describe('a recording with a row of events.csv that cannot be used', () => {
  const said = /events\.csv, line 3, column time_s: found "soon".*\n.*events\.csv: 1 row \(line 3\).*left out/;
  const withBadRow = (name: string): string => {
    cpSync(recording, at(name), { recursive: true });
    const [head = '', first = '', ...rest] = readFileSync(join(recording, 'events.csv'), 'utf8').split('\n');
    writeFileSync(join(at(name), 'events.csv'), [head, first, 'soon,agitate-end,,', ...rest].join('\n'));
    rmSync(join(at(name), 'datapackage.json'));
    // Else it would be the run that the store has already.
    const context = join(at(name), 'context.json');
    writeFileSync(context, readFileSync(context, 'utf8').replace('"simulated-ordinary-1"', `"${name}"`));
    return at(name);
  };

  it('is analysed as if the row had never been written, and says so', async () => {
    const [bad, good] = await Promise.all([
      limpid('analyse', withBadRow('bad-row'), '--json'),
      limpid('analyse', recording, '--json'),
    ]);
    expect(bad.code).toBe(0);
    expect(analyseAnswerSchema.parse(parse(bad.stdout))).toEqual(analyseAnswerSchema.parse(parse(good.stdout)));
    expect(bad.stderr).toMatch(said);
    expect(good.stderr).toBe('');
  });

  it('is taken in, alone or among others, and says so', async () => {
    const alone = await limpid('import', withBadRow('bad-row-alone'), '--data', at('data3'), '--json');
    expect(alone.code).toBe(0);
    expect(alone.stderr).toMatch(said);
    const codes = ['recording-not-a-number', 'recording-events-left-out'];
    const shape = z.object({ run: z.string(), remarks: z.array(z.object({ code: z.string(), text: z.string() })) });
    const { run, remarks } = shape.parse(parse(alone.stdout));
    expect([run, remarks.map((r) => r.code)]).toEqual(['bad-row-alone', codes]);
    mkdirSync(at('several'));
    withBadRow('several/among-others');
    const all = await limpid('import', '--all', at('several'), '--data', at('data3'));
    expect(all.code).toBe(0);
    expect(all.stderr).toMatch(said);
    const [twice, allTwice] = [
      await limpid('import', at('bad-row-alone'), '--data', at('data3')),
      await limpid('import', '--all', at('several'), '--data', at('data3')),
    ];
    expect([twice.code, twice.stdout]).toEqual([0, expect.stringContaining('was here already, as the run bad-row-al')]);
    expect([allTwice.code, allTwice.stdout]).toEqual([
      0,
      expect.stringContaining('Taken in: 0; here already: 1; refused: '),
    ]);
  });

  it('is told by verify, which proves nothing without a chain', async () => {
    const { code, stdout, stderr } = await limpid('verify', withBadRow('bad-row-unproved'));
    expect(code).toBe(1);
    expect(stdout).toMatch(/^Not chained: /);
    expect(stderr).toMatch(said);
  });
});

describe('runs', () => {
  it('are listed with their start in UTC, or by what is known of it', async () => {
    const starts: [string, string][] = [
      ['2026-06-30T23:30:00-05:00', '2026-07-01 04:30 UTC'],
      ['2026-02-03', '2026-02-03'],
      ['some day in May', 'start not known'],
    ];
    for (const [i, [started]] of starts.entries()) {
      cpSync(recording, at(`start-${i}`), { recursive: true });
      const context = z.looseObject({}).parse(parse(readFileSync(join(recording, 'context.json'), 'utf8')));
      writeFileSync(
        join(at(`start-${i}`), 'context.json'),
        JSON.stringify({ ...context, run_id: `s${i}`, started_at: started }),
      );
      expect((await limpid('import', at(`start-${i}`), '--data', at('starts'))).code).toBe(0);
    }
    const { stdout } = await limpid('runs', '--data', at('starts'));
    for (const [i, [, said]] of starts.entries()) expect(stdout).toContain(`s${i}  ${said}  `);
  });
});

describe('bad input', () => {
  /** Command line, exit code, and what the message must name. */
  const cases: readonly [name: string, argv: () => string[], code: number, names: RegExp][] = [
    ['no command', () => [], 2, /Usage/],
    ['a command mistyped', () => ['analize', 'x'], 2, /analyse/],
    ['a flag mistyped', () => ['analyse', 'x', '--hindsite'], 2, /--hindsight/],
    ['an argument missing', () => ['analyse'], 2, /recording/],
    ['an argument too many', () => ['analyse', 'a', 'b'], 2, /too many/],
    [
      'an option in the place of a value',
      () => ['start', '--simulate', '--speed', '10'],
      2,
      /^--simulate wants <scenario> after it, and --speed is an option of its own\. Give one, or leave --simulate out\. .*simulated rig/,
    ],
    ['another in the place of one', () => ['analyse', 'x', '--settings', '--json'], 2, /--settings wants <file>/],
    ['a folder that is not there', () => ['analyse', at('nowhere')], 1, /nowhere/],
    ['a folder that is no recording', () => ['analyse', root], 1, /recording\.csv/],
    ['settings that are not there', () => ['analyse', recording, '--settings', at('no.json')], 2, /no\.json/],
    ['settings that are no JSON', () => ['analyse', recording, '--settings', put('bad.json', '{')], 2, /bad\.json/],
    ['settings that are a folder', () => ['analyse', recording, '--settings', root], 2, /--settings.*cannot be read/],
    [
      'an unknown setting',
      () => ['analyse', recording, '--settings', put('odd.json', '{"clearNtuu":1}')],
      2,
      /clearNtuu.*clearNtu"/,
    ],
    [
      'a setting out of range',
      () => ['analyse', recording, '--settings', put('range.json', '{"restShare":7}')],
      2,
      /restShare = 7/,
    ],
    ['settings that are a list', () => ['analyse', recording, '--settings', put('list.json', '[1]')], 2, /list\.json/],
    ['an unknown run', () => ['export', 'nobody', at('x'), '--data', data], 1, /nobody.*simulated-ordinary-1/],
    [
      'a target that holds something else',
      () => ['export', 'simulated-ordinary-1', root, '--data', data],
      1,
      /limpid-cli/,
    ],
    ['a data folder that is not there', () => ['runs', '--data', at('nothing')], 1, /nothing/],
    ['import of nothing', () => ['import', at('nowhere'), '--data', data], 1, /nowhere/],
    ['verify of nothing', () => ['verify', at('nowhere')], 1, /nowhere/],
    [
      'verify of a report',
      () => ['verify', put('r.pdf', '%PDF-1.7')],
      1,
      /r\.pdf is a file.*the recording that it was/,
    ],
    ['import of a report', () => ['import', put('r.pdf', '%PDF-1.7'), '--data', data], 1, /r\.pdf is a file/],
    ['audit across a file', () => ['audit', '--across', put('r.pdf', '%PDF-1.7')], 1, /r\.pdf is a file/],
    ['segment without columns', () => ['segment', put('t.csv', 'a,b\n1,2\n')], 2, /a, b/],
    [
      'segment of an unknown column',
      () => ['segment', put('t.csv', 'alpha,b\n1,2\n'), '--columns', 'alpa'],
      2,
      /alpha/,
    ],
    ['segment of words', () => ['segment', put('w.csv', 'a\n1\nsoup\n'), '--columns', 'a'], 1, /row 1.*a.*soup/],
    ['segment of an empty file', () => ['segment', put('e.csv', ''), '--columns', 'a'], 1, /e\.csv/],
    ['segment of no file', () => ['segment', at('no.csv'), '--columns', 'a'], 1, /no\.csv/],
    [
      'an unknown method',
      () => ['segment', put('t.csv', 'a\n1\n'), '--columns', 'a', '--method', 'x'],
      2,
      /pelt or online/,
    ],
    [
      'a penalty that is no number',
      () => ['segment', put('t.csv', 'a\n1\n'), '--columns', 'a', '--penalty', 'x'],
      2,
      /penalty/,
    ],
    [
      'a negative penalty',
      () => ['segment', put('t.csv', 'a\n1\n'), '--columns', 'a', '--penalty', '-1'],
      2,
      /penalty/i,
    ],
    ['an unknown scenario', () => ['simulate', 'ordnary', at('s')], 2, /ordinary/],
    ['a scenario without a folder', () => ['simulate', 'ordinary'], 2, /folder/],
    ['an unknown scenario at the start', () => ['start', '--simulate', 'nowhere', '--data', at('d')], 2, /rehearsal/],
    ['a port that is no port', () => ['start', '--port', '99999', '--data', at('d')], 2, /--port.*99999.*65535/],
    ['two sources', () => ['start', '--serial', 'a', '--replay', 'b', '--data', at('d')], 2, /serial.*replay/],
    ['speed of a real kit', () => ['start', '--serial', 'a', '--speed', '5', '--data', at('d')], 2, /speed/],
    ['a replay of nothing', () => ['start', '--replay', at('nowhere'), '--data', at('d')], 1, /nowhere/],
    [
      'a context that is no context',
      () => ['start', '--context', put('c.json', '{"emitters":1}'), '--data', at('d')],
      2,
      /emitters/,
    ],
    [
      'an unknown setting in a file',
      () => ['start', '--config', put('s.json', '{"prot":1}'), '--data', at('d')],
      2,
      /prot.*port/,
    ],
    ['an address of another machine', () => ['start', '--host', '203.0.113.9', '--data', at('d')], 1, /203\.0\.113\.9/],
  ];

  it.each(cases)('%s', async (_, argv, code, names) => {
    const ran = await limpid(...argv());
    expect(ran.stderr).toMatch(names);
    expect(ran.stderr).not.toMatch(/fault of its own|undefined|\[object/);
    expect([ran.code, ran.stdout]).toEqual([code, '']);
  });
});

describe('start', () => {
  const startedSchema = z.object({
    url: z.string(),
    port: z.number(),
    code: z.string(),
    run: z.string(),
    resumed: z.boolean(),
  });

  it('says where it is, as JSON too, and takes the run up again', async () => {
    const folder = at('started');
    const first = startedSchema.parse(
      parse((await limpid('start', '--data', folder, '--json', '--host', '127.0.0.1')).stdout),
    );
    expect(first).toMatchObject({ resumed: false });
    expect(first.code).toMatch(/^\d{6}$/);
    const again = startedSchema.parse(
      parse((await limpid('start', '--data', folder, '--json', '--host', '127.0.0.1')).stdout),
    );
    expect(again).toMatchObject({ resumed: true, run: first.run });
    const anew = startedSchema.parse(
      parse((await limpid('start', '--data', folder, '--json', '--host', '127.0.0.1', '--new')).stdout),
    );
    expect(anew).toMatchObject({ resumed: false });
    expect(anew.run).not.toBe(first.run);
  });

  it('refuses a port that was asked for and is in use, and takes the next one when none was asked for', async () => {
    const other = createServer();
    const port = await new Promise<number>((done) =>
      other.listen(0, '127.0.0.1', () => {
        const address = other.address();
        done(typeof address === 'object' && address ? address.port : 0);
      }),
    );
    const args = ['start', '--data', at('taken'), '--host', '127.0.0.1', '--json'];
    const refused = await limpid(...args, '--port', String(port));
    expect([refused.code, refused.stdout]).toEqual([1, '']);
    expect(refused.stderr).toContain(String(port));
    other.close();
    mkdirSync(at('taken'), { recursive: true });
    const usual = createServer();
    await new Promise<void>((done) => {
      usual.once('error', () => done());
      usual.listen(8480, '127.0.0.1', () => done());
    });
    const moved = await limpid(...args);
    expect(startedSchema.parse(parse(moved.stdout)).port).toBeGreaterThan(8480);
    expect(moved.stderr).toContain('8480');
    usual.close();
  });

  it('plays a recording as if it were the kit', async () => {
    const ran = await limpid(
      'start',
      '--replay',
      recording,
      '--speed',
      '1000',
      '--data',
      at('replayed'),
      '--host',
      '127.0.0.1',
      '--json',
    );
    expect(ran.code).toBe(0);
    expect(existsSync(at('replayed'))).toBe(true);
  });
});

describe('doctor', () => {
  it('looks at each thing, and says the next step where one is not well', async () => {
    // A bridge that runs on the usual port would be asked for its kit.
    const { code, stdout } = await limpid('doctor', '--data', data, '--port', '18479', '--json');
    const shape = z.object({
      checks: z.array(
        z.object({ id: z.string(), state: z.enum(['ok', 'fix', 'unknown']), text: z.string(), next: z.string() }),
      ),
      to_fix: z.number(),
    });
    const { checks, to_fix } = shape.parse(parse(stdout));
    expect(new Set(checks.map((c) => c.id))).toEqual(
      new Set(
        ['node', 'pages', 'data', 'space', 'store', 'port', 'serial'].concat([
          ...['clock', 'backup', 'user', 'key', 'settings', 'folder', 'tls-key'],
          ...['kit-broker', 'outbox', 'password', 'web'],
        ]),
      ),
    );
    for (const check of checks) expect(check.next === '').toBe(check.state === 'ok');
    expect(code).toBe(to_fix === 0 ? 0 : 1);
  });

  it('finds a store that is damaged', async () => {
    const folder = at('damaged');
    cpSync(data, folder, { recursive: true });
    const file = join(folder, 'limpid.sqlite');
    writeFileSync(existsSync(file) ? file : join(folder, 'store.sqlite'), 'no database at all, only words'.repeat(400));
    const { code, stdout } = await limpid('doctor', '--data', folder);
    expect(code).toBe(1);
    expect(stdout).toMatch(/FIX\s+.*(damaged|not a store)/);
  });
});
