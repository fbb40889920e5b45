import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { defaultLineSettings } from '../../../src/core/line/settings.ts';
import { type Bridge, startBridge } from '../../../src/run/bridge.ts';
import { readConfig } from '../../../src/run/config.ts';
import { verifyRecording } from '../../../src/recording/recording.ts';
import { sealedFolder } from '../../../src/recording/sealed.ts';
import { type RunningServer, startServer } from '../../../src/server/app.ts';
import { testPicture } from '../recording/test-picture.ts';

const data = mkdtempSync(join(tmpdir(), 'limpid-seal-live-'));
const config = readConfig({ data, simulate: 'rehearsal', speed: '20' }, {});
let bridge: Bridge;
let server: RunningServer;
const faults: string[] = [];

test('what the run is judged by stands in the head of its record', () => {
  expect(bridge.head.settings).toEqual(defaultLineSettings);
});

beforeAll(async () => {
  bridge = await startBridge(config, (line) => void (line.startsWith('fault of the run') && faults.push(line)));
  const { port, record } = bridge;
  server = await startServer({
    host: '127.0.0.1',
    port: 0,
    bridge: port,
    record,
    webRoot: data,
    pairing: { code: '1' },
  });
  for (let n = 0; n < 200 && port.trace(0, 1e9).rows.length < 50; n++) await wait(20);
});
afterAll(async () => {
  await server.close();
  await bridge.stop();
  rmSync(data, { recursive: true, force: true });
});

