import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startBroker } from '../../../firmware-bridge/transport/broker.ts';
import { pairedSchema } from '../../../src/server/protocol.ts';
import { realClock, until as untilWithin } from '../../contracts/transport-clocks.ts';
import { leaks } from './leaks.ts';

/**
 * Real processes with secrets planted in all places, through success and failure. All that they say, answer and write for
 * others is searched.
 */
const root = mkdtempSync(join(tmpdir(), 'limpid-planted-'));
const servers: { close(): unknown }[] = [];
const running: ChildProcess[] = [];
afterAll(async () => {
  for (const child of running) if (child.exitCode === null) child.kill('SIGKILL');
  for (const server of servers) await server.close();
  rmSync(root, { recursive: true, force: true });
});

const planted = {
  'password of the kits’ broker': 'Pl4nted-mqtt/+?',
  'password of the firm’s broker': 'Pl4nted-outbox ü=',
  'login in an address': 'Pl4nted-url:%/x',
  'password of the hub': 'Pl4nted-hub&"q',
  'login of the time series': 'Pl4nted-series#1',
  'password of a person': 'Pl4nted-person ten',
  'wrong password': 'Pl4nted-wrong guess',
  'token made up': 'Pl4ntedTokenThatNobodyHas0123',
};
const inAddress = (secret: string): string => encodeURIComponent(secret);

/** Programs take a while to start on a machine with other work. */
const until = (what: string, isTrue: () => boolean): Promise<void> => untilWithin(what, isTrue, 120);

interface Said {
  readonly child: ChildProcess;
  readonly words: string[];
  text(): string;
  ended(): Promise<number | null>;
}

