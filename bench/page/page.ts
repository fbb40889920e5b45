import { mkdirSync, writeFileSync } from 'node:fs';
import { type Bar, type BarKey, bars, holds, quantile, share } from '../bars.ts';
import type { PlainShift } from '../plain-shift.ts';
import type { Tally } from '../tally.ts';
import { delayPicture, familiesPicture } from './pictures.ts';

/** Everything that the page is made of. */
export interface Measured {
  readonly command: string;
  readonly day: string;
  readonly runsEach: number;
  readonly firstSeed: number;
  readonly plainShift: readonly PlainShift[];
  readonly all: ReadonlyMap<string, { readonly tally: Tally; readonly bars: readonly Bar[] }>;
  readonly families: ReadonlyMap<string, Tally>;
}

const ours = 'limpid';

/** Columns of the table by kind of run. */
const byKind: readonly (readonly [BarKey, string])[] = [
  ['own', 'wrong, own %'],
  ['echo', 'wrong, with echo %'],
  ['clearsPerPass', 'clears per pass'],
  ['missed', 'no clear though due %'],
  ['delayMedian', 'delay median s'],
  ['delayP90', 'delay p90 s'],
  ['recallLow', 'onset recall, low %'],
  ['recallTail', 'onset recall, on tails %'],
  ['precision', 'onset precision %'],
];

/** Percent, or null where nothing was counted. */
function percent(part: number, whole: number): number | null {
  return whole > 0 ? share(part, whole) : null;
}

function figure(value: number): string {
  if (!Number.isFinite(value)) return '–';
  return Math.abs(value) >= 100 ? value.toFixed(0) : value.toFixed(value !== 0 && Math.abs(value) < 3 ? 2 : 1);
}

/** `docs/benchmark.md`, its pictures and its figures as JSON, under `folder`. */
export function writePage(folder: string, measured: Measured): void {
  mkdirSync(`${folder}/pictures`, { recursive: true });
  const families = [...measured.families].map(([name, t]) => ({
    name,
    clears: t.clears,
    own: percent(t.wrongOwn, t.clears),
    withEcho: percent(t.wrongEcho, t.clears),
  }));
  const curves = [...measured.all].map(([name, { tally }]) => ({
    name: name === ours ? 'Limpid' : name,
    isOurs: name === ours,
    delaysS: tally.delaysS,
    due: tally.due,
  }));
  writeFileSync(`${folder}/pictures/benchmark-families.svg`, familiesPicture(families, 12));
  writeFileSync(`${folder}/pictures/benchmark-delay.svg`, delayPicture(curves));
  writeFileSync(`${folder}/benchmark.md`, text(measured));
  writeFileSync(`${folder}/benchmark.json`, `${compact(figures(measured))}\n`);
}

/** JSON with one line for each judge's bar and each family. */
function compact(value: object): string {
  return JSON.stringify(value, null, 1)
    .replaceAll(/\n {3,}/g, ' ')
    .replaceAll(/\n {2}([\]}])/g, ' $1');
}

function figures(m: Measured): object {
  const round = (b: Bar) => ({ ...b, value: Number.isFinite(b.value) ? Number(b.value.toFixed(3)) : null });
  return {
    command: m.command,
    day: m.day,
    runsEach: m.runsEach,
    firstSeed: m.firstSeed,
    judges: Object.fromEntries([...m.all].map(([name, j]) => [name, j.bars.map(round)])),
    plainShift: m.plainShift,
    // In the order of the bars above.
    families: Object.fromEntries(
      [...m.families].map(([name, t]) => [
        name,
        bars(t, { family: name, percent: share(t.wrongEcho, t.clears) }).map((b) => round(b).value),
      ]),
    ),
  };
}