async function post(path: string, body: unknown): Promise<{ status: number; body: unknown }> {
  const headers = { 'content-type': 'application/json' };
  const answer = await fetch(`${server.url}${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
  return { status: answer.status, body: await answer.json() };
}

test('photos are kept beside the record with their hash, and nothing else is', async () => {
  const { port, head } = bridge;
  const picture = testPicture(60, 40);
  const url = `${server.url}/api/runs/current/photos`;
  const send = (query: string, body: Uint8Array, type = 'image/png'): Promise<Response> =>
    fetch(`${url}?${query}`, { method: 'POST', headers: { 'content-type': type }, body: Buffer.from(body) });
  expect((await send('id=photo-0001&what=Jars', picture)).status).toBe(200);
  expect((await send('id=photo-0001&what=Jars', picture)).status).toBe(200);
  const [kept, ...more] = port.view().photos;
  expect(more).toEqual([]);
  expect(kept).toMatchObject({ what: 'Jars', sha256: createHash('sha256').update(picture).digest('hex') });
  const name = kept?.file.replace('files/', '') ?? '';
  const back = await fetch(`${url}/${name}`);
  expect(back.headers.get('content-type')).toBe('image/png');
  expect(new Uint8Array(await back.arrayBuffer())).toEqual(new Uint8Array(picture));

  expect((await send('id=photo-0002', Buffer.from('no picture'))).status).toBe(400);
  expect((await send('id=photo-0003', Buffer.alloc(8_000_001))).status).toBe(413);
  expect((await send('id=short', picture)).status).toBe(400);
  expect((await fetch(`${url}/photo-0000000000000000.png`)).status).toBe(404);
  expect((await fetch(`${url}/..%2f..%2flimpid.json`)).status).toBe(400);
  const forged = { id: 'forged-photo', event: 'photo', data: { file: 'files/photo-1.png', sha256: 'a'.repeat(64) } };
  expect(await post('/api/events', forged)).toMatchObject({ status: 409, body: { code: 'job.photo-upload' } });
  expect(existsSync(join(data, 'beside', head.runId, 'files', name))).toBe(true);
});

const recordNow = async (): Promise<unknown> => (await fetch(`${server.url}/api/runs/current/record`)).json();

test('a run under way has a draft, is sealed when told so, takes nothing more, and is followed by a new one', async () => {
  const draft = await fetch(`${server.url}/api/runs/current/report.pdf?paper=letter`);
  expect(draft.headers.get('content-type')).toBe('application/pdf');
  const bytes = Buffer.from(await draft.arrayBuffer());
  expect(bytes.subarray(0, 5).toString()).toBe('%PDF-');
  expect((await fetch(`${server.url}/api/runs/current/report.pdf?paper=a3`)).status).toBe(400);

  expect(await post('/api/runs/current/seal', { by: 3 })).toMatchObject({ status: 400 });
  expect(await post('/api/runs/current/comments', { by: 'The office', text: 'early' })).toMatchObject({
    status: 409,
    body: { code: 'seal-none' },
  });
  expect(await recordNow()).toMatchObject({ seal: null, check: null, comments: [] });
  const early = await post('/api/runs/current/seal', { by: 'A. Engineer' });
  expect(early).toMatchObject({ status: 409, body: { code: 'seal-not-ended' } });
  // A photo that nobody can look at: the entry is made, the record is not.
  const { file = '' } = bridge.port.view().photos[0] ?? {};
  const photo = join(data, 'beside', bridge.head.runId, file);
  const picture = readFileSync(photo);
  rmSync(photo);
  symlinkSync(photo, photo);
  const cutShort = await post('/api/runs/current/seal', { by: 'A. Engineer', unfinished: true });
  expect(cutShort).toMatchObject({ status: 503, body: { code: 'recording-unreadable' } });
  expect(bridge.port.view().sealed).toBe(true);
  expect(await recordNow()).toMatchObject({ seal: null, check: null });
  await wait(200);
  expect(faults).toEqual([]);
  rmSync(photo);
  writeFileSync(photo, picture);
  // By nobody in particular: it is ended by who began it.
  expect(await post('/api/runs/current/seal', {})).toMatchObject({ status: 200 });
  const again = await post('/api/runs/current/seal', { by: 'A. Engineer', unfinished: true });
  expect(again).toMatchObject({ status: 409, body: { code: 'seal-already' } });

  expect(await post('/api/runs/current/comments', { by: 'The office', text: 'looked at' })).toMatchObject({
    status: 200,
  });
  expect(await recordNow()).toMatchObject({ check: { sound: true, faults: [] }, comments: [{ text: 'looked at' }] });
  expect(bridge.port.view().sealed).toBe(true);
  // It takes no readings, which is no fault of a sensor.
  expect(bridge.port.view().links.find((l) => l.id === 'sensor')).toMatchObject({
    state: 'off',
    text: expect.stringMatching(/sealed/),
  });
  const late = await post('/api/events', { id: 'late-event-1', event: 'note', note: 'too late' });
  expect(late).toMatchObject({ status: 409, body: { code: 'seal-run-closed' } });
  // What else is wrong with it would be of no use to mend.
  const wrong = await post('/api/events', { id: 'late-event-2', event: 'dose', data: { litres: -1 } });
  expect(wrong).toMatchObject({ status: 409, body: { code: 'seal-run-closed' } });
  const check = verifyRecording(sealedFolder(data, bridge.head.runId));
  expect(check).toMatchObject({ sound: true, seal: { state: 'good', seal: { simulated: true } } });
  expect(bridge.isOver()).toBe(true);

  const sealed = bridge.head.runId;
  await bridge.stop();
  bridge = await startBridge(config, () => undefined);
  expect([bridge.resumed, bridge.isOver()]).toEqual([false, false]);
  expect(bridge.head.runId).not.toBe(sealed);
});

test('a run that ends after its hand-over is sealed by itself', async () => {
  const { port, head } = bridge;
  const asked = [
    { id: 'hand-over-1', event: 'stage:hand-over', note: 'a trial' },
    {
      id: 'hand-over-2',
      event: 'hand-over',
      data: { engineer: 'A. Engineer', client: 'C. Owner', site: '9 Sample Lane' },
    },
    { id: 'hand-over-3', event: 'stage:end', note: 'a trial' },
  ];
  for (let n = 0; n < 200 && port.trace(0, 1e9).rows.length < 5; n++) await wait(20);
  for (const event of asked)
    expect(await port.post({ emitter: '', note: '', agoS: 0, ...event }, 'loopback')).toMatchObject({ doubled: false });
  for (let n = 0; n < 100 && verdict(head.runId) === null; n++) await wait(20);
  expect(verdict(head.runId)).toBe(true);
  // The names of client and place stand apart from the entry that was signed.
  expect(JSON.stringify(port.view())).not.toContain('C. Owner');
  const sealed = sealedFolder(data, head.runId);
  expect(readFileSync(join(sealed, 'chain.jsonl'), 'utf8')).not.toContain('C. Owner');
  expect(readFileSync(join(sealed, 'files', 'details.json'), 'utf8')).toContain('C. Owner');
});

function verdict(runId: string): boolean | null {
  const folder = sealedFolder(data, runId);
  return existsSync(folder) ? verifyRecording(folder).sound : null;
}
