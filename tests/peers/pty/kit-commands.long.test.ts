import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { certificateSchema } from '../../../firmware-bridge/calibration/certificate.ts';
import { VirtualKit, type VirtualKitOptions } from '../../../simulators/kit/virtual-kit.ts';
import { hasPty } from '../../../simulators/kit/pty.ts';
import { emptySample, type Sample } from '../../../src/core/quantity/sample.ts';
import { type CheckResult, checkResultSchema } from '../../../src/run/kit-check-points.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { limpid } from '../../src/cli/command-line.ts';
import { type KitOnPty, kitOnPty } from './kit-on-pty.ts';

const channels: VirtualKitOptions['channels'] = {
  turbidity: { lo: 0, hi: 1000, step: 0.5 },
  flow: { lo: 0, hi: 60, step: 0.1 },
  't-supply': { lo: -10, hi: 110, step: 0.0625 },
  't-return': { lo: -10, hi: 110, step: 0.0625 },
};

describe.skipIf(!hasPty())('limpid kit, over a pseudo-terminal (socat)', () => {
  let data = '';
  let line: KitOnPty;
  let kit: VirtualKit;
  let water: Partial<Sample>;
  let at = 0;

  const plugIn = async (): Promise<void> => {
    water = { turbidityNtu: 8, flowLpm: 10, pressureBar: 1.2, supplyC: 55, returnC: 45 };
    at = 0;
    kit = new VirtualKit({
      kit: 'urn:dev:mac:0200000000000001',
      clock: realClock,
      rateHz: 20,
      seed: 'bench',
      channels,
      pressed: () => false,
      // A step of noise, so that nothing is flat.
      measure: () => {
        at += 1;
        const wobble = at % 2 === 0 ? 0.5 : 0;
        const ntu = water.turbidityNtu === null ? null : (water.turbidityNtu ?? 0) + wobble;
        return { ...emptySample(at), ...water, turbidityNtu: ntu };
      },
    });
    line = await kitOnPty(kit);
  };

  beforeEach(async () => {
    data = mkdtempSync(join(tmpdir(), 'limpid-kit-data-'));
    await plugIn();
  });
  afterEach(async () => {
    await line.stop();
    rmSync(data, { recursive: true, force: true });
  });

  const check = async (seconds = 2.4): Promise<{ code: number; result: CheckResult }> => {
    const ran = await limpid('kit', 'check', line.port, '--seconds', String(seconds), '--json');
    return { code: ran.code, result: checkResultSchema.parse(JSON.parse(ran.stdout)) };
  };
  const point = (result: CheckResult, id: string) => result.points.find((p) => p.id === id);

  it('asks the kit, and tells its answer or that it refused', async () => {
    const hello = await limpid('kit', 'hello', line.port);
    expect(hello.stdout).toContain('firmware virtual 1, 20 packs a second');
    expect(hello.stdout).toContain('turbidity: lo 0 NTU, hi 1000 NTU, step 0.5 NTU');
    const rate = await limpid('kit', 'rate', line.port, '10');
    expect(rate.stdout).toContain('10 packs a second');
    expect((await limpid('kit', 'blink', line.port)).code).toBe(0);
    const much = await limpid('kit', 'rate', line.port, '400');
    expect([much.code, much.stdout]).toEqual([1, 'A kit cannot be asked for 400 packs a second: 0.5 to 20.\n']);
  });

  it('says plainly that a kit does not answer', async () => {
    kit.fromBridge = () => undefined;
    const ran = await limpid('kit', 'hello', line.port);
    expect(ran.code).toBe(1);
    expect(ran.stdout).toContain('has not answered within 5 s');
  });

  it('finds nothing to fix at a good kit, and says what it could not see', async () => {
    const { code, result } = await check();
    expect(result.points.filter((p) => p.state === 'fix')).toEqual([]);
    expect(code).toBe(0);
    expect(result.verdict).toBe('ok');
    expect(point(result, 'rate')?.figures['rateHz']).toBeCloseTo(20, 0);
    expect(point(result, 'restart')?.state).toBe('not-seen');
    expect(point(result, 'clock')?.state).toBe('not-seen');
    expect(point(result, 'commands')?.state).toBe('ok');
    expect(point(result, 'command-unknown')?.state).toBe('ok');
    expect(point(result, 'wires')?.state).toBe('ok');
    expect(result.points.every((p) => (p.state === 'ok') === (p.next === ''))).toBe(true);
  });

  it('sees a restart, and that boot rose', async () => {
    const checking = check(4);
    setTimeout(() => kit.fault('reset'), 1500);
    const restart = point((await checking).result, 'restart');
    expect(restart?.state).toBe('ok');
    expect(restart?.figures['restarts']).toBe(1);
  });

  it.each([
    ['noise', 'lines', /electrical noise/],
    ['cut', 'lines', /damaged on the way|whole line each/],
    ['duplicate', 'sequence', /twice/],
    ['drop', 'sequence', /missing/],
  ] as const)('names %s on the line', async (fault, id, word) => {
    const checking = check();
    setTimeout(() => kit.fault(fault), 1000);
    if (fault === 'drop') setTimeout(() => kit.fault('calm'), 1700);
    const { code, result } = await checking;
    const found = point(result, id);
    expect(`${found?.text} ${found?.next}`).toMatch(word);
    expect(found?.state).toBe('fix');
    expect(code).toBe(1);
  });

  it('sees swapped thermometers, a turbidity sensor on the pressure pin, and an unplugged one', async () => {
    water = { ...water, supplyC: 40, returnC: 52 };
    expect(point((await check(2)).result, 'wires')?.next).toContain('two thermometers are swapped');
    water = { ...water, supplyC: 55, returnC: 45, pressureBar: -0.6 };
    expect(point((await check(2)).result, 'wires')?.next).toContain('turbidity sensor there');
    water = { ...water, turbidityNtu: null };
    expect(point((await check(2)).result, 'channel-turbidity')?.state).toBe('fix');
  });

  it('shows raw and calibrated values', async () => {
    const ran = await limpid('kit', 'watch', line.port, '--once', '--data', data);
    expect(ran.stdout).toMatch(/flow 10 l\/min {2}pressure 1.2 bar/);
  });

  it('calibrates by standards measured on the kit, keeps the certificate, and shows readings by it', async () => {
    water = { ...water, pressureBar: 0.06 };
    const words = ['--data', data, '--who', 'A. Bench', '--seconds', '1', '--standard', 'value=0,u=0.005'];
    const ran = await limpid('kit', 'calibrate', 'pressure', line.port, ...words, '--json');
    expect(ran.stderr).toContain('Measuring for 1 s');
    const certificate = certificateSchema.parse(JSON.parse(ran.stdout));
    expect(certificate.curve).toMatchObject({ kind: 'line', a: expect.closeTo(-0.06, 9), b: 1 });
    expect(certificate.id).toBe('pressure-0200000000000001-1');
    const shown = await limpid('kit', 'watch', line.port, '--once', '--data', data);
    expect(shown.stdout).toContain('pressure 0 bar (kit 0.06)');
    const kept = await limpid('kit', 'certificates', '--data', data);
    expect(kept.stdout).toContain('by A. Bench, due');
  });

  it('refuses to calibrate what moves, what is not sent, and what nobody could mean', async () => {
    const base = ['--data', data, '--who', 'A', '--seconds', '1.5'];
    const drifting = setInterval(() => {
      water = { ...water, pressureBar: (water.pressureBar ?? 0) + 0.05 };
    }, 100);
    const moving = await limpid('kit', 'calibrate', 'pressure', line.port, ...base, '--standard', 'value=0');
    clearInterval(drifting);
    expect([moving.code, moving.stderr]).toEqual([1, expect.stringContaining('Wait until it stands still')]);
    const silent = await limpid('kit', 'calibrate', 'conductivity', line.port, ...base, '--standard', 'value=400');
    expect(silent.stderr).toContain('sends no conductivity');
    const wide = await limpid('kit', 'calibrate', 't-supply', line.port, ...base, '--standard', 'value=0');
    expect(wide.stderr).toContain('more than a good sensor can be');
    const one = await limpid('kit', 'calibrate', 'turbidity', line.port, ...base, '--standard', 'value=20');
    expect(one.stderr).toContain('One standard is not enough');
  });

  it('says wrong speed and no permission in place of "no kit"', async () => {
    kit.stop();
    const rubbish = setInterval(() => line.write(Uint8Array.from({ length: 40 }, (_, i) => 0x80 + i)), 50);
    const wrong = await limpid('kit', 'hello', line.port);
    clearInterval(rubbish);
    expect(wrong.stderr).toContain('gives bytes but no text at 115200 baud');
    const none = await limpid('kit', 'hello', '/dev/ttyUSB99');
    expect([none.code, none.stderr]).toEqual([1, expect.stringContaining('There is no port /dev/ttyUSB99')]);
  });
});
