import type { TransportProblem, TransportState } from './transport.ts';

/** An open link of which nothing useful is heard. `dead`: not one byte, so the handle itself may be stale. */
export interface Deaf {
  readonly problem: TransportProblem;
  readonly dead: boolean;
}

export type LinkInput =
  | { readonly kind: 'start' }
  | { readonly kind: 'opened' }
  /** `absent`: there is nothing to open, and looking again costs nothing. */
  | { readonly kind: 'failed'; readonly problem: TransportProblem; readonly absent: boolean }
  | { readonly kind: 'lost'; readonly problem: TransportProblem }
  /** The timer rang, or bytes came while the link was deaf: how does it sound now? */
  | { readonly kind: 'listen'; readonly deaf: Deaf | null }
  | { readonly kind: 'close' };

/** What to do: at most one action, at most one new state to tell, and when to wake next (the one timer; null: never). */
export interface LinkOrder {
  readonly action: 'open' | 'close' | 'reopen' | null;
  readonly tell: TransportState | null;
  readonly wakeS: number | null;
}

export interface ReconnectSettings {
  readonly firstRetryS: number;
  /** Ceiling of the back-off; there is no last try. */
  readonly longestRetryS: number;
  /** Ceiling while there is nothing to open: a cable put back is seen within this. */
  readonly absentRetryS: number;
  /** How often an open link is listened to. */
  readonly listenEveryS: number;
  /** A link without a single byte is closed and opened again after this. */
  readonly reopenAfterS: number;
}

export const reconnectSettings: ReconnectSettings = {
  firstRetryS: 0.25,
  longestRetryS: 5,
  absentRetryS: 1,
  listenEveryS: 0.5,
  reopenAfterS: 20,
};

type Phase = 'closed' | 'opening' | 'waiting' | 'open' | 'deaf' | 'reopening';

const stay: LinkOrder = { action: null, tell: null, wakeS: null };

/**
 * When to open, wait, try again, listen and open anew. Holds no timer and no port: time comes in, orders go out, so every
 * path is tested without waiting. Between two tries the state told stays `waiting`, so that nothing flickers.
 */
export class Reconnect {
  #phase: Phase = 'closed';
  #retryS = 0;
  #retryAtS = 0;
  #reopenAtS = 0;
  /** Code of the deafness that was told, so that a better explanation of it is told too. */
  #told = '';
  readonly #settings: ReconnectSettings;

  constructor(settings: ReconnectSettings = reconnectSettings) {
    this.#settings = settings;
    this.#retryS = settings.firstRetryS;
  }

  step(input: LinkInput, nowS: number): LinkOrder {
    switch (input.kind) {
      case 'start':
        if (this.#phase !== 'closed') return stay;
        this.#phase = 'opening';
        return { action: 'open', tell: { kind: 'opening' }, wakeS: null };
      case 'opened':
        return this.#opened(nowS);
      case 'failed':
        if (this.#phase !== 'opening' && this.#phase !== 'reopening') return stay;
        return this.#wait(input.problem, input.absent, nowS);
      case 'lost':
        if (this.#phase === 'closed' || this.#phase === 'waiting') return stay;
        return this.#wait(input.problem, false, nowS);
      case 'listen':
        return this.#listen(input.deaf, nowS);
      case 'close':
        if (this.#phase === 'closed') return stay;
        this.#phase = 'closed';
        this.#retryS = this.#settings.firstRetryS;
        return { action: 'close', tell: { kind: 'closed' }, wakeS: null };
    }
  }

  #opened(nowS: number): LinkOrder {
    const wakeS = nowS + this.#settings.listenEveryS;
    if (this.#phase === 'opening') {
      this.#phase = 'open';
      return { action: null, tell: { kind: 'open' }, wakeS };
    }
    if (this.#phase !== 'reopening') return stay;
    this.#phase = 'deaf';
    this.#reopenAtS = nowS + this.#settings.reopenAfterS;
    return { action: null, tell: null, wakeS };
  }

  #wait(problem: TransportProblem, absent: boolean, nowS: number): LinkOrder {
    const ceiling = absent ? this.#settings.absentRetryS : this.#settings.longestRetryS;
    const retryInS = Math.min(this.#retryS, ceiling);
    this.#retryS = Math.min(this.#retryS * 2, this.#settings.longestRetryS);
    this.#phase = 'waiting';
    this.#retryAtS = nowS + retryInS;
    return { action: null, tell: { kind: 'waiting', retryInS, problem }, wakeS: this.#retryAtS };
  }

  #listen(deaf: Deaf | null, nowS: number): LinkOrder {
    if (this.#phase === 'waiting') {
      if (nowS < this.#retryAtS) return { ...stay, wakeS: this.#retryAtS };
      this.#phase = 'opening';
      return { action: 'open', tell: null, wakeS: null };
    }
    if (this.#phase !== 'open' && this.#phase !== 'deaf') return stay;
    const wakeS = nowS + this.#settings.listenEveryS;
    if (deaf === null) {
      this.#retryS = this.#settings.firstRetryS;
      const tell: TransportState | null = this.#phase === 'deaf' ? { kind: 'open' } : null;
      this.#phase = 'open';
      return { action: null, tell, wakeS };
    }
    if (this.#phase === 'open') {
      this.#phase = 'deaf';
      this.#reopenAtS = nowS + this.#settings.reopenAfterS;
      this.#told = deaf.problem.code;
      return { action: null, tell: { kind: 'silent', problem: deaf.problem }, wakeS };
    }
    if (!deaf.dead || nowS < this.#reopenAtS) return this.#stillDeaf(deaf.problem, wakeS);
    this.#phase = 'reopening';
    return { action: 'reopen', tell: null, wakeS: null };
  }

  #stillDeaf(problem: TransportProblem, wakeS: number): LinkOrder {
    const tell: TransportState | null = problem.code === this.#told ? null : { kind: 'silent', problem };
    this.#told = problem.code;
    return { action: null, tell, wakeS };
  }
}
