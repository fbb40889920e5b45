import type { TransportState } from '../../firmware-bridge/transport/transport.ts';
import type { Decoded, Hello } from '../../firmware-bridge/wire/pack.ts';
import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { Refusals } from '../../firmware-bridge/wire/refusals.ts';
import type { PackReader } from '../../firmware-bridge/wire/wire-reader.ts';
import type { CreateAnalysis } from '../core/analyse.ts';
import type { Asked } from '../core/job/commands.ts';
import type { RunEvent } from '../core/job/event.ts';
import { undoWindowS } from '../core/job/undo.ts';
import type { RunContext } from '../core/job/context.ts';
import { gateOf } from '../core/job/stages/page.ts';
import { jobView, lookOf } from '../core/job/view.ts';
import { contextNow, contextOfEvents, tellsContext } from '../core/job/context-now.ts';
import { createTeller, say } from '../core/message/message.ts';
import { understood } from '../core/line/settings.ts';
import type { Sample } from '../core/quantity/sample.ts';
import type { BridgePort, Refusal } from '../server/port.ts';
import type { LiveMessage, PostEvent, RunView, TraceRow } from '../server/protocol.ts';
import { sealEvent } from '../core/seal/named.ts';
import type { StoredEvent } from '../store/store.ts';
import { type Calibration, calibratedEvent } from './calibration.ts';
import type { RunClock } from './clock.ts';
import { Course, resume } from './course.ts';
import { counterViews } from './counters.ts';
import { Entries, type Posted } from './entries.ts';
import { Ingest } from './ingest.ts';
import { Keeping, type KeepingOptions } from './keeping.ts';
import { KitRecord, kitHello, kitRestart } from './kit-record.ts';
import { linkViews, staleS } from './links.ts';
import { Live } from './live.ts';
import { RunTime } from './run-time.ts';
import { wholeTrace } from './whole-trace.ts';

export interface RunOptions extends KeepingOptions {
  readonly clock: RunClock;
  readonly createAnalysis: CreateAnalysis;
  /** Where the bytes come from, for people. */
  readonly source: string;
  /** Reads what comes, where that is not our wire. */
  readonly reader?: PackReader;
  /** Told of each event after it was committed: the simulated rig does what the engineer did. */
  readonly obey?: (event: RunEvent) => void;
  /** Certificates of the kits; without it every reading is the kit's own. */
  readonly calibration?: Calibration;
  /** Told of everything that is decoded, before it is used. */
  readonly heard?: (decoded: Decoded, atS: number) => void;
  /** Takes out of an event what is kept beside the record, before it is written. */
  readonly apart?: (event: RunEvent) => RunEvent;
  /** Told when a run ends that was handed over: it is to be sealed. */
  readonly handedOver?: () => void;
}

/** Samples are committed this often, and time is let pass (real seconds). */
const tickS = 0.1;
/** Silence is judged so long after it (real seconds), so that bytes under way are not overtaken. */
const lagS = 0.5;
/** Between two views when only figures changed (real seconds). */
const viewS = 0.25;
/** Late readings come in bursts; pages read the trace anew when the burst is over (real seconds). */
const lateQuietS = 1;
/** A press of the kit's button that came too late to count. */
const latePass = 'pass-late';

/** One run, live: bytes in, record and pages out. The only owner of its timer. */
export class Run implements BridgePort {
  /** Begun anew, from the record, when the survey or the mains test says what the system is like. */
  course: Course;
  private context: RunContext;
  private readonly options: RunOptions;
  private readonly time: RunTime;
  private readonly ingest: Ingest;
  private readonly live: Live;
  private readonly entries: Entries;
  private readonly stopTick: () => void;
  private transport: TransportState = { kind: 'closed' };
  private readonly keeping: Keeping;
  private kitPassRefused = 0;
  private readonly kitRecord: KitRecord;
  /** When the newest late reading came; real seconds. */
  private lateAtS: number | null = null;
  private viewAtS = Number.NEGATIVE_INFINITY;
  private beatAtS = Number.NEGATIVE_INFINITY;
  private tickAtS: number;
  private shown = '';
  private changed = true;

  constructor(options: RunOptions) {
    this.options = options;
    const { store, clock } = options;
    this.context = contextOfEvents(store.head.context, store.events());
    this.course = this.courseFrom(this.context);
    this.kitRecord = new KitRecord(options.calibration);
    for (const { event } of store.events()) this.kitRecord.remember(event);
    this.time = new RunTime(clock, store.lastTimeS());
    this.keeping = new Keeping(options);
    this.entries = new Entries({
      store,
      clock,
      time: this.time,
      job: () => this.course.state,
      missing: () => this.missing(),
      apart: options.apart,
      kept: (stored) => this.kept(stored),
      fault: options.fault,
    });
    this.live = new Live(clock);
    this.ingest = new Ingest(
      this.time,
      {
        sample: (sample) => this.sample(sample),
        late: (sample) => this.late(sample),
        pass: (id, pressedS) => this.kitPass(id, pressedS),
        hello: (kit, hello) => this.hello(kit, hello),
        restarted: (kit, boot) => {
          this.kitRecord.restarted(kit, boot);
          this.tellRestarts();
        },
        values: (pack) => options.calibration?.values(pack) ?? pack.values,
        heard: (decoded, atS) => options.heard?.(decoded, atS),
      },
      options.reader,
      this.kitRecord.measuredBy,
    );
    this.tickAtS = clock.nowS() / clock.speed;
    this.stopTick = clock.every(tickS, () => this.tick());
  }

