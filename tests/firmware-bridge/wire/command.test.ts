import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CommandDesk, encodeCommand, type KitCommand, rateRangeHz } from '../../../firmware-bridge/wire/command.ts';
import { decodeLine } from '../../../firmware-bridge/wire/decode.ts';
import { encodeLine, type PackToSend, textLine } from '../../../firmware-bridge/wire/encode.ts';
import type { Hello, Pack } from '../../../firmware-bridge/wire/pack.ts';
import { readCommand } from '../../../simulators/kit/kit-command.ts';
import { channels } from '../../../src/core/quantity/channels.ts';
import { say } from '../../../src/core/message/message.ts';
import { hostKit, noHost } from '../firmware/build.ts';
import { kit } from './packs.ts';

const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString();
const line = (command: KitCommand): Uint8Array => encodeCommand(command).slice(0, -1);

const anyCommand: fc.Arbitrary<KitCommand> = fc.oneof(
  fc.constant<KitCommand>({ kind: 'hello' }),
  fc.constant<KitCommand>({ kind: 'blink' }),
  fc.constantFrom(...channels.map((c): KitCommand => ({ kind: 'zero', channel: c.name }))),
  fc
    .integer({ min: rateRangeHz.min * 1000, max: rateRangeHz.max * 1000 })
    .map((mHz): KitCommand => ({ kind: 'rate', hz: mHz / 1000 })),
);

describe('a command on its way', () => {
  test('is one line with a check sum, as docs/wire.md has it', () => {
    expect(text(encodeCommand({ kind: 'rate', hz: 10 }))).toBe('[{"n":"do-rate","u":"1/s","v":10}]*161D\n');
    expect(text(encodeCommand({ kind: 'hello' }))).toMatch(/^\[\{"n":"do-hello","vb":true\}\]\*[0-9A-F]{4}\n$/);
  });

  test('is understood by the simulated kit as it was meant', () => {
    fc.assert(
      fc.property(anyCommand, (command) => {
        expect(readCommand(line(command))).toEqual(command);
      }),
    );
  });

  test.skipIf(noHost)('is understood by the firmware as by the simulated kit, the wrong ones too', () => {
    const right = fc.sample(anyCommand, { numRuns: 300, seed: 3 }).map(encodeCommand);
    const wrong = [
      '[{"n":"do-rate","v":0.4}]',
      '[{"n":"do-rate","v":21}]',
      '[{"n":"do-rate"}]',
      '[{"n":"do-hello","vb":false}]',
      '[{"n":"do-blink"}]',
      '[{"n":"do-zero"}]',
      '[{"n":"do-dance","vb":true}]',
    ].map((json) => textLine(json));
    const spoken = hostKit(['commands'], [...right, ...wrong].map(text).join(''))
      .trimEnd()
      .split('\n');
    const simulated = [...right, ...wrong].map((bytes) => {
      const read = readCommand(bytes.slice(0, -1));
      switch (read.kind) {
        case 'rate':
          return `rate ${Math.fround(read.hz).toFixed(4)}`;
        case 'zero':
          return `zero ${read.channel}`;
        case 'unknown':
          return `refused ${read.why}`;
        case 'hello':
        case 'blink':
          return read.kind;
      }
    });
    expect(spoken).toEqual(simulated);
  });
});

const answer = (more: Partial<PackToSend> = {}): Pack => {
  const decoded = decodeLine(encodeLine({ kit, boot: 1, seq: 0, upS: 1, ...more }).slice(0, -1));
  if (!decoded.ok) throw new Error(decoded.reject.code);
  return decoded.pack;
};
const hello = (rateHz: number): Hello => ({ firmware: '1', rateHz, channels: {} });

