import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { machineClock } from '../../../src/run/clock.ts';
import { mappedLink } from '../../../src/run/mapping-file.ts';
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { MappedKit } from '../../../firmware-bridge/wire/mapped-kit.ts';
import { MappedReader } from '../../../firmware-bridge/wire/mapped-reader.ts';
import { type Mapping, mappedTopics, readMapping } from '../../../firmware-bridge/wire/mapping.ts';
import { unitNames, unitStep } from '../../../firmware-bridge/wire/mapping-units.ts';
import type { Decoded } from '../../../firmware-bridge/wire/pack.ts';
import { say } from '../../../src/core/message/message.ts';
import { channelByName, channels } from '../../../src/core/quantity/channels.ts';

const doc = readFileSync('docs/mapping.md', 'utf8');

interface Example {
  readonly title: string;
  readonly mapping: string;
  readonly input: readonly string[];
  readonly isMqtt: boolean;
  readonly packs: readonly unknown[];
}

/** The examples of docs/mapping.md: heading, mapping, input, packs. */
const examples: Example[] = doc
  .split('\n### ')
  .slice(1)
  .map((part) => {
    const block = (name: string): string | undefined => new RegExp(`\`\`\`${name}\n([^]*?)\n\`\`\``).exec(part)?.[1];
    const messages = block('messages');
    return {
      title: part.split('\n')[0] ?? '',
      mapping: block('json') ?? '',
      input: (messages ?? block('lines') ?? '').split('\n'),
      isMqtt: messages !== undefined,
      packs: (block('packs') ?? '').split('\n').map((line): unknown => JSON.parse(line)),
    };
  });

function mappingOf(json: unknown): Mapping {
  const read = readMapping(typeof json === 'string' ? json : JSON.stringify(json));
  if ('problem' in read) throw new Error(say(read.problem));
  return read.mapping;
}

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

function shown(decoded: readonly Decoded[]): unknown[] {
  return decoded.flatMap((d) => (d.ok ? [{ ...d.pack.values, ...(d.pack.pass && { pass: true }) }] : []));
}

describe('examples of docs/mapping.md', () => {
  test('there are as many as the page promises', () => expect(examples).toHaveLength(5));

  test.each(examples)('$title', ({ mapping, input, isMqtt, packs }) => {
    const parsed = mappingOf(mapping);
    expect(mappedTopics(parsed) !== null).toBe(isMqtt);
    const reader = new MappedReader(parsed, 7);
    const decoded = input.flatMap((line) => {
      if (!isMqtt) return reader.push(bytes(`${line}\r\n`), 0);
      const [atS = '', topic = '', ...payload] = line.split(' ');
      return reader.message(topic, bytes(payload.join(' ')), Number(atS));
    });
    expect(shown(decoded)).toEqual(packs);
    expect(reader.counters.packs).toBe(packs.length);
  });

  test.each([...doc.matchAll(/^\| `(\{.*\})` \| (In the mapping file.*) \|$/gm)].map((m) => [m[1] ?? '', m[2] ?? '']))(
    'the wrong file %s',
    (file, sentence) => {
      const read = readMapping(file);
      expect('problem' in read ? say(read.problem) : 'nothing wrong').toBe(sentence);
    },
  );

  test('its table of units is the one of the code', () => {
    for (const channel of channels) {
      const row = doc
        .split('\n')
        .find((line) => line.includes(`\`${channel.name}\``) && /l\/s|NTU|Pa|Cel|S\/m/.test(line));
      for (const unit of unitNames(channel)) expect(row).toContain(unit);
    }
  });
});

const csv = mappingOf({
  kit: 'urn:dev:mac:1',
  form: 'csv',
  channels: {
    turbidity: { column: 1, unit: 'NTU', lo: 0, hi: 500, step: 0.5 },
    't-return': { column: 2, unit: 'degF' },
  },
});