  /** The run so far: the record is read again, so that live and afterwards are the same. */
  private courseFrom(context: RunContext): Course {
    const { store, createAnalysis, fault } = this.options;
    const { settings } = understood(store.head.settings);
    const begun = store.head.context;
    const course = new Course(begun, context.system ?? 'sealed', createAnalysis(begun, settings), fault);
    resume(course, store);
    return course;
  }

  /** A survey or a mains test changes what the verdict goes by from then on; alarms and pages go by the system from the start. */
  private follow(event: RunEvent): void {
    if (!tellsContext(event)) return;
    const next = contextNow(this.options.store.head.context, this.course.state.job);
    if (JSON.stringify(next) === JSON.stringify(this.context)) return;
    const isOther = next.system !== this.context.system;
    this.context = next;
    if (isOther) this.course = this.courseFrom(next);
  }

  /** Bytes of the kit, as they came. */
  bytes(chunk: Uint8Array, atS: number): void {
    this.take(() => this.ingest.bytes(chunk, atS));
  }

  /** A message of a broker, as it came. */
  message(topic: string, payload: Uint8Array, atS: number): void {
    this.take(() => this.ingest.message(topic, payload, atS));
  }

  private take(what: () => void): void {
    try {
      what();
    } catch (error) {
      this.options.fault(error);
    }
    this.live.settle();
    this.showChange();
  }

  transportState(state: TransportState): void {
    if (state.kind === 'open' && this.transport.kind !== 'silent' && this.transport.kind !== 'open')
      this.ingest.reader.reset();
    this.transport = state;
    this.pushView();
  }

  /** The run was sealed: what comes now is in no record. */
  closeRecord(): void {
    this.entries.close();
    this.pushView();
  }

  private sample(sample: Sample): void {
    if (this.entries.isClosed) return;
    this.options.store.appendSample(sample);
    for (const row of this.course.sample(sample)) this.live.row(row);
    this.changed = true;
    if (!this.kitRecord.isTold(this.ingest.leading)) this.tellCalibration(sample.timeS);
  }

  /** For the record and the trace: what was said without it stands. */
  private late(sample: Sample): void {
    if (this.entries.isClosed) return;
    this.options.store.appendLate(sample);
    this.lateAtS = this.options.clock.nowS() / this.options.clock.speed;
  }

  private tellCalibration(fromS: number): void {
    const nowIso = new Date(this.options.clock.wallMs()).toISOString();
    for (const data of this.kitRecord.calibrated(this.ingest.leading, fromS, nowIso))
      this.entries.tell(calibratedEvent, data, 'bridge');
  }

  /** A certificate was added: it holds from the next reading on. */
  recalibrated(): void {
    this.kitRecord.renew();
  }

  /**
   * A press that comes late counts when this visit had begun by then and no later pass of it is known; it stands in the
   * order of its coming, as a tap that waited for the link does. Else it is told to the record alone.
   */
  private kitPass(id: string, pressedS: number | null): void {
    const visit = this.course.analysis.visit;
    const counts = pressedS === null || (visit && visit.fromS <= pressedS && !visit.passesS.some((p) => p > pressedS));
    if (!counts) return this.entries.tell(latePass, { pressedS }, 'kit', id);
    const asked = { event: 'agitate-end', emitter: '', note: '', ...(pressedS === null ? {} : { data: { pressedS } }) };
    const answer = this.entries.commit(id, asked, 'kit');
    if ('status' in answer) this.kitPassRefused += 1;
  }

  private hello(kit: string, hello: Hello): void {
    const data = this.kitRecord.hello(kit, hello);
    if (data) this.entries.tell(kitHello, data, 'kit');
  }

  /** Right after the pack that showed it, so that the packs behind it are not too late. */
  private tellRestarts(): void {
    const data = this.kitRecord.takeRestarts(this.time.nowS());
    if (!data) return;
    const timeS = this.time.next(0);
    const event = { timeS, event: kitRestart, emitter: '', note: '', data };
    this.entries.keep(this.entries.nextId(kitRestart), event, 'kit');
  }

  async post(event: PostEvent, who: string): Promise<Posted | Refusal> {
    return this.entries.post(event, who);
  }

  /** The entry of a photo that was kept beside the record. */
  photo(id: string, photo: Asked, who: string): Posted | Refusal {
    return this.entries.commit(id, photo, who);
  }

  /** What the bridge itself has to tell the record. */
  tell(id: string, event: string, note = '', data?: RunEvent['data']): void {
    this.entries.commit(id, { event, emitter: '', note, data }, 'bridge');
  }

