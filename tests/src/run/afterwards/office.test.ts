import { mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { unzipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { z } from 'zod';
import { acrossSchema, sideBySideSchema } from '../../../../src/core/audit/across-schema.ts';
import {
  againSchema,
  drawnSpanSchema,
  exportJobSchema,
  lotSchema,
  madeShareSchema,
  runListSchema,
  runPageSchema,
  sealViewSchema,
  takenInSchema,
} from '../../../../src/core/audit/page-schema.ts';
import { sealedFolder } from '../../../../src/recording/sealed.ts';
import { rotateKey } from '../../../../src/recording/signing-key.ts';
import { refusalSchema } from '../../../../src/server/protocol.ts';
import { type OfficeWorld, officeWorld } from '../../../browser/office-world.ts';
import { asking } from './asking.ts';

/** Three runs: sealed, sealed and touched afterwards, not sealed. */
let world: OfficeWorld;
const [sealed, touched, open] = ['run-20260104-0001', 'run-20260205-0002', 'run-20260306-0003'];
const home = mkdtempSync(join(tmpdir(), 'limpid-office-test-'));

beforeAll(async () => {
  world = await officeWorld({ runs: 3 });
  await world.audit.lookAtAll();
});
afterAll(async () => {
  await world.stop();
  rmSync(home, { recursive: true, force: true });
});

const { ask, get, send } = asking(() => world);

describe('the list', () => {
  it('says where, when, who, rig, open findings and the state of the seal', async () => {
    const { rows, total, waiting } = await get(runListSchema, '/api/runs?order=asc');
    expect([total, waiting]).toEqual([3, 0]);
    expect(rows.map((r) => [r.runId, r.seal])).toEqual([
      [sealed, 'intact'],
      [touched, 'changed'],
      [open, 'unsigned'],
    ]);
    expect(rows[0]).toMatchObject({ site: '7 Example Row, Sampleton', engineer: 'A. Engineer', stale: false });
    expect(rows[0]?.rig).toMatch(/^urn:dev:mac:/);
    expect(rows[0]?.openFindings).toBeGreaterThan(0);
  });

  it('finds by word and refuses what it does not know', async () => {
    expect((await get(runListSchema, '/api/runs?search=mill+house')).rows.map((r) => r.runId)).toEqual([open]);
    expect((await get(runListSchema, '/api/runs?seal=changed')).total).toBe(1);
    for (const bad of [
      'sort=nonsense',
      'count=100000',
      'from=-1',
      'since=yesterday',
      'since=2026-13-45',
      'before=2026-02-30',
      'seal=maybe',
    ])
      expect((await ask(`/api/runs?${bad}`)).status).toBe(400);
  });

  it('takes the run of the bridge for one under way until its record is sealed, and looks at it from then on', async () => {
    const underWay = async () =>
      (await get(runListSchema, '/api/runs')).rows.filter((r) => r.underWay).map((r) => r.runId);
    world.store.setCurrentRun(open);
    expect(await underWay()).toEqual([open]);
    world.store.setCurrentRun(sealed);
    expect(await underWay()).toEqual([]);
    world.store.index.rulesAre('other rules');
    await vi.waitUntil(async () => (await get(runListSchema, '/api/runs')).waiting === 0, { timeout: 60_000 });
  }, 90_000);

  it('draws the same runs by the same lot', async () => {
    const first = await get(lotSchema, '/api/runs/by-lot?count=2');
    expect(first.of).toBe(3);
    expect(await get(lotSchema, `/api/runs/by-lot?count=2&seed=${first.seed}`)).toEqual(first);
  });
});

describe('one run', () => {
  it('comes with stages, visits, findings with evidence, tests and plan', async () => {
    const { looked, channels, toS } = await get(runPageSchema, `/api/runs/${sealed}`);
    if (looked === null) throw new Error('not looked at');
    expect(looked.stages.map((s) => s.stage)).toEqual(expect.arrayContaining(['survey', 'emitters', 'rinse']));
    expect(looked.visits.length).toBeGreaterThan(0);
    for (const visit of looked.visits) expect(visit.mini.timeS.length).toBe(visit.mini.ntu.length);
    expect(looked.findings.length).toBeGreaterThan(0);
    for (const [fromS, endS] of looked.findings.flatMap((f) => f.spans)) {
      expect(fromS).toBeLessThanOrEqual(endS);
      expect(endS).toBeLessThanOrEqual(toS + 1);
    }
    expect(looked.plan.length).toBeGreaterThan(3);
    expect(looked.tests.length).toBeGreaterThan(2);
    expect(channels).toContain('turbidityNtu');
  });

  it('gives its trace decimated, with the very smallest and largest of the run', async () => {
    const drawn = await get(drawnSpanSchema, `/api/runs/${sealed}/trace?buckets=100&channels=turbidityNtu`);
    const all = [...(world.store.openRun(sealed)?.samples() ?? [])].flatMap((s) => s.turbidityNtu ?? []);
    const shown = (drawn.values['turbidityNtu'] ?? []).flatMap((y) => y ?? []);
    expect(shown.length).toBeLessThan(all.length / 4);
    expect(Math.max(...shown)).toBe(Math.max(...all));
    expect(Math.min(...shown)).toBe(Math.min(...all));
    expect(Object.keys(drawn.values)).toEqual(['turbidityNtu']);
  });

  it('is judged again without touching the record', async () => {
    const before = world.store.openRun(sealed)?.events();
    const same = await send(againSchema, `/api/runs/${sealed}/again`, {});
    expect(same.visits.every((v) => !v.differs)).toBe(true);
    const strict = await send(againSchema, `/api/runs/${sealed}/again`, {
      settings: { clearNtu: 0.01, clearShare: 0.0001 },
    });
    expect(strict.visits.some((v) => v.differs)).toBe(true);
    expect(strict.visits.map((v) => v.original)).toEqual(same.visits.map((v) => v.original));
    expect(world.store.openRun(sealed)?.events()).toEqual(before);
    const bad = await ask(`/api/runs/${sealed}/again`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ settings: { nonsense: 1 } }),
    });
    expect(bad.status).toBe(400);
    expect(refusalSchema.parse(await bad.json()).text).toContain('nonsense');
  });

  it('that is not here is refused with a plain sentence', async () => {
    for (const path of ['/api/runs/none', '/api/runs/none/trace', '/api/runs/..%2f..%2fetc/files/run.json']) {
      const answer = await ask(path);
      expect(answer.status).toBe(404);
      expect(refusalSchema.parse(await answer.json()).code).toBe('office-no-run');
    }
  });
});

