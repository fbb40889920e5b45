import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { limpid } from './command-line.ts';

let root = '';
const at = (...names: readonly string[]): string => join(root, ...names);

beforeAll(async () => {
  root = mkdtempSync(join(tmpdir(), 'limpid-audit-'));
  mkdirSync(at('many'));
  for (const [name, seed] of [
    ['one', '3'],
    ['two', '5'],
  ] as const) {
    const made = await limpid('simulate', 'emptied', at('many', name), '--seed', seed);
    if (made.code !== 0) throw new Error(made.stderr);
  }
  // An export of a kept run carries its chain.
  const kept = await limpid('import', at('many', 'one'), '--data', at('data'));
  const out = await limpid('export', 'simulated-emptied-3', at('chained'), '--data', at('data'));
  if (kept.code + out.code !== 0) throw new Error(kept.stderr + out.stderr);
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

const auditSchema = z.strictObject({
  v: z.literal(1),
  run: z.string(),
  counts: z.strictObject({ serious: z.number(), warning: z.number(), note: z.number() }),
  findings: z.array(
    z.strictObject({
      id: z.string(),
      key: z.string(),
      severity: z.enum(['serious', 'warning', 'note']),
      title: z.string(),
      text: z.string(),
      why: z.string(),
      source: z.string(),
      spans: z.array(z.tuple([z.number(), z.number()])),
      figures: z.record(z.string(), z.number()),
      emitter: z.string(),
      stage: z.string(),
    }),
  ),
  notApplicable: z.array(z.strictObject({ id: z.string(), title: z.string(), because: z.string() })),
  rules: z.array(z.strictObject({ id: z.string(), severity: z.string(), limits: z.record(z.string(), z.number()) })),
  figures: z.record(z.string(), z.number().nullable()),
});
const read = (stdout: string) => auditSchema.parse(JSON.parse(stdout));

describe('limpid audit', () => {
  it('tells what an auditor should look at, in words and as fixed JSON', async () => {
    const json = await limpid('audit', at('many', 'one'), '--json');
    expect(json.code).toBe(0);
    const { counts, findings, run } = read(json.stdout);
    expect(run).toBe('simulated-emptied-3');
    expect(counts.serious + counts.warning + counts.note).toBe(findings.length);
    const words = await limpid('audit', at('many', 'one'));
    expect(words.code).toBe(0);
    for (const f of findings) expect(words.stdout).toContain(f.text);
    expect(words.stdout).toContain('Not to be judged here:');
  });

  it('takes a run of the store, too', async () => {
    const { code, stdout } = await limpid('audit', 'simulated-emptied-3', '--data', at('data'), '--json');
    expect(code).toBe(0);
    const ofRecording = read((await limpid('audit', at('chained'), '--json')).stdout);
    expect(read(stdout)).toEqual(ofRecording);
  });

  it('and limpid analyse carry the same findings', async () => {
    const audited = read((await limpid('audit', at('many', 'two'), '--json')).stdout).findings;
    const { stdout } = await limpid('analyse', at('many', 'two'), '--json');
    const { findings } = z.looseObject({ findings: z.array(z.unknown()) }).parse(JSON.parse(stdout));
    expect(findings).toEqual(
      audited.map(({ id, severity, title, spans, figures }) => ({ id, severity, title, spans, figures })),
    );
    expect(findings.length).toBeGreaterThan(0);
  });

  it('goes by the rules of the firm', async () => {
    const file = at('rules.json');
    const own = { id: 'short-run', title: 'Short', severity: 'note', figure: 'durationMin', op: '<', value: 1000 };
    writeFileSync(file, JSON.stringify({ rules: { 'never-visited': { on: false } }, own: [own] }));
    const { findings, rules } = read((await limpid('audit', at('many', 'one'), '--rules', file, '--json')).stdout);
    expect(findings.map((f) => f.id)).toContain('short-run');
    expect(rules.map((r) => r.id)).not.toContain('never-visited');
  });

  it('audits a changed recording by what it says now, and says first that it was changed', async () => {
    const folder = at('changed');
    cpSync(at('chained'), folder, { recursive: true });
    const events = join(folder, 'events.csv');
    writeFileSync(events, readFileSync(events, 'utf8').replace(/^(.*agitate-end.*)\n/m, ''));
    expect(read((await limpid('audit', at('chained'), '--json')).stdout).findings.map((f) => f.id)).not.toContain(
      'record-broken',
    );
    const { code, stdout } = await limpid('audit', folder, '--json');
    expect(code).toBe(0);
    expect(read(stdout).findings[0]).toMatchObject({ id: 'record-broken', severity: 'serious' });
    expect(read(stdout).findings[0]?.text).toContain('events.csv');
  });

  it.each([
    [['nowhere', '--data', 'no-data'], 1, 'neither a run of the store nor a folder'],
    [['many/one', '--rules', 'no-rules.json'], 2, 'no-rules.json (--rules)'],
    [['many', '--across', '--by', 'size'], 2, '--by is one of month, engineer, rig, emitter-type; got "size"'],
    [['nowhere', '--across'], 1, 'There is no folder'],
    [['many/one', '--across'], 1, 'holds no recording that can be read'],
  ])('refuses %j with exit code %i', async (args, code, says) => {
    const [folder = '', ...rest] = args;
    const refused = await limpid('audit', at(folder), ...rest);
    expect([refused.code, refused.stdout]).toEqual([code, '']);
    expect(refused.stderr).toContain(says);
  });

  it('refuses a rules file that does not fit, with the place', async () => {
    const file = at('wrong.json');
    writeFileSync(file, '{"rules":{"data-gap":{"thresholds":{"gapS":0}}}}');
    const { code, stderr } = await limpid('audit', at('many', 'one'), '--rules', file);
    expect(code).toBe(2);
    expect(stderr).toContain('rules.data-gap.thresholds.gapS: 0 is outside 10 to 3600 s');
  });

  it('sets the recordings of a folder side by side, and passes over those that cannot be read', async () => {
    mkdirSync(at('many', 'torn'));
    writeFileSync(at('many', 'torn', 'recording.csv'), 'time_s,turbidity_ntu\n0,x\n');
    const { code, stdout, stderr } = await limpid('audit', at('many'), '--across', '--by', 'rig', '--json');
    expect(code).toBe(0);
    const found = z
      .looseObject({
        across: z.looseObject({
          by: z.string(),
          runs: z.number(),
          groups: z.array(z.looseObject({ visits: z.number() })),
        }),
        drifts: z.array(z.unknown()),
        runs: z.array(z.looseObject({ runId: z.string() })),
        refused: z.array(z.strictObject({ folder: z.string(), code: z.string(), text: z.string() })),
      })
      .parse(JSON.parse(stdout));
    expect(found.runs.map((r) => r.runId)).toEqual(['simulated-emptied-3', 'simulated-emptied-5']);
    expect([found.across.by, found.across.runs]).toEqual(['rig', 2]);
    expect(found.refused.map((r) => r.folder)).toEqual(['torn']);
    expect(stderr).toContain('3 of 3: two');
  });
});
