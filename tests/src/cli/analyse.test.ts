import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { simulateRun } from '../../../simulators/dataset.ts';
import { defaultLineSettings } from '../../../src/core/line/settings.ts';
import { exportRun } from '../../../src/recording/recording.ts';
import { openStore } from '../../../src/store/open.ts';
import { analyseAnswerSchema } from './analyse-answer.ts';
import { limpid } from './command-line.ts';

let root = '';
let recording = '';
const at = (name: string): string => join(root, name);
const put = (name: string, text: string): string => {
  writeFileSync(at(name), text);
  return at(name);
};

beforeAll(async () => {
  root = mkdtempSync(join(tmpdir(), 'limpid-analyse-'));
  recording = at('simulated');
  const made = await limpid('simulate', 'ordinary', recording, '--seed', '1');
  if (made.code !== 0) throw new Error(made.stderr);
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

const parse = (text: string): unknown => JSON.parse(text);

describe('analyse', () => {
  it('gives the fixed JSON alone on stdout', async () => {
    const { code, stdout } = await limpid('analyse', recording, '--json');
    expect(code).toBe(0);
    const result = analyseAnswerSchema.parse(parse(stdout));
    expect(result.visits.length).toBeGreaterThan(0);
    expect(stdout.trim().split('\n')).toHaveLength(1);
  });

  it('tells what flow and pressure said, in JSON and in words', async () => {
    const made = await limpid('simulate', 'leak', at('leaking'), '--seed', '1');
    expect(made.code).toBe(0);
    const { notices } = analyseAnswerSchema.parse(parse((await limpid('analyse', at('leaking'), '--json')).stdout));
    const [leak] = notices.filter((n) => n.reason.code === 'leak');
    expect(leak?.reason.figures['barPerMin']).toBeGreaterThan(0.004);
    expect((await limpid('analyse', at('leaking'))).stdout).toContain(
      `At ${Math.round(leak?.at_s ?? Number.NaN)} s: Pressure fell`,
    );
  });

  it('takes hindsight', async () => {
    expect((await limpid('analyse', recording, '--hindsight', '--json')).code).toBe(0);
  });

  it('says what it judged by, and from that the same comes out again', async () => {
    const said = (await limpid('analyse', recording, '--json', '--settings', put('few.json', '{"clearNtu":0.2}')))
      .stdout;
    const { settings, visits } = analyseAnswerSchema.parse(parse(said));
    expect(settings).toEqual({ ...defaultLineSettings, clearNtu: 0.2 });
    expect(visits).not.toEqual(
      analyseAnswerSchema.parse(parse((await limpid('analyse', recording, '--json')).stdout)).visits,
    );
    const all = put('all.json', JSON.stringify(settings));
    expect((await limpid('analyse', recording, '--json', '--settings', all)).stdout).toBe(said);
  });

  it('judges a run by the settings that its record keeps, and names those it does not know', async () => {
    const { context, samples, events } = simulateRun('clean', 1);
    const kept = { ...defaultLineSettings, clearNtu: 0.2, seeingHours: 3, restShare: 7 };
    const store = openStore(at('kept'));
    const begun = { runId: 'kept', title: '', simulated: true, startedAt: '2026-01-02T03:04:05Z', context };
    // What a later version adds to a head is kept, for the chain covers it.
    const head = { ...begun, settings: kept, later: 1 };
    const run = store.createRun(head);
    for (const [i, event] of events.entries()) run.appendEvent({ id: `e${i}`, event, who: 'loopback', wallAt: '' });
    for (const sample of samples) run.appendSample(sample);
    run.flush();
    exportRun(run, at('kept-out'));
    store.close();
    expect((await limpid('verify', at('kept-out'))).code).toBe(0);
    expect(readFileSync(at('kept-out/chain.jsonl'), 'utf8')).toContain('"later":1');
    const { stdout, stderr } = await limpid('analyse', at('kept-out'), '--json');
    expect(analyseAnswerSchema.parse(parse(stdout)).settings).toEqual({ ...defaultLineSettings, clearNtu: 0.2 });
    expect(stderr).toContain('restShare');
    expect(stderr).toContain('seeingHours');
  });
});
