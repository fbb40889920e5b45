import type { Pack } from '../../../firmware-bridge/wire/pack.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { AvrChip, loadHex, type ChipInputs } from '../../../simulators/kit/avr-chip.ts';
import { avrHex } from './build.ts';

/** A kit on a bench: 1.2 bar, 61.5 NTU by the default line, 10 l/min. */
const bench: ChipInputs = {
  pressureShare: 0.1 + 0.8 * 0.12,
  turbidityShare: 0.1 + 0.0123,
  conductivityShare: null,
  flowHz: 75,
  supplyC: 45.0625,
  returnC: -10.125,
  buttonDown: false,
};

/** The binary on that bench, its bytes read by the bridge's own reader. */
export class Bench {
  readonly inputs: ChipInputs = { ...bench };
  readonly chip = new AvrChip(loadHex(avrHex()), this.inputs);
  readonly reader = new WireReader();
  readonly packs: Pack[] = [];
  refused = 0;

  constructor() {
    this.chip.onByte = (byte) => {
      for (const decoded of this.reader.push(Uint8Array.of(byte))) {
        if (decoded.ok) this.packs.push(decoded.pack);
        else this.refused++;
      }
    };
  }

  run(seconds: number): Pack {
    this.chip.run(seconds);
    const last = this.packs.at(-1);
    if (!last) throw new Error('the chip sent nothing');
    return last;
  }

  command(json: string): void {
    this.chip.receive(new TextEncoder().encode(`${json}\n`));
  }
}
