/**
 * A 12-bit digital thermometer on a 1-wire line, answering at the level of time slots. Times in microseconds, from the
 * device's public data sheet: reset low >= 480, presence 60 to 240 low after 15 to 60, slots of 60, read sampled by the
 * master within 15 of the falling edge. Register 0x0550 (+85) is the power-on value; conversion takes 750 ms at 12 bit.
 */
export interface OneWireHost {
  /** Microseconds of the chip's own time. */
  nowUs(): number;
  /** Call `fn` after `us` microseconds of the chip's time. */
  after(us: number, fn: () => void): void;
  /** The level that the chip reads while nobody else pulls the line down. */
  setLine(high: boolean): void;
}

export class OneWireThermometer {
  /** Temperature of its surroundings, degrees Celsius; null when the device is unplugged. */
  celsius: number | null;
  readonly rom: Uint8Array;
  readonly #host: OneWireHost;
  #lowSinceUs: number | null = null;
  #mode: 'idle' | 'rom-command' | 'function-command' | 'send' = 'idle';
  #inBits = 0;
  #inCount = 0;
  #out: number[] = [];
  #outBit = 0;
  #raw = 0x0550;

  constructor(host: OneWireHost, rom: Uint8Array, celsius: number | null) {
    this.#host = host;
    this.rom = rom;
    this.celsius = celsius;
  }

  /** The master pulled the line down, or let it go. */
  master(low: boolean): void {
    if (low) this.#fall();
    else this.#rise();
  }

  #fall(): void {
    if (this.#lowSinceUs !== null) return;
    this.#lowSinceUs = this.#host.nowUs();
    if (this.#mode !== 'send' || this.celsius === null) return;
    const byte = this.#out[this.#outBit >> 3] ?? 0xff;
    const one = ((byte >> (this.#outBit & 7)) & 1) === 1;
    this.#outBit++;
    if (!one) {
      this.#host.setLine(false);
      this.#host.after(30, () => this.#host.setLine(true));
    }
  }

  #rise(): void {
    if (this.#lowSinceUs === null) return;
    const lowUs = this.#host.nowUs() - this.#lowSinceUs;
    this.#lowSinceUs = null;
    if (this.celsius === null) return;
    if (lowUs >= 480) this.#reset();
    else if (this.#mode === 'rom-command' || this.#mode === 'function-command') this.#bit(lowUs < 15 ? 1 : 0);
  }

  #reset(): void {
    this.#mode = 'rom-command';
    this.#inBits = 0;
    this.#inCount = 0;
    this.#host.after(30, () => this.#host.setLine(false));
    this.#host.after(150, () => this.#host.setLine(true));
  }

  #bit(bit: number): void {
    this.#inBits |= bit << this.#inCount;
    this.#inCount++;
    if (this.#inCount < 8) return;
    const command = this.#inBits;
    this.#inBits = 0;
    this.#inCount = 0;
    if (this.#mode === 'rom-command') {
      if (command === 0xcc) this.#mode = 'function-command';
      else if (command === 0x33) this.#send([...this.rom]);
      else this.#mode = 'idle';
      return;
    }
    if (command === 0x44) this.#convert();
    else if (command === 0xbe) this.#send(this.#scratchpad());
    else this.#mode = 'idle';
  }

  #convert(): void {
    this.#mode = 'idle';
    const celsius = this.celsius ?? 0;
    this.#host.after(700_000, () => {
      this.#raw = Math.round(celsius * 16) & 0xffff;
    });
  }

  #send(bytes: number[]): void {
    this.#mode = 'send';
    this.#out = bytes;
    this.#outBit = 0;
  }

  #scratchpad(): number[] {
    const bytes = [this.#raw & 0xff, this.#raw >> 8, 75, 70, 0x7f, 0xff, 0x10, 0x10];
    return [...bytes, crc8(bytes)];
  }
}

/** CRC-8/MAXIM-DOW; "123456789" gives 0xA1. */
export function crc8(bytes: Iterable<number>): number {
  let crc = 0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >> 1) ^ 0x8c : crc >> 1;
  }
  return crc;
}

/** A ROM code of the thermometer family (0x28) with its CRC, made from a number. */
export function romCode(serial: number): Uint8Array {
  const bytes = [0x28];
  for (let i = 0; i < 6; i++) bytes.push(Math.floor(serial / 256 ** i) & 0xff);
  return Uint8Array.from([...bytes, crc8(bytes)]);
}
