import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { bars } from '../../bench/bars.ts';
import { writePage } from '../../bench/page/page.ts';
import { emptyTally, type Tally } from '../../bench/tally.ts';

const folder = mkdtempSync(join(tmpdir(), 'limpid-page-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A tally in which no two figures of the table are alike. */
const tally: Tally = {
  ...emptyTally(),
  runs: 3,
  passes: 50,
  clears: 40,
  wrongOwn: 4,
  wrongEcho: 8,
  due: 20,
  missed: 6,
  delaysS: [11, 22, 99],
  delaysTransits: [0.1, 0.2, 0.3],
  lowOnsets: 100,
  lowHits: 97,
  tailOnsets: 100,
  tailHits: 86,
  pulses: 100,
  pulseHits: 93,
  mustWithhold: 5,
  withheldRight: 4,
};

describe('the benchmark page', () => {
  it('puts under each head of its table by kind of run what the head says', () => {
    writePage(folder, {
      command: 'a command',
      day: '2020-01-01',
      runsEach: 3,
      firstSeed: 1,
      plainShift: [
        { detector: 'd', wantedArl: 1000, measuredArl: 990, delays: [{ shift: 1, delay: 12, least: 10, ratio: 1.2 }] },
      ],
      all: new Map([['limpid', { tally, bars: bars(tally, { family: 'hard', percent: 20 }) }]]),
      families: new Map([['hard', tally]]),
    });
    const lines = readFileSync(join(folder, 'benchmark.md'), 'utf8').split('\n');
    const cells = (start: string) =>
      (lines.find((line) => line.startsWith(start)) ?? '')
        .split('|')
        .slice(1, -1)
        .map((cell) => cell.trim());
    const heads = cells('| kind |');
    const row = Object.fromEntries(cells('| hard |').map((cell, i) => [heads[i], cell]));
    expect(row).toEqual({
      kind: 'hard',
      runs: '3',
      'clears shown': '40',
      'wrong, own %': '10.0',
      'wrong, with echo %': '20.0',
      'clears per pass': '0.80',
      'no clear though due %': '30.0',
      'delay median s': '22.0',
      'delay p90 s': '99.0',
      'onset recall, low %': '97.0',
      'onset recall, on tails %': '86.0',
      'onset precision %': '93.0',
      'right "cannot tell"': '4 of 5',
    });
  });
});
