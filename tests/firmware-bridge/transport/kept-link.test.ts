import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';
import { Refusals } from '../../../firmware-bridge/wire/refusals.ts';
import { say } from '../../../src/core/message/message.ts';
import { expect, test } from 'vitest';
import { type Hearing, Listener } from '../../../firmware-bridge/transport/hearing.ts';
import {
  KeptLink,
  type Plug,
  type PlugEvents,
  type PlugRefusal,
} from '../../../firmware-bridge/transport/kept-link.ts';
import { HandClock } from '../../contracts/transport-clocks.ts';
import { Ear } from '../../contracts/transport.contract.ts';

/** A port whose fate is decided by the test. */
class FakePlug implements Plug {
  refuse: PlugRefusal | null = null;
  events: PlugEvents | null = null;
  opened = 0;
  openNow = 0;

  open(on: PlugEvents): ReturnType<Plug['open']> {
    this.opened++;
    if (this.refuse) return Promise.resolve(this.refuse);
    this.events = on;
    this.openNow++;
    return Promise.resolve({
      write: () => Promise.resolve(true),
      close: () => {
        this.openNow--;
        return Promise.resolve();
      },
    });
  }
}

const noPort: PlugRefusal = { problem: { code: 'transport-no-port', params: {} }, absent: true };
const busy: PlugRefusal = { problem: { code: 'transport-busy', params: {} }, absent: false };
const unplugged = { code: 'transport-unplugged', params: {} };

function rig(hearing: Hearing | null = null, refusals: Refusals | null = null) {
  const plug = new FakePlug();
  const clock = new HandClock();
  const link = new KeptLink('serial test', plug, clock, new Listener('/dev/test', 115200, hearing, refusals));
  return { plug, clock, link, ear: new Ear() };
}

/** Bytes each half second, so that the link is heard. */
async function talk({ plug, clock }: { plug: FakePlug; clock: HandClock }, seconds: number): Promise<void> {
  for (let s = 0; s < seconds; s += 0.5) {
    plug.events?.bytes(Uint8Array.of(0x41));
    await clock.pass(0.5);
  }
}

test('a port that is not there is looked for for ever, at least once a second, and told without flicker', async () => {
  const { plug, clock, link, ear } = rig();
  plug.refuse = noPort;
  await link.open(ear);
  await clock.pass(3600);
  expect(plug.opened).toBeGreaterThan(3500);
  expect(new Set(ear.kinds.slice(1))).toEqual(new Set(['waiting']));
  plug.refuse = null;
  await clock.pass(1);
  expect(link.state.kind).toBe('open');
});

test('a busy port is tried at growing distances, never more than five seconds apart', async () => {
  const { plug, clock, link, ear } = rig();
  plug.refuse = busy;
  await link.open(ear);
  await clock.pass(100);
  const waits = ear.states.flatMap((s) => (s.kind === 'waiting' ? [s.retryInS] : []));
  expect(waits.slice(0, 7)).toEqual([0.25, 0.5, 1, 2, 4, 5, 5]);
  expect(Math.max(...waits)).toBe(5);
  expect(plug.opened).toBeGreaterThan(20);
  expect(clock.timers).toBe(1);
});

test('a pulled cable is told at once and taken up again; the distances begin anew when bytes were heard', async () => {
  const all = rig();
  const { plug, clock, link, ear } = all;
  await link.open(ear);
  for (let i = 0; i < 5; i++) {
    await talk(all, 2);
    plug.events?.lost(unplugged);
    expect(link.state).toEqual({ kind: 'waiting', retryInS: 0.25, problem: unplugged });
    await clock.pass(0.3);
    expect(link.state.kind).toBe('open');
  }
  expect(plug.openNow).toBe(1);
});

test('silence is told, ends with the first byte, and a dead handle is opened anew while it lasts', async () => {
  const all = rig();
  const { plug, clock, link, ear } = all;
  await link.open(ear);
  await clock.pass(4.5);
  expect(link.state.kind).toBe('open');
  await clock.pass(1);
  expect(link.state).toMatchObject({ kind: 'silent', problem: { code: 'transport-silent' } });
  await clock.pass(60);
  expect(plug.opened).toBeGreaterThanOrEqual(3);
  expect(plug.openNow).toBe(1);
  expect(ear.kinds).toEqual(['opening', 'open', 'silent']);
  plug.events?.bytes(Uint8Array.of(0x41));
  expect(link.state.kind).toBe('open');
  await talk(all, 10);
  expect(ear.kinds).toEqual(['opening', 'open', 'silent', 'open']);
});

test('odd bytes without a pack mean a wrong speed, text without a pack another device, one pack ends both', async () => {
  for (const [odd, code] of [
    [40, 'transport-wrong-baud'],
    [0, 'transport-no-pack'],
  ] as const) {
    const heard = { bytes: 0, oddBytes: 0, packs: 0, duplicates: 0 };
    const all = rig(heard);
    await all.link.open(all.ear);
    for (let i = 0; i < 12; i++) {
      heard.bytes += 100;
      heard.oddBytes += odd;
      await talk(all, 0.5);
    }
    expect(all.link.state).toMatchObject({ kind: 'silent', problem: { code } });
    expect(all.plug.opened).toBe(1);
    heard.packs++;
    await talk(all, 1);
    expect(all.link.state.kind).toBe('open');
  }
});

test('text without a pack is told with why it was refused most often, and how the last line began', async () => {
  const heard = { bytes: 0, oddBytes: 0, packs: 0, duplicates: 0 };
  for (const [refusals, told] of [
    [new Refusals(), /No line of it came to its end/],
    [new Refusals(), /Most often: A line's check sum was 0000.* The last began "t;ntu;lpm"\.$/],
  ] as const) {
    if (told.source.startsWith('Most')) {
      for (let i = 0; i < 3; i++)
        refusals.add({ code: 'wire-crc', params: { found: '0000', expected: '1111' } }, textBytes('[{}]*0000'));
      refusals.add({ code: 'wire-not-json', params: { bytes: 9, start: 't;ntu;lpm' } }, textBytes('t;ntu;lpm'));
    }
    const all = rig(heard, refusals);
    await all.link.open(all.ear);
    for (let i = 0; i < 12; i++) {
      heard.bytes += 100;
      await talk(all, 0.5);
    }
    const { state } = all.link;
    expect('problem' in state ? say(state.problem) : '').toMatch(told);
  }
});

test('what an earlier opening still says is not heard', async () => {
  const { plug, clock, link, ear } = rig();
  await link.open(ear);
  const old = plug.events;
  old?.lost(unplugged);
  await clock.pass(1);
  expect(link.state.kind).toBe('open');
  old?.lost(unplugged);
  old?.bytes(Uint8Array.of(0x41));
  expect(link.state.kind).toBe('open');
  expect(ear.chunks).toEqual([]);
});

test('closing leaves no timer and no open port, whatever it was doing', async () => {
  for (const refuse of [null, busy]) {
    const { plug, clock, link, ear } = rig();
    plug.refuse = refuse;
    await link.open(ear);
    await clock.pass(7);
    await link.close();
    expect(clock.timers).toBe(0);
    expect(plug.openNow).toBe(0);
    const opened = plug.opened;
    await clock.pass(100);
    expect(plug.opened).toBe(opened);
  }
});