describe('the seal in use', () => {
  it('names the file and the line that was changed, and knows the key after it was rotated', async () => {
    const changed = await get(sealViewSchema, `/api/runs/${touched}/seal`);
    expect(changed.state).toBe('changed');
    expect(changed.faults.join(' ')).toMatch(/events\.csv, line \d+/);
    const { looked } = await get(runPageSchema, `/api/runs/${touched}`);
    expect(looked?.findings[0]).toMatchObject({ id: 'record-broken', severity: 'serious' });
    expect(looked?.findings[0]?.text).toMatch(/events\.csv, line \d+/);
    const page = await (await ask(`/api/runs/${touched}/files/report.html`)).text();
    expect(page.includes('The seal does not fit this record')).toBe(true);
    const before = await get(sealViewSchema, `/api/runs/${sealed}/seal`);
    expect(before).toMatchObject({ state: 'intact', keyName: 'this bridge' });
    rotateKey(world.data);
    expect(await get(sealViewSchema, `/api/runs/${sealed}/seal`)).toMatchObject({
      state: 'intact',
      keyName: 'this bridge',
    });
    writeFileSync(join(world.data, 'known-keys.txt'), `${before.fingerprint} rig seven\n`);
    expect((await get(sealViewSchema, `/api/runs/${sealed}/seal`)).keyName).toBe('rig seven');
  });

  it('that was taken away is missed: the record itself says who sealed it', async () => {
    const path = join(sealedFolder(world.data, sealed), 'seal.json');
    const bytes = readFileSync(path);
    rmSync(path);
    const gone = await get(sealViewSchema, `/api/runs/${sealed}/seal`);
    const ids = async () => (await get(runPageSchema, `/api/runs/${sealed}`)).looked?.findings.map((f) => f.id);
    await expect.poll(ids, { timeout: 60_000 }).toContain('not-sealed');
    writeFileSync(path, bytes);
    expect(gone.state).toBe('changed');
    expect(gone.faults.join(' ')).toMatch(/A\. Engineer sealed this record on .* UTC with the key .* The seal is gone/);
    const folder = sealedFolder(world.data, sealed);
    renameSync(folder, `${folder}.away`);
    const taken = await get(sealViewSchema, `/api/runs/${sealed}/seal`);
    const listed = (await get(runListSchema, '/api/runs?seal=missing')).rows.map((r) => [r.runId, r.seal]);
    renameSync(`${folder}.away`, folder);
    expect(taken.state).toBe('missing');
    expect(taken.faults.join(' ')).toMatch(/A\. Engineer sealed this record on .* UTC with the key/);
    expect(listed).toEqual([[sealed, 'missing']]);
    expect(await get(sealViewSchema, `/api/runs/${open}/seal`)).toMatchObject({ state: 'unsigned', faults: [] });
    expect(await get(sealViewSchema, `/api/runs/${sealed}/seal`)).toMatchObject({ state: 'intact', faults: [] });
  });
});

