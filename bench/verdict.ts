/**
 * The verdict measured against truth: the simulators' families, the bars, and the three obvious rules for scale.
 *
 *   npx tsx bench/verdict.ts [--quick] [--runs N] [--family a,b] [--seed N] [--complain] [--json FILE] [--page] [--again]
 *
 * One process for each core. Runs are made once for the simulators as they are and kept in .cache/verdict, a quarter of a megabyte each; `--quick` is
 * one run of a few families. Prints the bars in the words of their definition, by family and in all. `--page` writes
 * docs/benchmark.md, its pictures and its figures; `--again` does so from the last judging.
 */
import { type ChildProcess, fork } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import { parseArgs } from 'node:util';
import { familyNames } from '../simulators/dataset.ts';
import { type Bar, bars, holds, quantile, share } from './bars.ts';
import { folderOfRuns } from './dataset.ts';
import { type Judged, judgeNames, ours, type Task } from './judge-run.ts';
import { writePage } from './page/page.ts';
import { plainShift } from './plain-shift.ts';
import { add, emptyTally, type Tally } from './tally.ts';

const { values } = parseArgs({
  options: {
    quick: { type: 'boolean', default: false },
    runs: { type: 'string', default: '100' },
    seed: { type: 'string', default: '1' },
    family: { type: 'string' },
    complain: { type: 'boolean', default: false },
    json: { type: 'string' },
    page: { type: 'boolean', default: false },
    again: { type: 'boolean', default: false },
    folder: { type: 'string', default: '.cache/verdict' },
  },
});

const quickFamilies = ['ordinary', 'heavy', 'echo', 'hard', 'stuck', 'rinse'];
const families = values.family ? values.family.split(',') : values.quick ? quickFamilies : [...familyNames];
const runs = values.quick ? 1 : Number(values.runs);
const firstSeed = Number(values.seed);
const unknown = families.filter((family) => !familyNames.includes(family));
if (unknown.length > 0) refuse(`no family "${unknown.join('", "')}"; there is: ${familyNames.join(', ')}`);
if (!(Number.isInteger(runs) && runs > 0))
  refuse(`--runs ${values.runs}: a whole number of runs from 1 on is expected`);
if (!(Number.isInteger(firstSeed) && firstSeed > 0))
  refuse(`--seed ${values.seed}: a whole number from 1 on is expected`);
if (values.page && (values.family || values.quick || firstSeed !== 1))
  refuse('--page writes the figures of all families from seed 1 on: leave out --family, --quick and --seed');
const folder = folderOfRuns(values.folder);
const tasks: Task[] = families.flatMap((family) =>
  Array.from({ length: runs }, (_, i) => ({ folder, family, seed: firstSeed + i })),
);

function refuse(why: string): never {
  console.error(why);
  process.exit(2);
}

/** What a judging came to, kept so that the page can be written again without it. */
interface Measured {
  readonly runs: number;
  readonly day: string;
  samples: number;
  seconds: number;
  /** By judge, then by family. */
  readonly tallies: Record<string, Record<string, Tally>>;
}

const kept = `${values.folder}-tallies.json`;
if (values.again && !existsSync(kept)) refuse(`--again: there is no ${kept} yet; judge all families once without it`);
const measured: Measured = values.again ? JSON.parse(readFileSync(kept, 'utf8')) : await measure();
// The page is of all families from seed 1 on.
if (!values.again && !values.family && !values.quick && firstSeed === 1) writeFileSync(kept, JSON.stringify(measured));
const { samples, seconds } = measured;
const tallies = new Map(Object.entries(measured.tallies).map(([name, of]) => [name, new Map(Object.entries(of))]));

async function measure(): Promise<Measured> {
  const sum: Measured = { runs, day: new Date().toISOString().slice(0, 10), samples: 0, seconds: 0, tallies: {} };
  // In the order of the tasks, so that any number of cores prints the same.
  for (const judged of await judgeAll(tasks)) {
    sum.samples += judged.samples;
    sum.seconds += judged.seconds;
    if (values.complain) for (const what of judged.complaints) console.log(`  ${what}`);
    for (const [i, name] of judgeNames.entries()) {
      const of = (sum.tallies[name] ??= {});
      add((of[judged.task.family] ??= emptyTally()), judged.tallies[i] ?? emptyTally());
    }
  }
  return sum;
}

