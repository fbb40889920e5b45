import { describe, expect, it } from 'vitest';
import { textLine } from '../../../firmware-bridge/wire/encode.ts';
import { decodeLine } from '../../../firmware-bridge/wire/decode.ts';
import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { faultNames, startSimulatedRig } from '../../../simulators/simulate.ts';
import { ManualClock } from '../manual-clock.ts';

interface Heard {
  packs: Pack[];
  rejected: number;
  longest: number;
}

/** Splits what came into lines and decodes each, as a bridge does. */
function listen(rig: ReturnType<typeof startSimulatedRig>): Heard {
  const heard: Heard = { packs: [], rejected: 0, longest: 0 };
  let line: number[] = [];
  rig.peer.start((bytes) => {
    for (const byte of bytes) {
      if (byte !== 10) line.push(byte);
      else {
        heard.longest = Math.max(heard.longest, line.length + 1);
        const decoded = decodeLine(Uint8Array.from(line));
        if (decoded.ok) heard.packs.push(decoded.pack);
        else heard.rejected += 1;
        line = [];
      }
    }
  });
  return heard;
}

function rehearsal(seed = 1) {
  const clock = new ManualClock();
  const rig = startSimulatedRig({ scenario: 'rehearsal', seed, clock });
  return { clock, rig, heard: listen(rig) };
}

const event = (name: string, emitter = '') => ({ timeS: 0, event: name, emitter, note: '' });

describe('the virtual kit', () => {
  it('says hello, then ten packs a second, numbered, each within the wire', () => {
    const { clock, heard } = rehearsal();
    clock.advance(20.05);
    expect(heard.rejected).toBe(0);
    expect(heard.packs).toHaveLength(200);
    expect(heard.longest).toBeLessThanOrEqual(1024);
    expect(heard.packs[0]?.hello).toMatchObject({ rateHz: 10, channels: { turbidity: { step: 0.1 } } });
    expect(heard.packs.map((p) => p.seq)).toEqual(heard.packs.map((_, i) => i));
    expect(heard.packs.every((p) => p.rejects.length === 0)).toBe(true);
    expect(Object.keys(heard.packs[5]?.values ?? {}).sort()).toEqual(
      ['conductivityUsCm', 'flowLpm', 'pressureBar', 'returnC', 'supplyC', 'turbidityNtu'].sort(),
    );
  });

  it('answers commands with a hello, and what it does not know with a refusal', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(2);
    rig.peer.fromBridge(textLine('[{"n":"do-rate","u":"1/s","v":2}]'));
    clock.advance(10);
    expect(heard.packs.filter((p) => p.hello).at(-1)?.hello?.rateHz).toBe(2);
    expect(heard.packs.length).toBeLessThan(45);
    rig.peer.fromBridge(textLine('[{"n":"do-dance","vb":true}]'));
    clock.advance(2);
    expect(heard.packs.some((p) => p.refused !== null)).toBe(true);
  });

  it('starts again with a new boot number and seq from 0', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(5);
    rig.fault('reset');
    clock.advance(5);
    const first = heard.packs.find((p) => p.boot === 2);
    expect(first).toMatchObject({ seq: 0 });
    expect(first?.hello).not.toBeNull();
    expect(first?.upS).toBeLessThan(0.5);
  });

  it('drops numbered packs, hangs without numbering, doubles, cuts and makes noise by name', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(2);
    rig.fault('drop');
    clock.advance(10);
    const jump = heard.packs.some((p, i) => i > 0 && p.seq - (heard.packs[i - 1]?.seq ?? 0) > 70);
    expect(jump).toBe(true);
    rig.fault('stall');
    const before = heard.packs.at(-1)?.seq ?? 0;
    clock.advance(15.5);
    expect(heard.packs.at(-1)?.seq).toBeLessThan(before + 8);
    rig.fault('duplicate');
    clock.advance(3);
    expect(heard.packs.filter((p) => p.seq === heard.packs.at(-1)?.seq)).toHaveLength(2);
    rig.fault('calm');
    rig.fault('cut');
    clock.advance(5);
    rig.fault('noise');
    clock.advance(5);
    expect(heard.rejected).toBeGreaterThan(5);
    rig.fault('calm');
    clock.advance(1);
    const rejected = heard.rejected;
    clock.advance(5);
    expect(heard.rejected).toBe(rejected);
  });

  it('refuses an unknown fault or scenario by naming those there are', () => {
    const { rig } = rehearsal();
    for (const name of faultNames) expect(() => rig.fault(name)).not.toThrow();
    expect(() => rig.fault('storm')).toThrow(/there is: drop/);
    expect(() => startSimulatedRig({ scenario: 'x', seed: 1, clock: new ManualClock() })).toThrow(/rehearsal/);
  });

  it('keeps its beat when timers come late, and makes up for a few seconds at most', () => {
    let nowS = 0;
    let due: (() => void) | null = null;
    const clock = {
      nowS: () => nowS,
      after: (_delayS: number, fn: () => void) => {
        due = fn;
        return () => undefined;
      },
    };
    const heard = listen(startSimulatedRig({ scenario: 'rehearsal', seed: 1, clock }));
    const fire = (atS: number) => {
      nowS = atS;
      due?.();
    };
    for (let i = 1; i <= 10; i += 1) fire(i * 1.0001);
    expect(heard.packs).toHaveLength(100);
    const gaps = heard.packs.slice(1).map((p, i) => p.upS - (heard.packs[i]?.upS ?? 0));
    expect(Math.max(...gaps)).toBeCloseTo(0.1, 2);
    fire(3600);
    fire(3601);
    expect(heard.packs.length).toBeLessThan(170);
  });

  it('sends its button once', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(2);
    rig.press();
    clock.advance(2);
    expect(heard.packs.filter((p) => p.pass)).toHaveLength(1);
  });

  it('stops when told and goes on afterwards', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(1);
    rig.peer.stop();
    const count = heard.packs.length;
    clock.advance(30);
    expect(heard.packs).toHaveLength(count);
    rig.peer.start(() => heard.rejected++);
    clock.advance(0.5);
    expect(heard.rejected).toBeGreaterThan(0);
  });
});