describe('the desk that follows commands', () => {
  test('sends one, takes the next hello for its answer, then sends the one that waited', () => {
    const desk = new CommandDesk();
    expect(desk.ask({ kind: 'blink' }, 0)).toMatchObject({ send: encodeCommand({ kind: 'blink' }), wakeS: 5 });
    expect(desk.ask({ kind: 'zero', channel: 'pressure' }, 1)).toEqual({ send: null, tell: null, wakeS: 5 });
    expect(desk.heard(answer(), 1.5).tell).toBeNull();
    const order = desk.heard(answer({ hello: hello(10) }), 2);
    expect(order.tell).toMatchObject({ command: { kind: 'blink' }, hello: { firmware: '1' }, problem: null });
    expect(order).toMatchObject({ send: encodeCommand({ kind: 'zero', channel: 'pressure' }), wakeS: 7 });
  });

  test('gives the reason of a refusal', () => {
    const desk = new CommandDesk();
    desk.ask({ kind: 'zero', channel: 'flow' }, 0);
    const { tell } = desk.heard(answer({ refused: 'no zero of flow' }), 1);
    expect(tell?.problem).toEqual({ code: 'command-refused', params: { why: 'no zero of flow' } });
    expect(say(tell?.problem ?? { code: '', params: {} })).toContain('no zero of flow');
  });

  test('waits no longer than its time, and says so', () => {
    const desk = new CommandDesk();
    desk.ask({ kind: 'hello' }, 10);
    expect(desk.pass(14.9)).toEqual({ send: null, tell: null, wakeS: 15 });
    expect(desk.pass(15).tell?.problem?.code).toBe('command-no-answer');
    expect(desk.pass(99)).toEqual({ send: null, tell: null, wakeS: null });
  });

  test('believes a new rate only when the hello says it', () => {
    const desk = new CommandDesk();
    desk.ask({ kind: 'rate', hz: 5 }, 0);
    expect(desk.heard(answer({ hello: hello(10) }), 1).tell).toBeNull();
    expect(desk.pass(5).tell?.problem).toEqual({ code: 'command-other-rate', params: { found: 10 } });
    desk.ask({ kind: 'rate', hz: 7.3 }, 10);
    expect(desk.heard(answer({ hello: hello(7.299) }), 11).tell).toMatchObject({ problem: null });
  });

  test('takes no late pack for an answer, and tells a restart for what it is', () => {
    const desk = new CommandDesk();
    desk.heard(answer(), 0);
    desk.ask({ kind: 'zero', channel: 'pressure' }, 1);
    expect(desk.heard(answer({ hello: hello(10), late: true }), 2).tell).toBeNull();
    expect(desk.heard(answer({ boot: 2 }), 3).tell?.problem?.code).toBe('command-restart');
  });

  test('sends nothing that a kit cannot take, nor more than it can answer', () => {
    const desk = new CommandDesk();
    expect(desk.ask({ kind: 'rate', hz: 50 }, 0)).toMatchObject({
      send: null,
      tell: { problem: { code: 'command-rate', params: { found: 50, min: 0.5, max: 20 } } },
    });
    const orders = Array.from({ length: 10 }, () => desk.ask({ kind: 'hello' }, 0));
    expect(orders.filter((order) => order.send !== null)).toHaveLength(1);
    expect(orders.at(-1)?.tell?.problem?.code).toBe('command-many');
    expect(desk.notSent(1)).toMatchObject({ tell: { problem: { code: 'command-not-sent' } }, wakeS: 6 });
  });

  test('never has two under way, and ends each once, whatever happens', () => {
    const step = fc.constantFrom('ask', 'hello', 'plain', 'refused', 'restart', 'pass', 'fail');
    fc.assert(
      fc.property(fc.array(step, { maxLength: 60 }), (steps) => {
        const desk = new CommandDesk();
        let boot = 1;
        let asked = 0;
        let sent = 0;
        let ended = 0;
        for (const [nowS, what] of [...steps, ...new Array<string>(12).fill('pass')].entries()) {
          if (what === 'restart') boot++;
          if (what === 'ask') asked++;
          const pack: Partial<PackToSend> =
            what === 'hello' ? { boot, hello: hello(10) } : what === 'refused' ? { boot, refused: 'no' } : { boot };
          const order =
            what === 'ask'
              ? desk.ask({ kind: 'hello' }, nowS * 6)
              : what === 'pass'
                ? desk.pass(nowS * 6)
                : what === 'fail'
                  ? desk.notSent(nowS * 6)
                  : desk.heard(answer(pack), nowS * 6);
          if (order.tell) ended++;
          if (order.send) sent++;
          expect(sent - ended).toBeLessThanOrEqual(1);
        }
        expect(ended).toBe(asked);
      }),
    );
  });
});