describe('files', () => {
  it.each([
    ['recording.csv', /^time_s,turbidity_ntu/],
    ['events.csv', /^time_s,event,emitter,note/],
    ['visits.csv', /^emitter,name,visit/],
    ['findings.csv', /^severity,id,title/],
    ['report.html', /^<!doctype html>/],
    ['chart.svg', /^<svg /],
    ['run.json', /^\{/],
    ['report.pdf', /^%PDF-/],
  ])('%s', async (file, begins) => {
    const answer = await ask(`/api/runs/${open}/files/${file}`);
    expect(answer.status).toBe(200);
    expect(answer.headers.get('content-disposition')).toMatch(/^attachment; filename="[\w.-]+"$/);
    expect(await answer.text()).toMatch(begins);
  });

  it('of which there is none are refused', async () => {
    expect((await ask(`/api/runs/${open}/files/passwd`)).status).toBe(404);
  });

  it('the zip holds the signed files byte for byte, and a broken download goes on', async () => {
    const path = `/api/runs/${sealed}/files/recording.zip`;
    const zip = new Uint8Array(await (await ask(path)).arrayBuffer());
    const files = unzipSync(zip);
    const seal = Object.entries(files).find(([name]) => name.endsWith('/seal.json'))?.[1];
    expect(Buffer.from(seal ?? [])).toEqual(readFileSync(join(sealedFolder(world.data, sealed), 'seal.json')));
    const rest = await ask(path, { headers: { range: 'bytes=1000-' } });
    expect(rest.status).toBe(206);
    expect(rest.headers.get('content-range')).toBe(`bytes 1000-${zip.length - 1}/${zip.length}`);
    expect(Buffer.from(await rest.arrayBuffer())).toEqual(Buffer.from(zip.subarray(1000)));
  });

  it('many runs leave as one archive, and say how far they are', async () => {
    const begun = await send(exportJobSchema, '/api/exports', { runs: [sealed, open, 'none'] });
    expect(begun).toMatchObject({ total: 3 });
    await expect
      .poll(async () => (await get(exportJobSchema, `/api/exports/${begun.id}`)).state, { timeout: 60_000 })
      .toBe('ready');
    const { refused, done } = await get(exportJobSchema, `/api/exports/${begun.id}`);
    expect([done, refused.map((r) => r.runId)]).toEqual([3, ['none']]);
    const all = unzipSync(new Uint8Array(await (await ask(`/api/exports/${begun.id}/runs.zip`)).arrayBuffer()));
    expect(Object.keys(all).sort()).toEqual([`${sealed}.zip`, `${open}.zip`]);
    expect(Object.keys(unzipSync(all[`${open}.zip`] ?? new Uint8Array()))).toContain(`${open}/recording.csv`);
    expect((await ask('/api/exports/nosuchexport')).status).toBe(404);
  });
});

describe('taking in', () => {
  const take = async (body: BodyInit): Promise<z.infer<typeof takenInSchema>> => {
    const answer = await ask('/api/runs/import?name=one.zip', {
      method: 'POST',
      headers: { 'content-type': 'application/zip' },
      body,
    });
    expect(answer.status).toBe(200);
    return takenInSchema.parse(await answer.json());
  };

  it('a zip of a run, once; and a hostile one is refused with a sentence', async () => {
    const zip = await (await ask(`/api/runs/${open}/files/recording.zip`)).arrayBuffer();
    expect(await take(zip)).toEqual({
      taken: [{ from: 'one.zip', runId: open, known: true, remarks: [] }],
      refused: [],
    });
    const { taken, refused } = await take(new TextEncoder().encode('no zip at all'));
    expect(taken).toEqual([]);
    expect(refused[0]).toMatchObject({ code: 'recording-no-zip', why: expect.stringMatching(/\.$/) });
  });

  it('a sealed run that was touched is refused, and the place named', async () => {
    const copy = join(home, 'copy.zip');
    writeFileSync(copy, new Uint8Array(await (await ask(`/api/runs/${touched}/files/recording.zip`)).arrayBuffer()));
    const { refused } = await take(readFileSync(copy));
    expect(refused[0]?.code).toBe('seal-file-changed');
    expect(refused[0]?.why).toContain('events.csv');
  });
});

describe('many runs', () => {
  it('lie side by side by group, with a chart of what is usual', async () => {
    for (const by of ['month', 'engineer', 'rig', 'emitter-type']) {
      const found = await get(acrossSchema, `/api/runs/across?by=${by}&measure=passes`);
      expect(found.groups.length).toBeGreaterThan(0);
      expect(found.all.measures['passes']?.n).toBeGreaterThan(0);
    }
    expect((await ask('/api/runs/across?measure=nonsense')).status).toBe(400);
    const side = await get(sideBySideSchema, `/api/runs/side-by-side?runs=${sealed},${open},none`);
    expect(side.runs.map((r) => r.runId)).toEqual([sealed, open]);
    expect(side.figures.length).toBeGreaterThan(5);
  });
});

describe('links', () => {
  it('open one run and nothing else, without the token in any address that is sent', async () => {
    const { link } = await send(madeShareSchema, `/api/runs/${open}/links`, { days: 3 });
    const [before, after = ''] = link.split('#');
    expect(before).toBe('/audit.html');
    const token = new URLSearchParams(after).get('link') ?? '';
    const answer = await ask('/api/office/session', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ link: token }),
    });
    const cookie = (answer.headers.get('set-cookie') ?? '').split(';')[0] ?? '';
    const as = (path: string, init: RequestInit = {}): Promise<Response> =>
      ask(path, { ...init, headers: { 'content-type': 'application/json', cookie } });
    expect((await as(`/api/runs/${open}`)).status).toBe(200);
    expect((await as(`/api/runs/${sealed}`)).status).toBe(403);
    expect((await as('/api/runs')).status).toBe(403);
    const comment = { method: 'POST', body: '{"text":"x"}' };
    expect((await as(`/api/runs/${open}/comments`, comment)).status).toBe(403);
  });

  it('a page from elsewhere cannot write', async () => {
    const answer = await ask(`/api/runs/${open}/comments`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: 'https://elsewhere.example' },
      body: '{"text":"x"}',
    });
    expect(answer.status).toBe(403);
  });
});

describe('a record that goes on', () => {
  it('is looked at again when its page is opened', async () => {
    const run = world.store.openRun(open);
    run?.appendEvent({
      id: 'later-0001',
      event: { timeS: run.lastTimeS(), event: 'note', emitter: '', note: 'later' },
      who: 'loopback',
      wallAt: '',
    });
    expect((await get(runPageSchema, `/api/runs/${open}`)).run.stale).toBe(true);
    await expect
      .poll(async () => (await get(runPageSchema, `/api/runs/${open}`)).run.stale, { timeout: 60_000 })
      .toBe(false);
    const { looked } = await get(runPageSchema, `/api/runs/${open}`);
    expect(looked?.marks.at(-1)?.note).toBe('later');
  });
});
