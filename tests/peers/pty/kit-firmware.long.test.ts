import { describe, expect, it } from 'vitest';
import { Random } from '../../../simulators/random.ts';
import { AvrKit } from '../../../simulators/kit/avr-kit.ts';
import { hasPty } from '../../../simulators/kit/pty.ts';
import { emptySample } from '../../../src/core/quantity/sample.ts';
import { checkResultSchema } from '../../../src/run/kit-check-points.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { avrHex, noAvr } from '../../firmware-bridge/firmware/build.ts';
import { limpid } from '../../src/cli/command-line.ts';
import { kitOnPty } from './kit-on-pty.ts';

const away = noAvr ?? (hasPty() ? null : 'missing: socat');

describe.skipIf(away)(`check my kit, on the very firmware over a pseudo-terminal${away ? ` (${away})` : ''}`, () => {
  it('finds nothing to fix, a restart in the middle included', async () => {
    const random = new Random('bench');
    const kit = new AvrKit({
      hex: avrHex(),
      clock: realClock,
      seed: 'bench',
      measure: () => ({
        ...emptySample(0),
        turbidityNtu: 60 + random.normal(),
        flowLpm: 9,
        pressureBar: 1.2,
        supplyC: 52,
        returnC: 44,
      }),
    });
    // The reset comes after the last question of the check, however slow this machine is.
    const line = await kitOnPty({
      start: (toBridge) => kit.start(toBridge),
      stop: () => kit.stop(),
      fromBridge(bytes) {
        kit.fromBridge(bytes);
        if (new TextDecoder().decode(bytes).includes('do-nothing-known')) setTimeout(() => kit.chip.reset(), 2000);
      },
    });
    const checking = limpid('kit', 'check', line.port, '--seconds', '20', '--json');
    const { code, stdout } = await checking;
    await line.stop();
    const result = checkResultSchema.parse(JSON.parse(stdout));
    expect(result.points.filter((p) => p.state === 'fix')).toEqual([]);
    expect(code).toBe(0);
    expect(result.points.find((p) => p.id === 'restart')?.state).toBe('ok');
    expect(result.firmware).toBe('0.1.0');
  });
});
