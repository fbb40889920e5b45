import type { Hearing } from './hearing.ts';
import type { LinkEar } from './kept-link.ts';
import type { Deaf } from './reconnect.ts';
import type { TransportProblem } from './transport.ts';

/** A kit that was just let in takes a moment before it speaks. */
const graceS = 5;
const silentAfterS = 3;
/** Messages but no pack for this long, and this many of them: they mean nothing. */
const unreadableAfterS = 3;
const enoughMessages = 5;

/**
 * What is heard over a broker, and of whom. A kit's `state` explains a silence, it never makes one: a retained `lost` can
 * be older than the kit's last pack.
 */
export class MqttEar implements LinkEar {
  readonly #url: string;
  readonly #filters: string;
  readonly #hearing: Hearing | null;
  readonly #states = new Map<string, string>();
  #last: string | null = null;
  #quietFromS = 0;
  #quietAfterS = graceS;
  #unreadFromS = 0;
  #messages = 0;
  #packs = 0;

  /** @param filters topics that are listened to, for people. */
  constructor(url: string, filters: string, hearing: Hearing | null) {
    this.#url = url;
    this.#filters = filters;
    this.#hearing = hearing;
  }

  /** Kits that spoke or told their state, by the names that people know them by. */
  get kits(): readonly string[] {
    return [...this.#states.keys()];
  }

  opened(nowS: number): void {
    this.#quietFromS = nowS;
    this.#quietAfterS = graceS;
    this.#mark(nowS);
  }

  heard(nowS: number): void {
    this.#quietFromS = nowS;
    this.#quietAfterS = silentAfterS;
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
    const seconds = Math.round(nowS - this.#quietFromS);
    if (nowS - this.#quietFromS >= this.#quietAfterS) return { problem: this.#silence(seconds), dead: false };
    const packs = this.#heardPacks();
    if (packs === null) return null;
    if (packs > this.#packs) this.#mark(nowS);
    if (nowS - this.#unreadFromS < unreadableAfterS || this.#messages < enoughMessages) return null;
    return this.#deaf('mqtt-no-pack', { kit: this.#last ?? this.#filters, messages: this.#messages });
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

  #heardPacks(): number | null {
    return this.#hearing ? this.#hearing.packs + this.#hearing.duplicates : null;
  }

  #mark(nowS: number): void {
    this.#unreadFromS = nowS;
    this.#messages = 0;
    this.#packs = this.#heardPacks() ?? 0;
  }
}

/** `lost` is ours; the others are what the Homie convention calls a device that is not there. */
const away: ReadonlySet<string> = new Set(['lost', 'disconnected', 'sleeping']);
