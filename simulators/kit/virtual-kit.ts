import type { PipePeer } from '../../firmware-bridge/transport/pipe-peer.ts';
import type { TransportClock } from '../../firmware-bridge/transport/transport.ts';
import { encodeLine, type PackToSend } from '../../firmware-bridge/wire/encode.ts';
import type { Hello } from '../../firmware-bridge/wire/pack.ts';
import type { Sample } from '../../src/core/quantity/sample.ts';
import { Random } from '../random.ts';
import { faultLengthS, type KitFault } from './kit-faults.ts';
import { readCommand } from './kit-command.ts';

export interface VirtualKitOptions {
  /** Kit URN. */
  readonly kit: string;
  readonly clock: TransportClock;
  readonly rateHz: number;
  readonly seed: string;
  readonly channels: Hello['channels'];
  /** Let the world go on by so many seconds and read the sensors. */
  readonly measure: (elapsedS: number) => Sample;
  /** What the converters give for a sample, `raw-<channel>`; none unless told. */
  readonly raw?: (sample: Sample) => Readonly<Record<string, number>>;
  /** The engineer pressed the kit's button since the last pack. */
  readonly pressed: () => boolean;
}

/** After a pause of the process the world goes on from where it was; it does not leap. */
const longestStepS = 5;

/** A kit in software: our wire from the physics, paced by the clock it is given. The far end of the in-process pipe. */
export class VirtualKit implements PipePeer {
  readonly #options: VirtualKitOptions;
  readonly #random: Random;
  #send: ((bytes: Uint8Array) => void) | null = null;
  #cancel: (() => void) | null = null;
  #rateHz: number;
  #boot = 1;
  #seq = 0;
  #startedS = 0;
  #lastS = 0;
  #nextS = 0;
  #helloDue = true;
  #refused: string | null = null;
  #driftPpm = 0;
  readonly #until = new Map<KitFault, number>();
  #incoming: number[] = [];

  constructor(options: VirtualKitOptions) {
    this.#options = options;
    this.#random = new Random(options.seed);
    this.#rateHz = options.rateHz;
  }

  start(toBridge: (bytes: Uint8Array) => void): void {
    if (this.#send) return;
    this.#send = toBridge;
    const now = this.#options.clock.nowS();
    if (this.#startedS === 0 && this.#seq === 0) this.#startedS = now;
    this.#lastS = now;
    this.#nextS = now;
    this.#helloDue = true;
    this.#wait();
  }

  stop(): void {
    this.#send = null;
    this.#cancel?.();
    this.#cancel = null;
  }

  /** Commands come as lines; a line longer than the wire's 1024 bytes is thrown away. */
  fromBridge(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (byte === 10) {
        const line = Uint8Array.from(this.#incoming.at(-1) === 13 ? this.#incoming.slice(0, -1) : this.#incoming);
        this.#incoming = [];
        if (line.length > 0) this.#obey(line);
      } else if (this.#incoming.length < 1024) this.#incoming.push(byte);
    }
  }

  /** Begin a trouble now; 'calm' ends them all. */
  fault(name: KitFault): void {
    const now = this.#options.clock.nowS();
    if (name === 'calm') {
      this.#until.clear();
      this.#driftPpm = 0;
      return;
    }
    if (name === 'drift') this.#driftPpm = 200;
    if (name === 'reset') {
      this.#boot += 1;
      this.#seq = 0;
      this.#startedS = now + faultLengthS.reset;
      this.#helloDue = true;
    }
    this.#until.set(name, now + faultLengthS[name]);
  }

  #has(name: KitFault): boolean {
    return this.#options.clock.nowS() < (this.#until.get(name) ?? Number.NEGATIVE_INFINITY);
  }

  #wait(): void {
    const { clock } = this.#options;
    const now = clock.nowS();
    // The beat is kept against the clock, so that late timers do not add up; a long pause is not made up for.
    this.#nextS += 1 / this.#rateHz;
    this.#cancel = clock.after(Math.max(0, this.#nextS - now), () => {
      this.#beat();
      if (this.#send) this.#wait();
    });
  }

  /** Every beat that is due by now: one, or several after a late timer (a clock that runs at a thousandfold). */
  #beat(): void {
    const now = this.#options.clock.nowS();
    this.#nextS = Math.max(this.#nextS, now - longestStepS);
    this.#tick(this.#nextS);
    while (this.#send && this.#nextS + 1 / this.#rateHz <= now) {
      this.#nextS += 1 / this.#rateHz;
      this.#tick(this.#nextS);
    }
  }

  #tick(now: number): void {
    const elapsed = Math.min(longestStepS, Math.max(0, now - this.#lastS));
    this.#lastS = now;
    const sample = this.#options.measure(elapsed);
    if (this.#has('stall') || this.#has('reset')) return;
    this.#deliver(encodeLine(this.#pack(now, sample)));
  }

  #pack(now: number, sample: Sample): PackToSend {
    const { timeS: _ignored, ...values } = sample;
    const upS = Number(((now - this.#startedS) * (1 + this.#driftPpm * 1e-6)).toFixed(3));
    const hello = this.#helloDue
      ? { firmware: 'virtual 1', rateHz: this.#rateHz, channels: this.#options.channels }
      : null;
    const refused = this.#refused;
    this.#helloDue = false;
    this.#refused = null;
    const seq = this.#seq;
    this.#seq += 1;
    // A hello fills its own pack: with the values it would not fit the wire's 1024 bytes.
    const raw = this.#options.raw?.(sample) ?? {};
    const said = hello ? {} : { values, raw, pass: this.#options.pressed() };
    return { kit: this.#options.kit, boot: this.#boot, seq, upS: Math.max(0, upS), hello, refused, ...said };
  }

  #deliver(line: Uint8Array): void {
    const send = this.#send;
    if (!send || this.#has('drop')) return;
    if (this.#has('noise') && this.#random.chance(0.4)) send(this.#rubbish());
    if (this.#has('cut') && this.#random.chance(0.4)) {
      const at = this.#random.whole(1, line.length - 2);
      send(this.#random.chance(0.5) ? line.slice(0, at) : line.slice(at));
      return;
    }
    send(line);
    if (this.#has('duplicate')) send(line);
  }

  #rubbish(): Uint8Array {
    return Uint8Array.from({ length: this.#random.whole(1, 60) }, () => this.#random.whole(0, 255));
  }

  #obey(line: Uint8Array): void {
    const command = readCommand(line);
    switch (command.kind) {
      case 'hello':
        this.#helloDue = true;
        break;
      case 'rate':
        this.#rateHz = command.hz;
        this.#helloDue = true;
        break;
      case 'blink':
      case 'zero':
        // A simulated kit has no lamp to blink and no offset to take away; it answers as one that did.
        this.#helloDue = true;
        break;
      case 'unknown':
        this.#refused = command.why;
        break;
    }
  }
}