function text(m: Measured): string {
  const judges = [...m.all.keys()];
  const mine = m.all.get(ours);
  const rows = (mine?.bars ?? []).map((bar, i) => {
    const cells = judges.map((name) => figure(m.all.get(name)?.bars[i]?.value ?? Number.NaN));
    const ok = holds(bar);
    const limit = Number.isFinite(bar.limit) ? `${bar.up ? 'at least' : 'at most'} ${bar.limit}` : '';
    return `| ${bar.text} | ${cells.join(' | ')} | ${limit} | ${ok === null ? '' : ok ? 'holds' : '**missed**'} |`;
  });
  const per = [...m.families].map(([name, t]) => {
    const all = new Map(bars(t, { family: name, percent: Number.NaN }).map((bar) => [bar.key, bar.value]));
    return `| ${name} | ${t.runs} | ${t.clears} | ${byKind.map(([key]) => figure(all.get(key) ?? Number.NaN)).join(' | ')} | ${t.withheldRight} of ${t.mustWithhold} |`;
  });
  const t = mine?.tally;
  return `# The benchmark

Written by \`${m.command}\` on ${m.day}: ${m.families.size} kinds of run of the simulators (most of them made to be hard),
${m.runsEach} seeded runs of each from seed ${m.firstSeed} on; ${t?.runs ?? 0} runs, ${t?.visits ?? 0} visits, ${t?.passes ?? 0} passes. The same figures as data:
[benchmark.json](benchmark.json). What is true of a run is read off the noise-free water: [simulator.md](simulator.md).

| | ${judges.map((name) => (name === ours ? 'Limpid' : name)).join(' | ')} | bar | |
|---|${judges.map(() => '---|').join('')}---|---|
${rows.join('\n')}

![How soon a right clear is shown](pictures/benchmark-delay.svg)

![Wrong clears by family](pictures/benchmark-families.svg)

## How it is judged

Every clear shown counts, not only the last of a visit. It is judged at the moment at which it is first shown, with a second
of slack, by the water of the stretch that the engineer is in as far as anybody could know: a pass that nobody told of is
known of once its water has lifted the reading by three times the noise and one step. A clear said while a known pass is under
way is wrong, and so is one said over 5 s into a blindness (stuck: 30 readings more). **Own release**: fresh dirt alone;
**with the echo counted**: the echo as well. A visit is due a clear when it had one and was left open for the greater of 45 s
and one transit in which the sensor could see; delays count seeing seconds. Fronts to be found are those that the water
truly showed; a pulse dated where the water got dirtier for another reason (an echo, an earlier visit's) is neither right nor
wrong. The obvious rules wait for the survey's litres of the path, and know nothing else.

## What flow and pressure tell

Troubles on site that the noise-free water shows plainly: a leak of at least 0.3 bar an hour with twenty minutes left in the
closed circuit, a filling loop that gives at least 1.2 bar an hour for two minutes, an untold stop, a flow that falls by 15 %
or rises by a tenth for forty seconds. Named: a notice with the right name while it lasts, or within half a minute.
In ${t?.runs ?? 0} runs ${t?.falseNotices.length ?? 0} such notices came with nothing the matter${codesOf(t?.falseNotices ?? [])}.

| trouble | had to be named | named % | after, median s | after, p90 s |
|---|---|---|---|---|
${namedRows(t?.troubles ?? []).join('\n')}

## The plain shift

The bare detectors (\`src/core/changepoint\`) on a Gaussian mean that rises by so many standard deviations, one-sided, after 500
reference samples: mean delay in samples, and over the least that any detector with as few false alarms could have (in
brackets; asked of the chosen one: at most 1.5).

| detector | samples between false alarms: asked, measured | ${(m.plainShift[0]?.delays ?? []).map((d) => `shift ${d.shift}`).join(' | ')} |
|---|---|${(m.plainShift[0]?.delays ?? []).map(() => '---|').join('')}
${m.plainShift.map((p) => `| ${p.detector} | ${p.wantedArl}, ${p.measuredArl.toFixed(0)} | ${p.delays.map((d) => `${d.delay.toFixed(1)} (${d.ratio.toFixed(2)})`).join(' | ')} |`).join('\n')}

## By kind of run

| kind | runs | clears shown | ${byKind.map(([, head]) => head).join(' | ')} | right "cannot tell" |
|---|---|---|${byKind.map(() => '---|').join('')}---|
${per.join('\n')}
`;
}

function namedRows(troubles: Tally['troubles']): string[] {
  const kinds = [...new Set(troubles.map((s) => s.kind))].sort();
  return kinds.map((kind) => {
    const of = troubles.filter((s) => s.kind === kind);
    const named = of.flatMap((s) => s.afterS ?? []);
    const after = [0.5, 0.9].map((p) => figure(quantile(named, p)));
    return `| ${kind} | ${of.length} | ${figure(share(named.length, of.length))} | ${after.join(' | ')} |`;
  });
}

/** ": so many of this, so many of that", or nothing. */
function codesOf(codes: readonly string[]): string {
  const each = [...new Set(codes)].sort().map((code) => `${codes.filter((c) => c === code).length} ${code}`);
  return each.length > 0 ? `: ${each.join(', ')}` : '';
}