/** Every task judged, by as many processes as there are cores. */
async function judgeAll(all: readonly Task[]): Promise<Judged[]> {
  const done: Judged[] = [];
  let next = 0;
  const work = (child: ChildProcess) =>
    new Promise<void>((resolve, reject) => {
      let taken = 0;
      const give = () => {
        taken = next;
        next += 1;
        const task = all[taken];
        if (task) child.send(task);
        else child.disconnect();
      };
      child.on('message', (judged: Judged) => {
        done[taken] = judged;
        give();
      });
      child.on('exit', (code) => (code === 0 ? resolve() : reject(new Error(`a judging process ended with ${code}`))));
      give();
    });
  const cores = Math.min(os.availableParallelism(), all.length);
  await Promise.all(
    Array.from({ length: cores }, () => work(fork(new URL('judge-run.ts', import.meta.url), ['judge']))),
  );
  return done;
}

function total(of: ReadonlyMap<string, Tally>): { all: Tally; worst: { family: string; percent: number } } {
  const all = emptyTally();
  const worst = { family: '-', percent: Number.NaN };
  for (const [family, tally] of of) {
    add(all, tally);
    const percent = share(tally.wrongEcho, tally.clears);
    if (tally.clears >= 20 && !(percent <= worst.percent)) Object.assign(worst, { family, percent });
  }
  return { all, worst };
}

function row(name: string, t: Tally): string {
  const f = (x: number, digits = 1) => (Number.isFinite(x) ? x.toFixed(digits) : '-').padStart(6);
  return [
    name.padEnd(22),
    String(t.clears).padStart(5),
    f(share(t.wrongOwn, t.clears)),
    f(share(t.wrongEcho, t.clears)),
    f(t.clears / t.passes, 2),
    f(share(t.missed, t.due)),
    `(${t.due})`.padStart(6),
    f(quantile(t.delaysS, 0.5), 0),
    f(quantile(t.delaysS, 0.9), 0),
    f(share(t.lowHits, t.lowOnsets)),
    f(share(t.tailHits, t.tailOnsets)),
    f(share(t.pulseHits, t.pulses)),
    `${t.withheldRight}/${t.mustWithhold}`.padStart(7),
    f(share(t.withheldWrong, t.others)),
  ].join(' ');
}

const ourFamilies = tallies.get(ours) ?? new Map<string, Tally>();
console.log(
  [
    'of the clears shown, wrong: own %, with the echo %; clears per pass; truly clear and no clear shown % (due); first right',
    'clear after the true moment: median, p90 s; onset recall: low, on tails %; precision %; "cannot tell": deserved, others %',
    'family                clears  own%  echo% c/pass missed%  (n)   med    p90    low%  tail%  prec% refused wrong%',
  ].join('\n'),
);
for (const [family, tally] of ourFamilies) console.log(row(family, tally));
const out: Record<string, readonly Bar[]> = {};
const all = new Map<string, { tally: Tally; bars: readonly Bar[] }>();
for (const [name, of] of tallies) {
  const { all: tally, worst } = total(of);
  console.log(`\n${name}: ${tally.runs} runs, ${tally.visits} visits, ${tally.passes} passes`);
  const reached = bars(tally, worst);
  out[name] = reached;
  all.set(name, { tally, bars: reached });
  for (const bar of reached) {
    const ok = holds(bar);
    const mark = ok === null ? '    ' : ok ? 'holds' : 'MISSED';
    const limit = Number.isFinite(bar.limit) ? `(${bar.up ? 'at least' : 'at most'} ${bar.limit}, n=${bar.n})` : '';
    console.log(`  ${mark.padEnd(7)} ${bar.text.padEnd(76)} ${bar.value.toFixed(2).padStart(7)} ${limit}`);
  }
}
console.log(`\n${samples} samples in ${seconds.toFixed(2)} s: ${Math.round(samples / seconds)} a second`);
if (values.page)
  writePage('docs', {
    command: `npm run bench:verdict -- --runs ${measured.runs} --page`,
    day: measured.day,
    runsEach: measured.runs,
    firstSeed,
    plainShift: plainShift(),
    all,
    families: ourFamilies,
  });
if (values.json) {
  const machine = { cpu: os.cpus()[0]?.model, cores: os.cpus().length, node: process.version, load: os.loadavg()[0] };
  const perFamily = Object.fromEntries(
    [...ourFamilies].map(([family, t]) => [family, bars(t, { family, percent: share(t.wrongEcho, t.clears) })]),
  );
  writeFileSync(
    values.json,
    JSON.stringify(
      { machine, runs: measured.runs, firstSeed, samplesPerS: samples / seconds, bars: out, families: perFamily },
      null,
      1,
    ),
  );
}