describe('the rehearsal', () => {
  it('answers each pass with a smaller pulse, and is thin again within minutes', () => {
    const { clock, rig, heard } = rehearsal(7);
    clock.advance(30);
    rig.obey(event('stage:emitters'));
    clock.advance(5);
    for (const emitter of ['kitchen', 'parlour']) {
      rig.obey(event('emitter-open', emitter));
      clock.advance(60);
      const peaks: number[] = [];
      for (let pass = 0; pass < 4; pass += 1) {
        rig.obey(event('agitate-end', emitter));
        const from = heard.packs.length;
        clock.advance(170);
        const seen = heard.packs.slice(from).map((p) => p.values.turbidityNtu ?? 0);
        peaks.push(Math.max(...seen));
        const end = seen.slice(-100).sort((a, b) => a - b)[50] ?? 0;
        expect(end).toBeLessThan(60);
      }
      expect(peaks[0]).toBeGreaterThan(250);
      expect(peaks[1]).toBeLessThan(0.6 * (peaks[0] ?? 0));
      expect(peaks[3]).toBeLessThan(0.15 * (peaks[0] ?? 0));
    }
  });

  it('obeys valves and pump: one emitter at a time, no flow when shut or stopped', () => {
    const { clock, rig, heard } = rehearsal();
    const flow = () => heard.packs.at(-1)?.values.flowLpm ?? -1;
    rig.obey(event('stage:emitters'));
    rig.obey(event('emitter-open', 'hall'));
    clock.advance(10);
    expect(flow()).toBeGreaterThan(13);
    rig.obey(event('emitter-open', 'loft-room'));
    clock.advance(10);
    expect(flow()).toBeGreaterThan(9);
    expect(flow()).toBeLessThan(13);
    rig.obey(event('rig-pump-off'));
    clock.advance(10);
    expect(flow()).toBe(0);
    rig.obey(event('rig-pump-on'));
    rig.obey(event('emitter-shut', 'loft-room'));
    clock.advance(10);
    expect(flow()).toBe(0);
  });

  it('rinses to the mains when told that the rinse begins', () => {
    const { clock, rig, heard } = rehearsal();
    clock.advance(10);
    rig.obey(event('dose'));
    clock.advance(300);
    rig.obey(event('stage:rinse'));
    clock.advance(700);
    const last = heard.packs.at(-1)?.values;
    expect(last?.conductivityUsCm).toBeLessThan(462);
    expect(last?.turbidityNtu).toBeLessThan(5);
  });

  it('is the same again for the same seed and deeds', () => {
    const bytes = (seed: number) => {
      const clock = new ManualClock();
      const rig = startSimulatedRig({ scenario: 'rehearsal', seed, clock });
      const all: number[] = [];
      rig.peer.start((b) => all.push(...b));
      clock.advance(20);
      rig.obey(event('emitter-open', 'study'));
      clock.advance(20);
      return all;
    };
    expect(bytes(3)).toEqual(bytes(3));
    expect(bytes(3)).not.toEqual(bytes(4));
  });
});
