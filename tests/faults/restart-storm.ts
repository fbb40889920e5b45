import { encodeLine } from '../../firmware-bridge/wire/encode.ts';
import { emptySample, type Sample } from '../../src/core/quantity/sample.ts';
import { kitUrn } from './kit-line.ts';

/** What the sensor truly read at a time, so that a reading in the wrong place is known: NTU as seconds, with three decimals. */
export function readAt(timeS: number): number {
  return Math.round(timeS * 1000) / 1000;
}

export function readings(fromS: number, toS: number, hz = 10): Sample[] {
  const count = Math.round((toS - fromS) * hz);
  return Array.from({ length: count }, (_, i) => {
    const timeS = fromS + i / hz;
    return Object.assign(emptySample(timeS), { turbidityNtu: readAt(timeS), flowLpm: 12 });
  });
}

/** How far the readings stand from where they were taken, seconds; all of them, in order. */
export function misplacedS(samples: Iterable<Sample>): number[] {
  return [...samples].map((s) => s.timeS - (s.turbidityNtu ?? Number.NaN));
}

/** A kit whose power contact is loose: lives for a moment, is cut off in the middle of a line, begins again. */
export class LooseKit {
  #boot = 1;
  #seq = 0;
  #bornS: number;

  constructor(bornS: number) {
    this.#bornS = bornS;
  }

  line(nowS: number): Uint8Array {
    const values = { turbidityNtu: readAt(nowS), flowLpm: 12 };
    return encodeLine({ kit: kitUrn, boot: this.#boot, seq: this.#seq++, upS: nowS - this.#bornS, values });
  }

  /** The remains of the line that it was sending. */
  cutOff(nowS: number, share: number): Uint8Array {
    const line = this.line(nowS);
    this.#boot += 1;
    this.#seq = 0;
    this.#bornS = nowS;
    return line.slice(0, Math.floor(share * (line.length - 1)));
  }
}
