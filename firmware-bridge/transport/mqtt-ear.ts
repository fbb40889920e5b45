import type { Refusals } from '../wire/refusals.ts';
import type { LinkEar } from './kept-link.ts';
import { type PackCounts, Patience } from './patience.ts';
import type { Deaf } from './reconnect.ts';
import type { TransportProblem } from './transport.ts';

/** Messages but no pack, and this many of them: they mean nothing. */
const enoughMessages = 5;

/**
 * What is heard over a broker, and of whom. A kit's `state` explains a silence, it never makes one: a retained `lost` can
 * be older than the kit's last pack.
 */
export class MqttEar implements LinkEar {
  readonly #url: string;
  readonly #filters: string;
  readonly #patience: Patience;
  readonly #refusals: Refusals | null;
  readonly #states = new Map<string, string>();
  #last: string | null = null;
  #messages = 0;

  /** @param filters topics that are listened to, for people. */
  constructor(url: string, filters: string, counts: PackCounts | null, refusals: Refusals | null = null) {
    this.#url = url;
    this.#filters = filters;
    this.#refusals = refusals;
    this.#patience = new Patience(counts, () => {
      this.#messages = 0;
    });
  }

  /** Kits that spoke or told their state, by the names that people know them by. */
  get kits(): readonly string[] {
    return [...this.#states.keys()];
  }

  opened(nowS: number): void {
    this.#patience.opened(nowS);
  }

  heard(nowS: number): void {
    this.#patience.heard(nowS);
    this.#messages++;
  }

  /** Whose message it was. */
  heardFrom(kit: string): void {
    this.#last = kit;
    if (!this.#states.has(kit)) this.#states.set(kit, '');
  }

  state(kit: string, state: string): void {
    this.#states.set(kit, state);
  }

  judge(nowS: number): Deaf | null {
    const seconds = this.#patience.silentS(nowS);
    if (seconds !== null) return { problem: this.#silence(seconds), dead: false };
    if (!this.#patience.lacksPacks(nowS) || this.#messages < enoughMessages) return null;
    const worst = this.#refusals?.worst();
    const params = { kit: this.#last ?? this.#filters, messages: this.#messages, ...worst?.params };
    const { problem, dead } = this.#deaf('mqtt-no-pack', params);
    return { problem: worst ? { ...problem, why: worst.of } : problem, dead };
  }

  #silence(seconds: number): TransportProblem {
    const kit = this.#last ?? this.kits[0];
    if (kit === undefined) return this.#deaf('mqtt-no-kit', { filters: this.#filters, seconds }).problem;
    const gone = away.has(this.#states.get(kit) ?? '');
    return this.#deaf(gone ? 'mqtt-kit-lost' : 'mqtt-kit-silent', { kit, seconds }).problem;
  }

  #deaf(code: string, params: TransportProblem['params']): Deaf {
    return { problem: { code, params: { url: this.#url, ...params } }, dead: false };
  }
}

/** `lost` is ours; the others are what the Homie convention calls a device that is not there. */
const away: ReadonlySet<string> = new Set(['lost', 'disconnected', 'sleeping']);