  /** An event of a replayed recording is taken as it stands there. */
  replayed(event: RunEvent, atS: number): void {
    // A seal is of the record that it was made for.
    if (event.event === sealEvent) return;
    const timeS = this.time.next(this.time.ofBridge(atS));
    this.entries.keep(this.entries.nextId('replay'), { ...event, timeS }, 'replay');
  }

  /** True when its end was told or it was sealed: no later start goes on with it. */
  get isOver(): boolean {
    return this.entries.isClosed || this.course.state.job.stage === 'end';
  }

  /** The bridge's clock when the run's stood at 0. */
  get zeroS(): number {
    return this.time.zeroS;
  }

  /** Kit whose packs make the run; null before the first. */
  get leadingKit(): string | null {
    return this.ingest.leading;
  }

  /** What is wrong with the link now, as a sentence; null: nothing. */
  get linkProblem(): string | null {
    return 'problem' in this.transport ? say(this.transport.problem) : null;
  }

  /** Counters of the wire, for the transport. */
  get hearing(): LinkCounters {
    return this.ingest.reader.counters;
  }

  /** What the reader of the wire refused since the last pack, for the transport. */
  get refusals(): Refusals {
    return this.ingest.reader.refusals;
  }

  /** What the stage under way still misses, in words. */
  private missing(): string[] {
    const { state, analysis } = this.course;
    const timeS = this.time.nowS();
    const live = this.course.live(timeS);
    return gateOf(lookOf({ head: { context: this.context }, state, analysis, timeS, live })).map(say);
  }

  /** What was committed is told to the job, the analysis, the simulated water and the pages. */
  private kept(stored: StoredEvent): void {
    const { obey, handedOver } = this.options;
    this.course.event(stored);
    this.follow(stored.event);
    obey?.(stored.event);
    if (stored.event.event === 'stage:end' && this.course.state.job.handedOver) handedOver?.();
    this.pushView();
  }

  private tick(): void {
    const { clock } = this.options;
    this.keeping.flush();
    this.tellRestarts();
    const realS = clock.nowS() / clock.speed;
    // A tick that came late itself (a stalled machine) tells nothing of the kit: its bytes wait to be read, too.
    const isLate = realS - this.tickAtS > lagS;
    this.tickAtS = realS;
    const untilS = this.time.nowS() - lagS * clock.speed;
    if (!isLate && this.time.pass(untilS)) this.course.advance(untilS);
    if (this.lateAtS !== null && realS - this.lateAtS >= lateQuietS) {
      this.lateAtS = null;
      this.live.filled();
    }
    if (realS - this.beatAtS >= 1) {
      this.beatAtS = realS;
      this.live.beat(this.time.nowS(), this.course.lastSampleS);
      this.changed = true;
    }
    if (this.changed && realS - this.viewAtS >= viewS) this.pushView();
    else this.showChange();
  }

  /** A new verdict is shown at once. */
  private showChange(): void {
    const { state, done } = this.course.analysis.verdict;
    if (`${state} ${done}` !== this.shown) this.pushView();
  }

  private pushView(): void {
    const { state, done } = this.course.analysis.verdict;
    this.shown = `${state} ${done}`;
    this.changed = false;
    this.viewAtS = this.options.clock.nowS() / this.options.clock.speed;
    if (this.live.isHeard) this.live.view(this.view());
  }

  view(): RunView {
    const { store, clock, source } = this.options;
    const timeS = this.time.nowS();
    const packS = this.ingest.lastPackS;
    const age = (sinceS: number | null): number | null =>
      sinceS === null ? null : Math.max(0, (timeS - sinceS) / clock.speed);
    const teller = createTeller();
    return {
      ...jobView({
        teller,
        head: { ...store.head, context: this.context },
        live: this.course.live(timeS),
        state: this.course.state,
        analysis: this.course.analysis,
        alarms: this.course.alarms,
        spans: this.course.spans,
        timeS,
        undoForS: undoWindowS * clock.speed,
      }),
      sealed: this.entries.isClosed,
      links: linkViews({
        source,
        transport: this.transport,
        packAgeS: packS === null ? null : age(this.time.ofBridge(packS)),
        leading: this.ingest.leading,
        besides: this.ingest.heardBesides(clock.nowS() - staleS * clock.speed),
        turbidityAgeS: age(this.course.lastTurbidityS),
        isSealed: this.entries.isClosed,
        storeProblem: this.keeping.problem,
        say: teller.say,
      }),
      counters: counterViews(this.ingest.reader.counters, this.ingest.counters, this.kitPassRefused, teller.say),
    };
  }

  trace(fromS: number, toS: number, points?: number): { rows: TraceRow[]; decimated: boolean } {
    this.live.sendRows();
    return wholeTrace(this.course.trace, this.options.store, fromS, toS, points);
  }

  listen(fn: (message: LiveMessage) => void): () => void {
    return this.live.listen(fn);
  }

  /** Commit what is there and stop the timer. */
  stop(): void {
    this.stopTick();
    this.keeping.flush();
    this.live.sendRows();
  }
}