describe('a kit read through its mapping', () => {
  test('has an identity made here: boot as given, seq that counts, up from arrival', () => {
    const kit = new MappedKit(csv, 1_760_000_000);
    const packs = [10, 10.1, 10.25].map((atS) => kit.line(bytes('1,50'), atS));
    expect(packs.map((d) => d?.ok && [d.pack.boot, d.pack.seq, d.pack.upS])).toEqual([
      [1_760_000_000, 0, 0],
      [1_760_000_000, 1, 0.1],
      [1_760_000_000, 2, 0.25],
    ]);
  });

  test('tells the ranges of its sensors with its first pack, in our units', () => {
    const kit = new MappedKit(
      mappingOf({
        kit: 'urn:dev:mac:1',
        form: 'csv',
        channels: { 't-return': { column: 1, unit: 'degF', lo: 32, hi: 212, step: 0.9 } },
      }),
      1,
    );
    const [first, second] = [kit.line(bytes('50'), 0), kit.line(bytes('50'), 1)];
    expect(first).toMatchObject({ pack: { hello: { channels: { 't-return': { lo: 0, hi: 100, step: 0.5 } } } } });
    expect(second).toMatchObject({ pack: { hello: null } });
  });

  test('a value that is no number, or absurd, costs itself alone', () => {
    const decoded = new MappedKit(csv, 1).line(bytes('high,2000'), 0);
    expect(decoded).toMatchObject({ ok: true, pack: { values: {} } });
    expect(decoded?.ok && decoded.pack.rejects.map((r) => r.code)).toEqual(['mapping-number', 'wire-absurd']);
  });

  test('whatever comes, every line and message gives a pack, a reason or nothing', () => {
    const mqtt = mappingOf(examples[3]?.mapping);
    const json = mappingOf(examples[2]?.mapping);
    const topics = fc.constantFrom(...(mappedTopics(mqtt)?.readings ?? []), 'else');
    fc.assert(
      fc.property(fc.array(fc.tuple(topics, fc.uint8Array({ maxLength: 60 }), fc.nat(5)), { maxLength: 20 }), (all) => {
        const readers = [csv, json, mqtt].map((mapping) => new MappedReader(mapping, 1));
        let atS = 0;
        for (const [topic, payload, stepS] of all) {
          atS += stepS;
          for (const reader of readers) {
            const got = [...reader.push(payload, atS), ...reader.message(topic, payload, atS)];
            for (const decoded of got) expect(decoded.ok ? '' : say(decoded.reject)).not.toContain('undefined');
          }
        }
        for (const { counters } of readers) expect(counters.bytes).toBeGreaterThanOrEqual(counters.packs);
      }),
    );
  });

  test('up never goes back and seq never repeats, however messages fall', () => {
    const mqtt = mappingOf(examples[3]?.mapping);
    const topics = fc.constantFrom(...(mappedTopics(mqtt)?.readings ?? []));
    fc.assert(
      fc.property(fc.array(fc.tuple(topics, fc.nat(100), fc.nat(4)), { minLength: 1, maxLength: 40 }), (all) => {
        const kit = new MappedKit(mqtt, 1);
        let atS = 0;
        let numbers = 0;
        const packs = all.flatMap(([topic, value, stepS]) => {
          atS += stepS;
          if (!topic.includes('button')) numbers++;
          return kit.message(topic, bytes(topic.includes('button') ? 'pressed' : String(value)), atS);
        });
        const taken = packs.flatMap((d) => (d.ok ? [d.pack] : []));
        expect(taken.map((p) => p.seq)).toEqual(taken.map((_, i) => i));
        for (const [i, p] of taken.entries()) expect(p.upS).toBeGreaterThanOrEqual(taken[i - 1]?.upS ?? 0);
        const kept = taken.reduce((sum, p) => sum + Object.keys(p.values).length, 0);
        // Each number enters once; those of the round that is still open are yet to come.
        expect(numbers - kept).toBeLessThanOrEqual(2);
        expect(numbers - kept).toBeGreaterThanOrEqual(0);
      }),
    );
  });
});

