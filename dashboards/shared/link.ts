import { z } from 'zod';
import {
  type LiveMessage,
  liveMessageSchema,
  type RunView,
  runViewSchema,
  type TraceRow,
  traceAnswerSchema,
} from '../../src/server/protocol.ts';

/** What the page needs of an EventSource, so that a test can give its own. */
export interface Stream {
  on(type: LiveMessage['type'] | 'error', fn: (data: string, id: string) => void): void;
  close(): void;
}

export interface LinkWorld {
  openStream(url: string): Stream;
  fetchJson(url: string): Promise<unknown>;
  /** Monotonic milliseconds. */
  nowMs(): number;
  /** Runs once later; the returned function stops it. */
  after(ms: number, fn: () => void): () => void;
  random(): number;
}

export interface LinkEvents {
  /** The view of a snapshot, as soon as it is here: its rows take longer. */
  soon(view: RunView): void;
  /** Everything anew: at the first visit, and when the bridge no longer holds the place where this page was. */
  snapshot(view: RunView, rows: TraceRow[]): void;
  rows(rows: TraceRow[]): void;
  view(view: RunView): void;
  beat(beat: Extract<LiveMessage, { type: 'beat' }>): void;
  /** `misread`: the bridge speaks otherwise than this page; a reload gets the page that belongs to it. */
  state(state: 'joining' | 'live' | 'lost' | 'misread'): void;
}

export interface Link {
  /** Milliseconds (monotonic) at which the bridge was last heard; null before the first word. */
  readonly heardMs: number | null;
  /** Try at once: the page came back to the front, or the network did. */
  wake(): void;
  close(): void;
}

const silenceMs = 3000;
const backOffMs = [500, 1000, 2000, 4000, 5000];
/** Rows asked for when all is fetched anew, run-clock seconds. */
export const snapshotS = 900;
const pendingLimit = 20_000;

/**
 * The way to the bridge. It never gives up: a stream that is silent for 3 s (beats come each second) is cut and opened
 * again after 0.5, 1, 2, 4, then every 5 s, for ever, at the place where it broke off, so that nothing is lost or doubled.
 */
export function createLink(world: LinkWorld, events: LinkEvents): Link {
  let stream: Stream | null = null;
  let heardMs: number | null = null;
  let openedMs = 0;
  let place: string | null = null;
  /** What comes on the stream while all is fetched anew; null when nothing is. */
  let pending: TraceRow[] | null = null;
  let pendingView: RunView | null = null;
  let pendingPlace: string | null = null;
  let attempt = 0;
  let live = false;
  let closed = false;
  let stopRetry = () => {};
  let stopWatch = () => {};

  function open(): void {
    stopRetry();
    if (closed) return;
    openedMs = world.nowMs();
    const opened = world.openStream(`/api/live${place === null ? '' : `?after=${encodeURIComponent(place)}`}`);
    stream = opened;
    for (const type of ['refetch', 'trace', 'view', 'beat'] as const)
      opened.on(type, (data, id) => {
        if (stream === opened) hear(data, id, opened);
      });
    opened.on('error', () => {
      if (stream === opened) lose();
    });
  }

  function lose(): void {
    stream?.close();
    stream = null;
    pending = null;
    live = false;
    events.state('lost');
    const waitMs = (backOffMs[Math.min(attempt, backOffMs.length - 1)] ?? 5000) * (0.8 + 0.4 * world.random());
    attempt += 1;
    stopRetry();
    stopRetry = world.after(waitMs, open);
  }

  function hear(data: string, id: string, from: Stream): void {
    const message = liveMessageSchema.safeParse(parseJson(data));
    heardMs = world.nowMs();
    if (!message.success) {
      events.state('misread');
      return;
    }
    if (message.data.type === 'refetch') {
      place = null;
      pending = [];
      pendingView = null;
      pendingPlace = message.data.from;
      void refetch(from);
      return;
    }
    if (pending === null) {
      goLive();
      if (id !== '') place = id;
    } else if (id !== '') pendingPlace = id;
    take(message.data);
  }

  function take(message: Exclude<LiveMessage, { type: 'refetch' }>): void {
    if (message.type === 'beat') events.beat(message);
    else if (pending === null) {
      if (message.type === 'trace') events.rows(message.rows);
      else events.view(message.view);
    } else if (message.type === 'view') pendingView = message.view;
    else {
      pending.push(...message.rows);
      if (pending.length > pendingLimit) lose();
    }
  }

  async function refetch(from: Stream): Promise<void> {
    try {
      const view = runViewSchema.parse(await world.fetchJson('/api/view'));
      if (stream === from) events.soon(view);
      const fromS = Math.max(0, Math.floor(view.timeS - snapshotS));
      const trace = traceAnswerSchema.parse(await world.fetchJson(`/api/trace?fromS=${fromS}`));
      if (stream !== from || pending === null) return;
      events.snapshot(pendingView ?? view, trace.rows);
      const came = pending;
      pending = null;
      place = pendingPlace;
      events.rows(came);
      goLive();
    } catch (error) {
      if (stream !== from) return;
      if (error instanceof z.ZodError) events.state('misread');
      lose();
    }
  }

  function goLive(): void {
    attempt = 0;
    if (live) return;
    live = true;
    events.state('live');
  }

  function watch(): void {
    if (stream !== null && world.nowMs() - Math.max(heardMs ?? 0, openedMs) > silenceMs) lose();
    stopWatch = world.after(250, watch);
  }

  events.state('joining');
  open();
  watch();
  return {
    get heardMs() {
      return heardMs;
    },
    wake() {
      if (closed || (live && world.nowMs() - (heardMs ?? 0) <= silenceMs)) return;
      attempt = 0;
      if (stream !== null) lose();
      open();
    },
    close() {
      closed = true;
      stopRetry();
      stopWatch();
      stream?.close();
    },
  };
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** The real world of a browser. */
export const browserWorld: LinkWorld = {
  openStream(url) {
    const source = new EventSource(url);
    return {
      on(type, fn) {
        source.addEventListener(type, (event) => {
          if (event instanceof MessageEvent) fn(String(event.data), event.lastEventId);
          else if (type === 'error') fn('', '');
        });
      },
      close: () => source.close(),
    };
  },
  async fetchJson(url) {
    const answer = await fetch(url, { cache: 'no-store', signal: AbortSignal.timeout(10_000) });
    if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
    return answer.json();
  },
  nowMs: () => performance.now(),
  after(ms, fn) {
    const timer = setTimeout(fn, ms);
    return () => clearTimeout(timer);
  },
  random: Math.random,
};
