import { CommandDesk, type CommandEnd, type DeskOrder, type KitCommand } from '../../firmware-bridge/wire/command.ts';
import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunClock } from './clock.ts';
import { KitWatch } from './kit-watch.ts';

/** A link to one or more kits, for the bench: what is heard, what was counted, and a way to ask. */
export interface KitLinkOptions {
  /** For people: `/dev/ttyUSB0`. */
  readonly source: string;
  readonly clock: RunClock;
  readonly counters: () => LinkCounters;
  readonly send: (bytes: Uint8Array, kit: string) => Promise<boolean>;
  /** What is wrong with the link now, as a sentence; null: nothing. */
  readonly problem: () => string | null;
}

interface Waiting {
  readonly desk: CommandDesk;
  /** Who asked, by the command itself: a refusal at the desk overtakes those that wait. */
  readonly ends: Map<KitCommand, (end: CommandEnd) => void>;
  cancel: (() => void) | null;
}

/** Names come from the wire: whoever sends ever new ones must not have each of them asked. */
const mostAsked = 64;

export class KitLink {
  readonly watch = new KitWatch();
  readonly source: string;
  readonly clock: RunClock;
  readonly counters: () => LinkCounters;
  readonly problem: () => string | null;
  readonly send: (bytes: Uint8Array, kit: string) => Promise<boolean>;
  private readonly desks = new Map<string, Waiting>();

  constructor(options: KitLinkOptions) {
    this.source = options.source;
    this.clock = options.clock;
    this.counters = options.counters;
    this.problem = options.problem;
    this.send = options.send;
    this.watch.listen((decoded, atS) => {
      if (!decoded.ok) return;
      const waiting = this.desks.get(decoded.pack.kit);
      if (waiting) this.carryOut(decoded.pack.kit, waiting, waiting.desk.heard(decoded.pack, atS));
    });
  }

  /** Resolves with the answer, the refusal or the time-out; never rejects. */
  ask(kit: string, command: KitCommand): Promise<CommandEnd> {
    let waiting = this.desks.get(kit);
    if (!waiting) {
      waiting = { desk: new CommandDesk(), ends: new Map(), cancel: null };
      this.desks.set(kit, waiting);
    }
    const at = waiting;
    const own = { ...command };
    return new Promise((resolve) => {
      at.ends.set(own, resolve);
      this.carryOut(kit, at, at.desk.ask(own, this.clock.nowS()));
    });
  }

  /** The first kit heard, or the one asked for. Throws Problem when none is heard in time. */
  async kit(name: string | null, withinS = 6): Promise<string> {
    const find = (): string | null => {
      if (name === null) return this.watch.kits.keys().next().value ?? null;
      return this.watch.kits.has(name) ? name : null;
    };
    const untilS = this.clock.nowS() + withinS * this.clock.speed;
    for (;;) {
      const found = find();
      if (found !== null) return found;
      // A link that is in trouble says so at once; waiting longer would say less.
      if (this.clock.nowS() >= untilS || this.problem() !== null) break;
      await this.sleep(0.05);
    }
    if (name !== null && this.watch.kits.size > 0)
      throw new Problem('kit-unknown', { kit: name, known: [...this.watch.kits.keys()].join(', ') });
    throw new Problem('kit-none', this.noKit(withinS));
  }

  /** What a sentence about no kit goes by: where it was listened for, how long, and what came in its place. */
  noKit(seconds: number): Readonly<Record<string, string | number>> {
    const { lastReject } = this.watch;
    return { source: this.source, seconds, why: lastReject ? say(lastReject) : '' };
  }

  /**
   * From now on each kit that speaks and has not said what it is is asked for its hello, once: it had begun before the
   * bridge. One that does not know the command says nothing, and is left alone.
   */
  askWhoSpeaks(): () => void {
    const asked = new Set<string>();
    return this.watch.listen((decoded) => {
      if (!decoded.ok || decoded.pack.late) return;
      const { kit } = decoded.pack;
      if (this.watch.kits.get(kit)?.hello || asked.has(kit) || asked.size >= mostAsked) return;
      asked.add(kit);
      void this.ask(kit, { kind: 'hello' });
    });
  }

  sleep(realS: number): Promise<void> {
    return new Promise((resolve) => void this.clock.after(realS * this.clock.speed, resolve));
  }

  private carryOut(kit: string, waiting: Waiting, order: DeskOrder): void {
    waiting.cancel?.();
    waiting.cancel = null;
    if (order.wakeS !== null)
      waiting.cancel = this.clock.after(Math.max(0, order.wakeS - this.clock.nowS()), () =>
        this.carryOut(kit, waiting, waiting.desk.pass(this.clock.nowS())),
      );
    if (order.tell) {
      const { command } = order.tell;
      waiting.ends.get(command)?.(order.tell);
      waiting.ends.delete(command);
    }
    if (order.send)
      void this.send(order.send, kit).then((sent) => {
        if (!sent) this.carryOut(kit, waiting, waiting.desk.notSent(this.clock.nowS()));
      });
  }
}