describe('units of a mapping', () => {
  const inOwn = (name: string, unit: string, value: number): number => {
    const channel = channelByName(name);
    const step = channel ? unitStep(channel, unit) : null;
    return step ? value * step.factor + step.offset : Number.NaN;
  };

  // Fixed points by definition: 0 degC = 273.15 K = 32 degF, 100 degC = 212 degF; 1 bar = 100 kPa; 1 h = 3600 s.
  test.each([
    ['t-return', 'K', 273.15, 0],
    ['t-return', 'degF', 32, 0],
    ['t-supply', 'degF', 212, 100],
    ['pressure', 'kPa', 142, 1.42],
    ['pressure', 'mbar', 1420, 1.42],
    ['pressure', 'Pa', 100_000, 1],
    // NIST Special Publication 811, appendix B.8: psi to Pa 6.894757 E+03 (from memory).
    ['pressure', 'psi', 1, 0.06894757],
    ['flow', 'm3/h', 0.6, 10],
    ['flow', 'l/h', 720, 12],
    ['flow', 'l/s', 0.2, 12],
    ['conductivity', 'mS/cm', 0.812, 812],
    ['conductivity', 'mS/m', 81.2, 812],
    ['conductivity', 'S/m', 0.0812, 812],
  ])('%s in %s', (name, unit, value, own) => {
    expect(inOwn(name, unit, value)).toBeCloseTo(own, 8);
  });

  test('a unit of another channel is none of this one', () => {
    for (const name of ['bar', 'toString', '__proto__', '']) expect(inOwn('flow', name, 1)).toBeNaN();
  });
});

describe('a mapping file that is wrong', () => {
  const good = { kit: 'urn:dev:mac:1', form: 'csv', channels: { turbidity: { column: 1, unit: 'NTU' } } };
  test.each([
    ['not JSON', '{', 'mapping-json', undefined],
    ['an empty file', '', 'mapping-json', undefined],
    ['a list', '[]', 'mapping-value', 'the file'],
    ['no kit', JSON.stringify({ ...good, kit: undefined }), 'mapping-value', 'kit'],
    ['no channel', JSON.stringify({ ...good, channels: {} }), 'mapping-value', 'channels'],
    ['an unknown field', JSON.stringify({ ...good, chanels: {} }), 'mapping-unknown', 'chanels'],
    [
      'no place',
      JSON.stringify({ ...good, channels: { flow: { unit: 'l/s' } } }),
      'mapping-value',
      'channels.flow.column',
    ],
    [
      'a name without columns',
      JSON.stringify({ ...good, channels: { flow: { column: 'a', unit: 'l/s' } } }),
      'mapping-value',
      'channels.flow.column',
    ],
    [
      'a factor of 0',
      JSON.stringify({ ...good, channels: { flow: { column: 1, unit: 'l/s', factor: 0 } } }),
      'mapping-value',
      'channels.flow.factor',
    ],
    [
      'one topic of two',
      JSON.stringify({ ...good, channels: { ...good.channels, flow: { column: 2, unit: 'l/s', topic: 'a' } } }),
      'mapping-value',
      'channels.turbidity.topic',
    ],
    [
      'a pointer that is none',
      JSON.stringify({ ...good, form: 'json', channels: { flow: { path: 'ntu', unit: 'l/s' } } }),
      'mapping-value',
      'channels.flow.path',
    ],
    [
      'a range upside down',
      JSON.stringify({ ...good, channels: { turbidity: { column: 1, unit: 'NTU', lo: 100, hi: 1 } } }),
      'mapping-value',
      'channels.turbidity.lo',
    ],
    ['a decimal comma between commas', JSON.stringify({ ...good, decimal: ',' }), 'mapping-value', 'decimal'],
    ['a button without its value', JSON.stringify({ ...good, pass: { column: 2 } }), 'mapping-value', 'pass.is'],
  ])('%s is told with its place', (_name, text, code, path) => {
    const read = readMapping(text);
    expect(read).toMatchObject({ problem: { code } });
    expect('problem' in read && read.problem.params['path']).toBe(path);
    expect('problem' in read && say(read.problem)).not.toContain('undefined');
  });

  test('a mark of the byte order before it is none of its faults', () => {
    expect(readMapping(`\uFEFF${JSON.stringify(good)}`)).toHaveProperty('mapping');
  });

  test('is named with its file', () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-mapping-'));
    const path = join(folder, 'garage.json');
    for (const text of ['{', JSON.stringify({ ...good, kit: 7 }), JSON.stringify(good)]) {
      writeFileSync(path, text);
      expect(() => mappedLink(path, 'broker', machineClock())).toThrow(path);
    }
    rmSync(folder, { recursive: true });
  });
});
