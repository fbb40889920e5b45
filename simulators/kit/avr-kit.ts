import type { PipePeer } from '../../firmware-bridge/transport/pipe-peer.ts';
import type { TransportClock } from '../../firmware-bridge/transport/transport.ts';
import type { Sample } from '../../src/core/quantity/sample.ts';
import { Random } from '../random.ts';
import { AvrChip, loadHex, type ChipInputs } from './avr-chip.ts';

export interface AvrKitOptions {
  /** The built firmware, Intel HEX. */
  readonly hex: string;
  readonly clock: TransportClock;
  readonly seed: string;
  /** Let the world go on by so many seconds and read the sensors. */
  readonly measure: (elapsedS: number) => Sample;
}

/** The chip's time is run in slices this long: short enough for a live trace, long enough to be cheap. */
const sliceS = 0.02;
/** After a pause of the process the chip goes on from where it was. */
const longestStepS = 0.5;

const silent: ChipInputs = {
  pressureShare: null,
  turbidityShare: null,
  conductivityShare: null,
  flowHz: 0,
  supplyC: null,
  returnC: null,
  buttonDown: false,
};

/**
 * A kit that is the real firmware in a simulated chip, its pins driven by the physics: the far end of the pipe, or of a
 * pseudo-terminal. Needs about half a core at real time.
 */
export class AvrKit implements PipePeer {
  readonly chip: AvrChip;
  readonly #options: AvrKitOptions;
  #send: ((bytes: Uint8Array) => void) | null = null;
  #cancel: (() => void) | null = null;
  #lastS = 0;
  #out: number[] = [];
  #pressedS = 0;

  constructor(options: AvrKitOptions) {
    this.#options = options;
    const random = new Random(options.seed);
    // A real converter's own noise is near half a step; it is what lets averaging see below one step.
    this.chip = new AvrChip(loadHex(options.hex), { ...silent }, { converterNoise: () => random.normal() * 0.6 });
    this.chip.onByte = (byte) => this.#out.push(byte);
  }

  start(toBridge: (bytes: Uint8Array) => void): void {
    if (this.#send) return;
    this.#send = toBridge;
    this.#lastS = this.#options.clock.nowS();
    this.#wait();
  }

  stop(): void {
    this.#send = null;
    this.#cancel?.();
    this.#cancel = null;
  }

  fromBridge(bytes: Uint8Array): void {
    this.chip.receive(bytes);
  }

  /** A finger on the button for a tenth of a second of the chip's time. */
  press(): void {
    this.#pressedS = 0.1;
  }

  #wait(): void {
    this.#cancel = this.#options.clock.after(sliceS, () => {
      const now = this.#options.clock.nowS();
      const elapsed = Math.min(longestStepS, Math.max(0, now - this.#lastS));
      this.#lastS = now;
      Object.assign(this.chip.inputs, pinsOf(this.#options.measure(elapsed)));
      this.chip.inputs.buttonDown = this.#pressedS > 0;
      this.#pressedS -= elapsed;
      this.chip.run(elapsed);
      if (this.#out.length > 0) this.#send?.(Uint8Array.from(this.#out));
      this.#out = [];
      if (this.#send) this.#wait();
    });
  }
}

/** What the sensors' outputs do to the pins, by the firmware's default settings (firmware kit-core/settings.hpp). */
export function pinsOf(sample: Sample): Partial<ChipInputs> {
  const { turbidityNtu, pressureBar, flowLpm } = sample;
  return {
    // 0.5 V in clean water, 1000 NTU a volt, of 5 V.
    turbidityShare: turbidityNtu === null ? null : (0.5 + turbidityNtu / 1000) / 5,
    pressureShare: pressureBar === null ? null : 0.1 + (0.8 * pressureBar) / 10,
    flowHz: ((flowLpm ?? 0) / 60) * 450,
    supplyC: sample.supplyC,
    returnC: sample.returnC,
  };
}