function limpid(words: readonly string[], env: Record<string, string> = {}): Said {
  const child = spawn(process.execPath, ['dist/limpid.js', ...words], {
    env: { PATH: process.env['PATH'] ?? '', HOME: root, NODE_ENV: 'test', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  running.push(child);
  const said: string[] = [];
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (c: Buffer) => said.push(c.toString()));
  const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
  return { child, words: [...words], text: () => said.join(''), ended: () => ended };
}

const found: string[] = [];
/** Everything that may be shown is searched; `more` are secrets made on the way. */
const made: Record<string, string> = {};
function search(what: string, text: string): void {
  for (const name of leaks(text, { ...planted, ...made })) found.push(`${what}: ${name}`);
}

/** A port where nobody answers, one where no MQTT is spoken, one with a broker that knows another login. */
const ports = { none: 0, rubbish: 0, broker: 0 };
beforeAll(async () => {
  const listening = (server: Server): Promise<number> =>
    new Promise((resolve) => {
      server.listen(0, '127.0.0.1', () => {
        const address = server.address();
        resolve(typeof address === 'object' && address !== null ? address.port : 0);
      });
    });
  const rubbish = createServer((socket) => {
    socket.on('error', () => undefined);
    socket.end('HTTP/1.1 400 Bad Request\r\n\r\n');
  });
  servers.push(rubbish);
  ports.rubbish = await listening(rubbish);
  const gone = createServer();
  ports.none = await listening(gone);
  gone.close();
  const broker = await startBroker({
    host: '127.0.0.1',
    port: 0,
    login: { user: 'other', password: 'other' },
    clock: realClock,
    told: () => undefined,
  });
  servers.push(broker);
  ports.broker = broker.port;
});

async function stopped(process: Said): Promise<void> {
  process.child.kill('SIGTERM');
  await process.ended();
}

describe('no secret is told', () => {
  it.each(['none', 'rubbish', 'broker'] as const)('by a bridge and a hub whose brokers fail (%s)', async (kind) => {
    const data = join(root, `bridge-${kind}`);
    mkdirSync(data, { recursive: true });
    const port = ports[kind];
    const at = (scheme: string): string =>
      `${scheme}://van:${inAddress(planted['login in an address'])}@127.0.0.1:${port}`;
    // Once with the login in an address of the file, once apart; once by TLS on a port that speaks none.
    const ways: [string, Record<string, string>][] = [
      ['in the address', { LIMPID_MQTT: at('mqtt'), LIMPID_OUTBOX: at('mqtts'), LIMPID_RIG: 'van-1' }],
      [
        'apart',
        {
          LIMPID_MQTT: `mqtts://127.0.0.1:${port}`,
          LIMPID_MQTT_USER: 'van',
          LIMPID_MQTT_PASSWORD: planted['password of the kits’ broker'],
          LIMPID_OUTBOX: `mqtt://127.0.0.1:${port}`,
          LIMPID_OUTBOX_USER: 'van',
          LIMPID_OUTBOX_PASSWORD: planted['password of the firm’s broker'],
          LIMPID_RIG: 'van-1',
        },
      ],
    ];
    for (const [way, env] of ways) {
      const bridge = limpid(['start', '--data', data, '--host', '127.0.0.1'], { ...env, LIMPID_LOG: 'json' });
      await until(
        'it is ready',
        () => /"code"|Pairing code|https?:\/\/127/.test(bridge.text()) || bridge.child.exitCode !== null,
      );
      const url = /http:\/\/127\.0\.0\.1:\d+/.exec(bridge.text())?.[0] ?? '';
      for (const path of ['/api/view', '/ready', '/metrics', '/health', '/api/bench'])
        search(`${path} (${kind}, ${way})`, await (await fetch(url + path)).text());
      await new Promise((resolve) => setTimeout(resolve, 3000));
      search(`/api/view later (${kind}, ${way})`, await (await fetch(`${url}/api/view`)).text());
      await stopped(bridge);
      search(`bridge (${kind}, ${way})`, bridge.text());
      const doctor = limpid(['doctor', '--data', data, '--json'], env);
      await doctor.ended();
      search(`doctor (${kind}, ${way})`, doctor.text());
    }
    const hubEnv = {
      LIMPID_BROKER: `mqtt://hub:${inAddress(planted['login in an address'])}@127.0.0.1:${port}`,
      LIMPID_BROKER_PASSWORD: planted['password of the hub'],
      LIMPID_SERIES: `http://writer:${inAddress(planted['login of the time series'])}@127.0.0.1:${port}`,
    };
    const hub = limpid(['hub', '--data', join(root, `hub-${kind}`)], hubEnv);
    await until('the hub is there', () => /\/ready/.test(hub.text()) || hub.child.exitCode !== null);
    const url = /http:\/\/127\.0\.0\.1:\d+/.exec(hub.text())?.[0] ?? '';
    await new Promise((resolve) => setTimeout(resolve, 3000));
    for (const path of ['/ready', '/metrics']) search(`hub ${path} (${kind})`, await (await fetch(url + path)).text());
    await stopped(hub);
    search(`hub (${kind})`, hub.text());
    const doctor = limpid(['doctor', '--hub', '--data', join(root, `hub-${kind}`)], hubEnv);
    await doctor.ended();
    search(`doctor of the hub (${kind})`, doctor.text());
    expect(found).toEqual([]);
  });

  it('by a bridge at work, its pages, its papers, its backup and its commands', async () => {
    const data = join(root, 'work');
    const env = { LIMPID_PASSWORD: planted['password of a person'] };
    const run = async (...words: string[]): Promise<string> => {
      const done = limpid([...words, '--data', data], env);
      await done.ended();
      search(words.join(' '), done.text());
      return done.text();
    };
    await run('people', 'add', 'A. Auditor', '--role', 'administrator');
    const start = limpid([
      'start',
      '--data',
      data,
      '--host',
      '127.0.0.1',
      '--simulate',
      'rehearsal',
      '--speed',
      '50',
      '--https',
    ]);
    await until('it is ready', () => /Pairing code/.test(start.text()));
    const code = /write: (\d{6})/.exec(start.text())?.[1] ?? '';
    const url = /http:\/\/127\.0\.0\.1:\d+/.exec(start.text())?.[0] ?? '';
    const ask = async (path: string, body?: unknown, headers: Record<string, string> = {}): Promise<Response> => {
      const init =
        body === undefined
          ? { headers }
          : { method: 'POST', body: JSON.stringify(body), headers: { 'content-type': 'application/json', ...headers } };
      return await fetch(url + path, init);
    };
    const answers: string[] = [];
    const told = async (path: string, body?: unknown, headers: Record<string, string> = {}): Promise<void> => {
      const answer = await ask(path, body, headers);
      answers.push(await answer.text());
    };
    const paired = pairedSchema.parse(await (await ask('/api/pair', { code })).json());
    const signed = await ask('/api/office/sign-in', { name: 'A. Auditor', password: planted['password of a person'] });
    made['token of the device'] = paired.token;
    made['session'] = /limpid=s\.([\w-]+)/.exec(signed.headers.get('set-cookie') ?? '')?.[1] ?? 'none was given';
    answers.push(await signed.text());
    await told('/api/office/sign-in', { name: 'A. Auditor', password: planted['wrong password'] });
    await told('/api/office/sign-in', { name: 'A. Auditor', password: [planted['wrong password']] });
    await told('/api/pair', { code: planted['wrong password'] });
    await told('/api/me', undefined, { authorization: `Bearer ${planted['token made up']}` });
    await told('/api/office/me', undefined, { cookie: `limpid=s.${planted['token made up']}` });
    await told('/api/office/people', undefined);
    for (const path of [
      '/api/view',
      '/api/me',
      '/api/bench',
      '/api/office/me',
      '/api/runs',
      '/ready',
      '/metrics',
      '/api/reach',
    ])
      await told(path);
    await told('/api/events', { id: 'tap-00000001', event: 'note', note: 'x' });
    const runId = /\((run-[\w-]+)\)/.exec(start.text())?.[1] ?? '';
    const link: unknown = await (await ask(`/api/runs/${runId}/links`, { days: 2 })).json();
    made['link'] = /link=([\w-]+)/.exec(JSON.stringify(link))?.[1] ?? 'none was given';
    for (const path of ['', '/links', '/files/report.html', '/files/run.json', '/files/events.csv'])
      await told(`/api/runs/${runId}${path}`);
    await stopped(start);
    await run('seal', runId, '--by', 'A. Engineer', '--unfinished');
    for (const folder of ['keys', 'tls'])
      for (const file of readdirSync(join(data, folder)).filter((name) => /\.(pem|key)$/.test(name)))
        made[`${folder}/${file}`] = readFileSync(join(data, folder, file), 'utf8').split('\n')[1] ?? '';
    expect(Object.keys(made)).toEqual(
      expect.arrayContaining(['keys/signing-key.pem', 'tls/authority.key', 'tls/bridge.key', 'link', 'session']),
    );
    expect(Object.values(made).every((secret) => secret.length > 20)).toBe(true);
    search('answers', answers.join('\n'));
    search('bridge at work', start.text());
    made['pairing code'] = `${code} `;
    search('answers and the code', answers.join('\n'));
    await run('runs');
    await run('people');
    await run('export', runId, join(root, 'exported'));
    await run('verify', join(root, 'exported'));
    await run('report', runId, '--html', '--out', join(root, 'report.html'));
    await run('backup', join(root, 'backup'));
    await run('doctor', '--json', '--backup', join(root, 'backup'));
    await run('restore', join(root, 'backup'));
    await run('audit', runId);
    search('report', readFileSync(join(root, 'report.html'), 'utf8'));
    for (const name of readdirSync(join(root, 'exported')))
      search(`exported ${name}`, readFileSync(join(root, 'exported', name), 'latin1'));
    search('list of the backup', readFileSync(join(root, 'backup', 'backup.json'), 'utf8'));
    expect(found).toEqual([]);
  });

  it('by a process that ends with a fault of its own', async () => {
    const data = join(root, 'fault');
    mkdirSync(data, { recursive: true });
    const ca = join(root, 'ca.pem');
    writeFileSync(ca, 'no certificate at all');
    const outbox = { LIMPID_OUTBOX: `mqtts://127.0.0.1:${ports.rubbish}`, LIMPID_RIG: 'van-1', LIMPID_OUTBOX_CA: ca };
    const login = { LIMPID_OUTBOX_USER: 'van', LIMPID_OUTBOX_PASSWORD: planted['password of the firm’s broker'] };
    const bridge = limpid(['start', '--data', data, '--host', '127.0.0.1'], { ...outbox, ...login });
    await until('it says something', () => bridge.text().length > 0 || bridge.child.exitCode !== null);
    await new Promise((resolve) => setTimeout(resolve, 3000));
    await stopped(bridge);
    search('bridge with a certificate that is none', bridge.text());
    // What a library throws where nobody catches it carries its options.
    const boom = join(root, 'boom.mjs');
    writeFileSync(
      boom,
      `const wait = setInterval(() => {
        if (process.listenerCount('uncaughtException') === 0) return;
        clearInterval(wait);
        throw Object.assign(new Error('boom'), { options: { password: process.env.LIMPID_OUTBOX_PASSWORD } });
      }, 50);`,
    );
    const crashed = limpid(['start', '--data', data, '--host', '127.0.0.1'], {
      ...login,
      NODE_OPTIONS: `--import ${boom}`,
    });
    expect(await crashed.ended()).toBe(1);
    expect(crashed.text()).toContain('boom');
    search('a crash', crashed.text());
    expect(existsSync(data)).toBe(true);
    expect(found).toEqual([]);
  });
});
