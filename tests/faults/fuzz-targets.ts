import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Writable } from 'node:stream';
import { zipSync } from 'fflate';
import type { FastifyRequest } from 'fastify';
import { PacketSizes } from '../../firmware-bridge/transport/broker-rules.ts';
import { encodeLine } from '../../firmware-bridge/wire/encode.ts';
import { MappedReader } from '../../firmware-bridge/wire/mapped-reader.ts';
import { readMapping } from '../../firmware-bridge/wire/mapping.ts';
import { cborToJson, encodeCbor } from '../../firmware-bridge/wire/senml-cbor.ts';
import { WireReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { readAuditSettings } from '../../src/core/audit/read-settings.ts';
import { newCommentSchema, newPersonSchema, signInSchema } from '../../src/core/audit/page-schema.ts';
import { benchWorkSchema } from '../../src/core/job/bench-schema.ts';
import { Problem } from '../../src/core/message/problem.ts';
import { emptySample } from '../../src/core/quantity/sample.ts';
import { decodePart, encodePart } from '../../src/hub/part.ts';
import { readRecording } from '../../src/recording/read.ts';
import { verifyRecording } from '../../src/recording/verify.ts';
import { unzipRecording } from '../../src/recording/zip.ts';
import { restoreBackup } from '../../src/run/backup.ts';
import { readConfig } from '../../src/run/config.ts';
import { readHubConfig } from '../../src/run/hub-config.ts';
import { exportRequestSchema } from '../../src/server/audit-routes.ts';
import { cookieOf } from '../../src/server/cookie.ts';
import { clientOf } from '../../src/server/limits.ts';
import { pairSchema, postEventSchema } from '../../src/server/protocol.ts';
import { createPush } from '../../src/server/push.ts';
import { parseOr400, Refused } from '../../src/server/refuse.ts';
import { ownNames, refuseForeign } from '../../src/server/same-site.ts';
import { partOf } from '../../src/server/send-file.ts';
import { decodeChunk, encodeChunk } from '../../src/store/chunk.ts';
import { openStore } from '../../src/store/open.ts';
import { unpackOld } from '../src/store/old-folder.ts';

/** Something that reads what others send. `read` throws what is no refusal by a reason. */
export interface Target {
  readonly name: string;
  readonly seeds: readonly Buffer[];
  readonly read: (bytes: Buffer) => void;
}

/** Inputs that are kept: those that once broke something, and those that reached a place of the code that no other did. */
export const corpus = 'tests/faults/corpus';

export function keptOf(name: string): { file: string; bytes: Buffer }[] {
  const folder = join(corpus, name);
  try {
    return readdirSync(folder).map((file) => ({ file, bytes: readFileSync(join(folder, file)) }));
  } catch {
    return [];
  }
}

const place = mkdtempSync(join(tmpdir(), 'limpid-fuzz-'));
process.on('exit', () => rmSync(place, { recursive: true, force: true }));

/** Refused by a sentence is read, too. */
function orSentence(work: () => unknown): void {
  try {
    work();
  } catch (error) {
    if (error instanceof Problem && error.message.length > 20) return;
    if (error instanceof Refused && error.status >= 400 && error.status < 500) return;
    throw error;
  }
}

const kit = 'urn:dev:mac:0024befffe804ff1';
const pack = { kit, boot: 3, seq: 7, upS: 0.7, values: { turbidityNtu: 12.5, flowLpm: 8, pressureBar: 1.1 } };
const line = Buffer.from(encodeLine(pack));
const hello = Buffer.from(
  encodeLine({ ...pack, hello: { firmware: 'x 1', rateHz: 10, channels: { turbidity: { lo: 0 } } } }),
);
const cbor = Buffer.from(encodeCbor([{ bn: `${kit}:`, bt: 1, n: 'turbidity', u: 'NTU', v: 12.5 }]));
const json = (value: unknown): Buffer => Buffer.from(JSON.stringify(value));
const texts = (...all: readonly string[]): Buffer[] => all.map((text) => Buffer.from(text));

const requestOf = (headers: Record<string, string>, method = 'POST'): FastifyRequest =>
  ({ headers, method, protocol: 'http', ip: '192.0.2.7' }) as unknown as FastifyRequest;

const bodies = [
  postEventSchema,
  pairSchema,
  exportRequestSchema,
  signInSchema,
  newPersonSchema,
  newCommentSchema,
  benchWorkSchema,
];

function inFile(name: string, read: (path: string) => unknown): (bytes: Buffer) => void {
  const path = join(place, name);
  return (bytes) => {
    writeFileSync(path, bytes);
    orSentence(() => read(path));
  };
}

/** A sealed run, as an earlier version kept it. */
const old = join(place, 'old');
unpackOld(3, old);
const sealed = join(old, 'sealed', 'simulated-ordinary-3');
const store = openStore(old);
const run = store.openRun('simulated-ordinary-3');
if (!run) throw new Error('the run is gone');
const head = run.head;
const links = run.events().slice(0, 4);
store.close();
const start = (name: string, bytes: number): Buffer => {
  const text = readFileSync(join(sealed, name)).subarray(0, bytes);
  return text.subarray(0, text.lastIndexOf(10) + 1);
};

/** Its recording with one file in the place of another: its first rows, unsealed; or whole, sealed. */
function inRecording(name: string, isSealed = false): (bytes: Buffer) => void {
  const folder = join(place, `recording-${name}`);
  mkdirSync(folder);
  for (const file of isSealed ? readdirSync(sealed) : ['recording.csv', 'events.csv', 'context.json'])
    writeFileSync(
      join(folder, file),
      file === 'recording.csv' && !isSealed ? start(file, 2000) : readFileSync(join(sealed, file)),
    );
  return (bytes) => {
    writeFileSync(join(folder, name), bytes);
    orSentence(() => (isSealed ? verifyRecording(folder) : readRecording(folder)));
  };
}

/** The examples of a paper. */
const examples = (page: string): Buffer[] =>
  [...readFileSync(page, 'utf8').matchAll(/```json\n([^]*?)\n```/g)].map((found) => Buffer.from(found[1] ?? ''));
const mappings = examples('docs/mapping.md').flatMap((bytes) => {
  const read = readMapping(bytes.toString());
  return 'mapping' in read ? [read.mapping] : [];
});

function restored(bytes: Buffer): void {
  const [from, to] = [join(place, 'backup'), join(place, 'restored')];
  mkdirSync(from, { recursive: true });
  writeFileSync(join(from, 'backup.json'), bytes);
  writeFileSync(join(from, 'limpid.sqlite'), 'x');
  rmSync(to, { recursive: true, force: true });
  orSentence(() => restoreBackup(from, to));
}

const nowhere = (): Writable => new Writable({ write: (_chunk, _encoding, done) => done() });

export const targets: readonly Target[] = [
  {
    name: 'wire-line',
    seeds: [line, hello, Buffer.concat([line, hello, line])],
    read: (b) => void new WireReader().push(b),
  },
  {
    name: 'wire-message',
    seeds: [line.subarray(0, line.lastIndexOf('*')), cbor],
    read: (b) => void new WireReader().message('limpid/mac:0024befffe804ff1/senml', b),
  },
  {
    name: 'mapped-line',
    seeds: texts(
      '12.5,8,1.1,55\n12.6,8,1.1,55\n',
      '12,5 8,0 1,1\n12,5 8,0 1,1\n',
      '{"t":12.5,"flow":{"v":8}}\n{}\n',
      '7\n7\n',
    ),
    read: (b) => {
      for (const mapping of mappings) {
        const reader = new MappedReader(mapping, 1);
        reader.push(b, 1);
        reader.message('a/b', b, 2);
      }
    },
  },
  { name: 'cbor', seeds: [cbor], read: (b) => void cborToJson(b) },
  {
    name: 'mapping',
    seeds: examples('docs/mapping.md'),
    read: (b) => void readMapping(b.toString()),
  },
  {
    name: 'rules',
    seeds: examples('docs/audit.md'),
    read: (b) => orSentence(() => readAuditSettings(b.toString(), 'rules.json')),
  },
  {
    name: 'part',
    seeds: [
      encodePart({ kind: 'events', runId: head.runId, from: 0, head, links }),
      encodePart({
        kind: 'samples',
        runId: head.runId,
        chunk: 0,
        startedAt: '2026-01-01T00:00:00.000Z',
        sha256: '0'.repeat(64),
        body: encodeChunk([{ ...emptySample(1), flowLpm: 8 }]),
      }),
      encodePart({
        kind: 'record',
        runId: head.runId,
        file: 'seal.json',
        at: 0,
        of: 1,
        sha256: '0'.repeat(64),
        body: Buffer.from('{}'),
      }),
    ],
    read: (b) => {
      for (const leaf of ['events', 'samples', 'record'] as const) decodePart(leaf, b);
    },
  },
  {
    name: 'chunk',
    seeds: [Buffer.from(encodeChunk([{ ...emptySample(1), flowLpm: 8, turbidityNtu: 3 }, emptySample(2)]))],
    read: (b) => {
      try {
        decodeChunk(b);
      } catch (error) {
        if (!(error instanceof RangeError)) throw error;
      }
    },
  },
  {
    name: 'recording.csv',
    seeds: [start('recording.csv', 2000), ...texts('time_s;turbidity_ntu;flow_lpm\n0,1;8,5;\n')],
    read: inRecording('recording.csv'),
  },
  {
    name: 'events.csv',
    seeds: [start('events.csv', 2000), ...texts('time_s,event,emitter,note\n0.2,note,e1,"a ""b"", c"\n')],
    read: inRecording('events.csv'),
  },
  {
    name: 'context.json',
    seeds: [readFileSync(join(sealed, 'context.json'))],
    read: inRecording('context.json'),
  },
  {
    name: 'chain.jsonl',
    seeds: [readFileSync(join(sealed, 'chain.jsonl'))],
    read: inRecording('chain.jsonl', true),
  },
  {
    name: 'seal.json',
    seeds: [readFileSync(join(sealed, 'seal.json'))],
    read: inRecording('seal.json', true),
  },
  {
    name: 'zip',
    seeds: [
      Buffer.from(
        zipSync({ 'events.csv': Buffer.from('time_s,event\n'), 'a/recording.csv': Buffer.alloc(300, '1,2\n') }),
      ),
    ],
    read: inFile('a.zip', (path) => {
      const target = join(place, 'unzipped');
      rmSync(target, { recursive: true, force: true });
      unzipRecording(path, target);
    }),
  },
  {
    name: 'config',
    seeds: [json({ port: 8480, host: '0.0.0.0', mqtt: 'mqtt://192.0.2.7', mqtt_user: 'u', speed: '2' })],
    read: inFile('limpid.json', (path) => readConfig({ data: place }, {}, path)),
  },
  {
    name: 'hub-config',
    seeds: [json({ broker: 'mqtts://192.0.2.7', series: 'http://127.0.0.1:8086', name: 'two' })],
    read: inFile('hub.json', (path) => readHubConfig({ data: place }, {}, path)),
  },
  {
    name: 'backup.json',
    seeds: [
      json({
        v: 1,
        made_at: '2026-01-01T00:00:00.000Z',
        runs: 1,
        files: { 'limpid.sqlite': '2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881' },
      }),
    ],
    read: restored,
  },
  {
    name: 'body',
    seeds: [
      json({ id: 'abcdefgh-1', event: 'note', note: 'x', emitter: 'e1', agoS: 3, data: { a: 1 } }),
      json({ name: 'A', password: 'correct horse', role: 'auditor' }),
      json({ runs: ['a', 'b'] }),
    ],
    read: (b) => {
      let body: unknown;
      try {
        body = JSON.parse(b.toString());
      } catch {
        return;
      }
      for (const schema of bodies) orSentence(() => parseOr400(schema, body, 'body'));
    },
  },
  {
    name: 'headers',
    seeds: texts(
      '[::1]:8480',
      '192.0.2.7:8480',
      'bytes=0-9',
      'limpid=s.AAAAAAAAAAAAAAAAAAAAAAAA; a=b',
      '2001:db8::7%eth0',
      '::ffff:192.0.2.7',
    ),
    read: (b) => {
      const text = b.toString('latin1');
      partOf(text, 1000);
      clientOf(text);
      cookieOf(requestOf({ cookie: text }));
      for (const headers of [
        { host: text },
        { host: '127.0.0.1', origin: text },
        { host: '127.0.0.1', 'sec-fetch-site': text },
      ])
        orSentence(() => refuseForeign(requestOf(headers), ownNames([])));
    },
  },
  {
    name: 'last-event-id',
    seeds: texts('a1b2c3d4e5f6.12', '.', 'x.999999999999999'),
    read: (b) => {
      let publish: (message: never) => void = () => undefined;
      const push = createPush({ listen: (fn) => ((publish = fn as never), () => undefined) }, { heldMessages: 4 });
      for (let i = 0; i < 6; i++) publish({ type: 'trace', rows: [] } as never);
      push.attach(nowhere(), b.toString('latin1'));
      push.attach(nowhere(), b.toString('latin1').replace(/^[^.]*/, push.at().split('.')[0] ?? ''));
      push.close();
    },
  },
  {
    name: 'packet-sizes',
    seeds: [Buffer.from([0x10, 13, 0, 4, 0x4d, 0x51, 0x54, 0x54, 4, 2, 0, 60, 0, 1, 0x6d, 0xc0, 0])],
    read: (b) => void new PacketSizes().tooBig(b),
  },
];
