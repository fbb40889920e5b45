import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { certificateSchema } from '../../../firmware-bridge/calibration/certificate.ts';
import { gather } from '../../../src/cli/kit-calibrate.ts';
import { quietLink } from '../run/quiet-link.ts';
import { SteppedClock } from '../run/stepped-clock.ts';
import { limpid, type Ran } from './command-line.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
let data = '';
beforeEach(() => {
  data = mkdtempSync(join(tmpdir(), 'limpid-calibrate-'));
});
afterEach(() => rmSync(data, { recursive: true, force: true }));

const calibrate = (channel: string, ...more: string[]): Promise<Ran> =>
  limpid('kit', 'calibrate', channel, '--data', data, '--kit', kit, '--who', 'B', ...more);
const standards = (...texts: string[]): string[] => texts.flatMap((text) => ['--standard', text]);
const pair = standards('value=0.2,u=0.1,raw=0.62,kit=120', 'value=100,u=3,raw=0.745,kit=245');
const bucket = (text: string): string[] => ['--bucket', text];

describe('a calibration typed in', () => {
  it.each<[string, string, string[], string]>([
    [
      'mixed-up standards',
      'turbidity',
      standards('value=0.2,u=0.1,raw=0.60,kit=100', 'value=100,u=3,raw=0.50,kit=0.2'),
      'Were the two mixed up?',
    ],
    ['water beyond boiling', 'flow', bucket('mass=10,water=180,litres=10,lpm=9'), 'from 0 to 100 °C'],
    ['a negative uncertainty of the scale', 'flow', bucket('mass=10,u=-1,litres=10'), 'from 0 to the mass'],
    ['no mass', 'flow', bucket('mass=0,litres=10'), 'A bucket with 0 kg'],
    ['a kit that cannot be', 'turbidity', [...pair, '--kit', 'foo'], 'No kit can have the name "foo"'],
    ['a date of no calendar', 'turbidity', [...pair, '--due', '2099-02-31'], 'There is no date "2099-02-31"'],
    ['a date in words', 'turbidity', [...pair, '--due', 'next year'], 'There is no date'],
    ['water under 0 NTU', 'turbidity', standards('value=-1,u=0.1,raw=0.6', 'value=9,raw=1'), 'goes from 0 to'],
    [
      'more uncertainty than value',
      'turbidity',
      standards('value=9,u=10,raw=0.6', 'value=0,raw=0'),
      'it can be 9 at most',
    ],
    ['a negative scatter', 'turbidity', standards('value=0,raw=0.6,sd=-1', 'value=9,raw=1'), 'both are 0 or more'],
    ['a name of a page', 'turbidity', [...pair, '--who', 'B'.repeat(200)], 'makes no certificate. who:'],
  ])('is refused in words for %s, and nothing is kept', async (_name, channel, given, why) => {
    const ran = await calibrate(channel, ...given);
    expect([ran.code, ran.stderr]).toEqual([1, expect.stringContaining(why)]);
    expect(ran.stderr).not.toMatch(/RangeError|ZodError|\n\s+at /);
    expect((await limpid('kit', 'certificates', '--data', data)).stdout).not.toContain('made 20');
  });

  it('invents no flow for a bucket', async () => {
    const ran = await calibrate('flow', ...bucket('mass=10,litres=10'));
    expect([ran.code, ran.stderr]).toEqual([2, expect.stringContaining('(lpm=..)')]);
    const kept = await calibrate('flow', ...bucket('mass=10,litres=10,lpm=8'), '--json');
    expect(certificateSchema.parse(JSON.parse(kept.stdout)).standards).toMatchObject([{ raw: 8 }]);
  });

  it('says that the limit of detection is not known, where noise or step is not', async () => {
    const without = await calibrate('turbidity', ...pair);
    expect(without.stdout).toContain('noise in the lowest standard not known, step not known');
    expect(without.stdout).toContain('limit of detection 3 x noise + step: not known');
    const noise = standards('value=0.2,u=0.1,raw=0.62,sd=0.001', 'value=100,u=3,raw=0.745');
    const withNoise = await calibrate('turbidity', ...noise);
    expect(withNoise.stdout).toMatch(/noise in the lowest standard 0\.\d+ NTU, step not known; .*: not known/);
  });
});

/** Answers in turn; what was asked and said beside. */
function at(answers: string[], channel: string) {
  const clock = new SteppedClock();
  const link = quietLink(clock);
  const said: string[] = [];
  let seq = 0;
  const run = (seconds: number): void => {
    for (let i = 0; i < seconds * 10; i++) {
      seq += 1;
      const values = { flowLpm: 10, supplyC: 0.1 + 0.0625 * (seq % 2) };
      const pack = { kit, boot: 1, seq, upS: seq / 10, late: false, pass: false, values, raw: {}, rejects: [] };
      const hello = { firmware: '1', rateHz: 10, channels: {} };
      link.watch.take({ ok: true, pack: { ...pack, hello, refused: null } }, clock.nowS());
      clock.run(0.1);
    }
  };
  run(1);
  const prompt = {
    ask: (question: string, usual?: string): Promise<string> => {
      said.push(question);
      if (question.startsWith('Filling')) run(60);
      const answer = answers.shift();
      if (answer === undefined) throw new Error(`nobody answers "${question}"`);
      return Promise.resolve(answer === '' ? (usual ?? '') : answer);
    },
    close: () => undefined,
  };
  const say = (line: string): void => {
    said.push(line);
    if (line.startsWith('Measuring')) setTimeout(() => run(12));
  };
  return { said, bench: { link, kit, channel, seconds: 10, prompt, say } };
}

describe('a calibration by questions', () => {
  it('takes a comma everywhere, and asks again at once for what is no figure or cannot be', async () => {
    const { said, bench } = at(['0,0', 'x', '-1', '0,05', 'ice', ''], 't-supply');
    const { standards: read } = await gather(bench, [], []);
    expect(read).toMatchObject([{ value: 0, u: 0.05, what: 'ice', input: 'kit' }]);
    expect(said.filter((s) => /no number|0 or more/.test(s))).toHaveLength(2);
  });

  it('does the same for buckets, and "yes" is another one', async () => {
    const first = ['', '', '', '10,02', '0,01', '180', '18,5'];
    const { said, bench } = at([...first, 'Yes', '', '', '10', '', '', 'n'], 'flow');
    const { buckets } = await gather(bench, [], []);
    expect(buckets).toMatchObject([
      { massKg: 10.02, uMassKg: 0.01, waterC: 18.5, kitLpm: expect.closeTo(10, 6) },
      { massKg: 10, uMassKg: 0.02, waterC: 15 },
    ]);
    expect(said).toContain('"" is no number.');
    expect(said.some((s) => s.includes('Water of 180 °C'))).toBe(true);
  });
});
