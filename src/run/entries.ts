import { type Asked, request } from '../core/job/commands.ts';
import type { RunEvent } from '../core/job/event.ts';
import type { JobState } from '../core/job/state.ts';
import { undoWindowS } from '../core/job/undo.ts';
import { type Message, say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { Refusal } from '../server/port.ts';
import type { PostEvent, Said } from '../server/protocol.ts';
import { sealEvent } from '../core/seal/named.ts';
import type { RunStore, StoredEvent } from '../store/store.ts';
import type { RunClock } from './clock.ts';
import type { RunTime } from './run-time.ts';

export interface Posted {
  readonly index: number;
  readonly timeS: number;
  readonly doubled: boolean;
  /** In words, where it is not plain why nothing new was written. */
  readonly remark?: Said;
}

export interface EntriesOptions {
  readonly store: RunStore;
  readonly clock: RunClock;
  readonly time: RunTime;
  /** The job as it stands, which says whether something may be done now. */
  readonly job: () => JobState;
  /** What the stage under way still misses, in words. */
  readonly missing: () => string[];
  /** Takes out of an event what is kept beside the record, before it is written. */
  readonly apart: ((event: RunEvent) => RunEvent) | undefined;
  /** Told of each event after it was committed. */
  readonly kept: (stored: StoredEvent) => void;
  /** Told of what should never happen. */
  readonly fault: (error: unknown) => void;
}

/** The way of an event into the record: asked of the job, kept once by its id, committed before anybody is told. */
export class Entries {
  private readonly options: EntriesOptions;
  private readonly posted = new Map<string, { index: number; timeS: number }>();
  private closed: boolean;

  constructor(options: EntriesOptions) {
    this.options = options;
    const events = options.store.events();
    for (const { id, index, event } of events) this.posted.set(id, { index, timeS: event.timeS });
    this.closed = events.some((e) => e.event.event === sealEvent);
  }

  /** The record is closed for good: nothing is written any more. */
  get isClosed(): boolean {
    return this.closed;
  }

  close(): void {
    this.closed = true;
  }

  /** What a device asks for; a tap that waited for the link stands in the order of its commitment. */
  post(event: PostEvent, who: string): Posted | Refusal {
    // A photo's entry is made with its picture; words about one taken elsewhere are welcome.
    if (event.event === 'photo' && (event.data?.['sha256'] !== undefined || event.data?.['file'] !== undefined))
      return refusal(409, { code: 'job.photo-upload', params: {} });
    const { clock, time } = this.options;
    const ago = event.agoS * clock.speed;
    // Its own time is kept beside it.
    const late = ago >= 0.5 ? { tappedS: Math.max(0, Math.round((time.nowS() - ago) * 1000) / 1000) } : undefined;
    const data = late ? { ...event.data, ...late } : event.data;
    return this.commit(event.id, { event: event.event, emitter: event.emitter, note: event.note, data }, who);
  }

  /** Kept when the job allows it now. */
  commit(id: string, asked: Asked, who: string): Posted | Refusal {
    const { clock, time, job, missing, apart } = this.options;
    const known = this.posted.get(id);
    if (known) return { ...known, doubled: true };
    // Said before what else is wrong with it: nothing that is mended would help.
    if (this.closed) return this.refusedClosed();
    const answer = request(job(), asked, {
      who,
      timeS: time.nextNow(),
      undoForS: undoWindowS * clock.speed,
      missing: asked.event.startsWith('stage:') ? missing() : [],
    });
    if (!answer.ok) return refusal(409, answer.refusal);
    if (!('already' in answer)) return this.keep(id, apart?.(answer.event) ?? answer.event, who);
    const place = this.posted.get(answer.already) ?? { index: 0, timeS: 0 };
    this.posted.set(id, place);
    return { ...place, doubled: true, ...(answer.remark ? { remark: saidOf(answer.remark) } : {}) };
  }

  /** What kit and bridge have to say, which needs nobody's leave. */
  tell(event: string, data: NonNullable<RunEvent['data']>, who: string, id?: string): void {
    if (id !== undefined && this.posted.has(id)) return;
    const { time } = this.options;
    const timeS = time.nextNow();
    this.keep(id ?? this.nextId(event), { timeS, event, emitter: '', note: '', data }, who);
  }

  private refusedClosed(): Refusal {
    return refusal(409, { code: 'seal-run-closed', params: { runId: this.options.store.head.runId } });
  }

  /** An id for an event that came with none. */
  nextId(kind: string): string {
    return `${kind}-${this.posted.size}`;
  }

  /** Record first, then all who go by it. */
  keep(id: string, event: RunEvent, who: string): Posted | Refusal {
    const { store, clock, kept, fault } = this.options;
    if (this.closed) return this.refusedClosed();
    let stored: StoredEvent;
    try {
      stored = store.appendEvent({ id, event, who, wallAt: new Date(clock.wallMs()).toISOString() }).stored;
    } catch (error) {
      if (!(error instanceof Problem)) fault(error);
      const what = error instanceof Problem ? error : { code: 'run.not-kept', params: {} };
      return refusal(what.code === 'store-event-invalid' ? 400 : 503, what);
    }
    const place = { index: stored.index, timeS: stored.event.timeS };
    this.posted.set(id, place);
    kept(stored);
    return { ...place, doubled: false };
  }
}

function saidOf(message: Message): Said {
  return { code: message.code, text: say(message), params: message.params };
}

function refusal(status: Refusal['status'], message: Message): Refusal {
  return { status, ...saidOf(message) };
}
