import type { ChannelName } from '../../src/core/quantity/channels.ts';
import { textLine } from './encode.ts';
import type { Hello, Pack, Reject } from './pack.ts';

/** What the bridge may ask of a kit (docs/wire.md, "Commands"). */
export type KitCommand =
  | { readonly kind: 'hello' }
  /** Packs a second from now on. */
  | { readonly kind: 'rate'; readonly hz: number }
  /** Take what the channel reads now as zero. */
  | { readonly kind: 'zero'; readonly channel: ChannelName }
  | { readonly kind: 'blink' };

/** Rates that the bridge asks for; our own firmware takes no other. */
export const rateRangeHz = { min: 0.5, max: 20 } as const;

/** Why this must not be sent, or null. */
export function commandProblem(command: KitCommand): Reject | null {
  if (command.kind !== 'rate' || (command.hz >= rateRangeHz.min && command.hz <= rateRangeHz.max)) return null;
  return { code: 'command-rate', params: { found: command.hz, ...rateRangeHz } };
}

/** A command as it goes to the kit: one record, check sum, line feed; under 128 bytes, plain enough for a small reader. */
export function encodeCommand(command: KitCommand): Uint8Array {
  const name = `do-${command.kind}`;
  switch (command.kind) {
    case 'hello':
    case 'blink':
      return textLine(JSON.stringify([{ n: name, vb: true }]));
    case 'rate':
      return textLine(JSON.stringify([{ n: name, u: '1/s', v: Number(command.hz.toFixed(3)) }]));
    case 'zero':
      return textLine(JSON.stringify([{ n: name, vs: command.channel }]));
  }
}

/** How a command ended: with the hello that answered it, or with what went wrong. */
export interface CommandEnd {
  readonly command: KitCommand;
  readonly hello: Hello | null;
  readonly problem: Reject | null;
}

/** What to do: bytes to send, an end to tell, and when to call `pass` next (null: no need). */
export interface DeskOrder {
  readonly send: Uint8Array | null;
  readonly tell: CommandEnd | null;
  readonly wakeS: number | null;
}

/** A kit answers with its next pack, at least one each 2 s; the rest is for the way there and back. */
const answerWithinS = 5;
const mostWaiting = 8;
/** A kit may keep its rate as a whole number of milliseconds. */
const rateTolerance = 0.02;

/**
 * Follows the commands to one kit: one at a time, each until its answer (the next hello, or `refused`), its time-out or
 * a restart of the kit. Holds no timer: time comes in, seconds, orders go out.
 */
export class CommandDesk {
  readonly #waiting: KitCommand[] = [];
  #asked: { readonly command: KitCommand; readonly untilS: number } | null = null;
  #boot: number | null = null;
  #otherRateHz: number | null = null;

  ask(command: KitCommand, nowS: number): DeskOrder {
    const problem = commandProblem(command);
    if (problem) return this.#told({ command, hello: null, problem });
    if (this.#waiting.length >= mostWaiting)
      return this.#told({ command, hello: null, problem: { code: 'command-many', params: { most: mostWaiting } } });
    this.#waiting.push(command);
    return this.#asked ? this.#still() : this.#next(nowS, null);
  }

  /** The bytes of the last order could not be sent. */
  notSent(nowS: number): DeskOrder {
    return this.#end(null, { code: 'command-not-sent', params: {} }, nowS);
  }

  heard(pack: Pack, nowS: number): DeskOrder {
    if (pack.late) return this.#still();
    const known = this.#boot;
    this.#boot = pack.boot;
    const asked = this.#asked;
    if (!asked) return this.#still();
    if (pack.refused !== null) return this.#end(null, { code: 'command-refused', params: { why: pack.refused } }, nowS);
    if (pack.hello && this.#answers(asked.command, pack.hello)) return this.#end(pack.hello, null, nowS);
    if (known !== null && known !== pack.boot) return this.#end(null, { code: 'command-restart', params: {} }, nowS);
    return this.#still();
  }

  /** Time went by. */
  pass(nowS: number): DeskOrder {
    const asked = this.#asked;
    if (!asked || nowS < asked.untilS) return this.#still();
    const other = this.#otherRateHz;
    const problem: Reject =
      other === null
        ? { code: 'command-no-answer', params: { seconds: answerWithinS } }
        : { code: 'command-other-rate', params: { found: other } };
    return this.#end(null, problem, nowS);
  }

  #answers(command: KitCommand, hello: Hello): boolean {
    if (command.kind !== 'rate') return true;
    if (hello.rateHz !== null && Math.abs(hello.rateHz / command.hz - 1) <= rateTolerance) return true;
    this.#otherRateHz = hello.rateHz;
    return false;
  }

  #end(hello: Hello | null, problem: Reject | null, nowS: number): DeskOrder {
    const command = this.#asked?.command;
    this.#asked = null;
    this.#otherRateHz = null;
    return this.#next(nowS, command ? { command, hello, problem } : null);
  }

  #next(nowS: number, tell: CommandEnd | null): DeskOrder {
    const command = this.#waiting.shift();
    if (!command) return { send: null, tell, wakeS: null };
    const untilS = nowS + answerWithinS;
    this.#asked = { command, untilS };
    return { send: encodeCommand(command), tell, wakeS: untilS };
  }

  #told(tell: CommandEnd): DeskOrder {
    return { send: null, tell, wakeS: this.#asked?.untilS ?? null };
  }

  #still(): DeskOrder {
    return { send: null, tell: null, wakeS: this.#asked?.untilS ?? null };
  }
}
