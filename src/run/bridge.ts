import { causeOf } from '../core/message/cause.ts';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { basename, resolve } from 'node:path';
import { createAnalysis } from '../core/analyse.ts';
import { defaultLineSettings, understood } from '../core/line/settings.ts';
import { rowsOfText } from '../core/quantity/text-table.ts';
import { surveyFromRows } from '../core/job/survey-csv.ts';
import { surveyFigures } from '../core/job/survey-rows.ts';
import { contextSchema, type RunContext } from '../core/job/context.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { AuditPort } from '../server/audit-port.ts';
import { bridgeHealth } from './bridge-health.ts';
import type { BenchPort } from '../server/bench-port.ts';
import type { HealthPort } from '../server/health.ts';
import type { BridgePort } from '../server/port.ts';
import type { RecordPort } from '../server/record-routes.ts';
import { sealNotHere } from '../recording/sealed.ts';
import { openStore } from '../store/open.ts';
import type { RunHead, RunStore, Store } from '../store/store.ts';
import type { Afterwards } from './afterwards/afterwards.ts';
import { Calibration } from './calibration.ts';
import { machineClock } from './clock.ts';
import type { Config } from './config.ts';
import { KitBench } from './kit-bench.ts';
import { KitLink } from './kit-link.ts';
import { detailsApart, liveRecord } from './live-record.ts';
import { Run } from './run.ts';
import type { OutboxLink } from './outbox-link.ts';
import { hasEnded } from './seal-when.ts';
import { type OpenSource, openSource } from './source.ts';

export interface Bridge {
  readonly port: BridgePort;
  readonly record: RecordPort;
  readonly bench: BenchPort;
  readonly health: HealthPort;
  readonly audit: AuditPort;
  readonly head: RunHead;
  /** True when the run that was under way goes on. */
  readonly resumed: boolean;
  /** True when no later start goes on with the run. */
  isOver(): boolean;
  /** For people: where the readings come from. */
  readonly source: string;
  /** Remarks on the start, for the console. */
  readonly remarks: readonly string[];
  /** Everything is on the disk when it resolves. */
  stop(): Promise<void>;
}

/**
 * Opens store and source, takes up the run that was under way or begins one, and lets it run. Throws Problem: store in
 * use or damaged, context or recording that cannot be read, no such scenario.
 */
export async function startBridge(config: Config, log: (line: string) => void): Promise<Bridge> {
  const source = await openSource(config.source, installationOf(config.data), log);
  let store: Store | null = null;
  try {
    store = openStore(config.data);
    return await begin(config, source, store, log);
  } catch (error) {
    store?.close();
    await source.giveUp?.();
    throw error;
  }
}

/** What stays as it was left, unlike a shake or a dose. */
function isLasting(event: string): boolean {
  return /^(stage:|emitter-|rig-pump-|flow-)/.test(event);
}

/** The same at each start of this bridge, and no other's. */
function installationOf(data: string): string {
  return createHash('sha256')
    .update(`${hostname()} ${resolve(data)}`)
    .digest('hex')
    .slice(0, 16);
}

async function begin(config: Config, source: OpenSource, store: Store, log: (line: string) => void): Promise<Bridge> {
  const survey = config.survey === null ? null : readSurveyFile(config.survey);
  const { runStore, resumed, remarks } = takeRun(config, source, store);
  const calibration = new Calibration(store);
  const fault = (error: unknown): void =>
    log(`fault of the run: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  const kits = new KitLink({
    source: source.name,
    clock: source.clock,
    counters: () => run.hearing,
    problem: () => run.linkProblem,
    send: (bytes, kit) => link.send(bytes, kit),
  });
  const run = new Run({
    store: runStore,
    clock: source.clock,
    createAnalysis,
    calibration,
    heard: (decoded, atS) => kits.watch.take(decoded, atS),
    source: source.name,
    ...(source.reader ? { reader: source.reader } : {}),
    ...(source.obey === null ? {} : { obey: source.obey }),
    apart: (event) => detailsApart(config.data, runStore.head.runId, event),
    // Not within the reply to the event that ended it.
    handedOver: () => source.clock.after(0, () => sealHandedOver(record, log)),
    fault,
    trouble: (problem) => log(problem === null ? 'The record is being kept again.' : say(problem)),
  });
  const record = liveRecord(run, runStore, config.data, source.clock);
  if (resumed) {
    // The simulated water begins anew: it is brought to where the engineer left the valves.
    for (const { event } of runStore.events()) if (isLasting(event.event)) source.obey?.(event);
    run.tell(`bridge-restart-${runStore.events().length}`, 'note', 'The bridge was restarted.', { restarted: 1 });
  } else if (survey !== null) {
    run.tell('bridge-survey', 'stage:survey');
    run.tell('bridge-survey-table', 'survey-table', survey.name, { csv: survey.csv });
  } else if (source.simulated && source.obey) run.tell('bridge-baseline', 'stage:baseline');
  else if (runStore.head.context.emitters.length === 0) run.tell('bridge-survey', 'stage:survey');
  const link = await source.open({
    bytes: (chunk, atS) => run.bytes(chunk, atS),
    message: (topic, payload, atS) => run.message(topic, payload, atS),
    state: (state) => run.transportState(state),
    replayed: (event, atS) => run.replayed(event, atS),
    hearing: run.hearing,
    refusals: run.refusals,
    zeroS: run.zeroS,
  });
  kits.askWhoSpeaks();
  const bench = new KitBench({
    link: kits,
    store,
    calibration,
    recalibrated: () => run.recalibrated(),
    leading: () => run.leadingKit,
    fault,
  });
  const outbox = await goingOut(config, store, log);
  const audit = await openOffice(config, store, source, log);
  return {
    port: run,
    record,
    bench,
    audit,
    health: bridgeHealth({
      view: () => run.view(),
      wire: () => run.hearing,
      outbox,
      memory: () => process.memoryUsage.rss(),
    }),
    head: runStore.head,
    resumed,
    isOver: () => run.isOver,
    source: source.name,
    remarks: [...remarks, ...(source.remarks ?? [])],
    async stop() {
      await link.close();
      run.stop();
      await outbox?.stop();
      await audit.stop();
      closeStore(store, runStore);
    },
  };
}

/** Throws Problem `store-samples-lost` where readings were never written: nothing of them is left after this. */
function closeStore(store: Store, run: RunStore): void {
  try {
    store.close();
  } catch (error) {
    const lost = run.unkept();
    if (!lost || !(error instanceof Problem)) throw error;
    throw new Problem('store-samples-lost', { ...lost }, { cause: error });
  }
}

/** The way to the firm, where one is set. */
async function goingOut(config: Config, store: Store, log: (line: string) => void): Promise<OutboxLink | null> {
  if (!config.outlet) return null;
  const { startOutbox } = await import('./outbox-link.ts');
  // Real time: the link to the firm is no faster in a rehearsal.
  return await startOutbox(config.outlet, store, config.data, machineClock(), installationOf(config.data), log);
}

/** The runs that are over, for the office. Loaded apart: what takes long runs in a thread of its own. */
async function openOffice(
  config: Config,
  store: Store,
  source: OpenSource,
  log: (line: string) => void,
): Promise<Afterwards> {
  const { openAfterwards } = await import('./afterwards/afterwards.ts');
  const { createLooker } = await import('./afterwards/look-work.ts');
  const wallMs = (): number => source.clock.wallMs();
  return openAfterwards({ data: config.data, store, looker: createLooker(), wallMs, log });
}

/** The signature of the hand-over closes the record; when that fails, `limpid seal` can do it later. */
function sealHandedOver(record: RecordPort, log: (line: string) => void): void {
  const answer = record.seal('', 'bridge', false);
  log('status' in answer ? answer.text : `The run is sealed: ${answer.head}`);
}

interface Taken {
  readonly runStore: RunStore;
  readonly resumed: boolean;
  readonly remarks: readonly string[];
}

/** The run under way goes on when it is of the same kind; a replay is always a run of its own. */
function takeRun(config: Config, source: OpenSource, store: Store): Taken {
  const currentId = store.currentRunId();
  const current = currentId === null ? null : store.openRun(currentId);
  const { context, remarks } = contextFor(config, source);
  if (current && isSame(config, source, current.head) && !config.startNew && !hasEnded(current))
    return { runStore: current, resumed: true, remarks };
  const gone = sealNotHere(config.data, current);
  if (gone?.code === 'seal-cut-short') remarks.push(say(gone));
  const startedAt = new Date(source.clock.wallMs()).toISOString();
  const runId = freeId(store, startedAt, installationOf(config.data));
  // Which rehearsal it is, whatever it is called: by this a later start goes on with it. A replayed run is none.
  const { scenario: _played, ...known } = context;
  const scenario = config.source.kind === 'simulate' ? { scenario: config.source.scenario } : {};
  const runStore = store.createRun({
    runId,
    title: titleOf(config, source, context) || `Run of ${startedAt.slice(0, 10)}`,
    simulated: source.simulated,
    startedAt,
    context: {
      ...known,
      ...scenario,
      ...unitsOf(current),
      run_id: runId,
      started_at: startedAt,
      utc_offset_min: offsetMinutes(startedAt),
    },
    // A replay is judged as its run was.
    settings: { ...defaultLineSettings, ...understood(source.settings).settings },
  });
  store.setCurrentRun(runId);
  return { runStore, resumed: false, remarks };
}

/** How far the bridge's local time is ahead of UTC: the report says both. */
function offsetMinutes(iso: string): number {
  return 0 - new Date(iso).getTimezoneOffset();
}

/** Whoever showed the last run in other units wants them in the next one too. */
function unitsOf(last: RunStore | null): { units?: Record<string, unknown> } {
  if (!last) return {};
  const told = last.events().filter((e) => e.event.event === 'units');
  const begun = last.head.context['units'];
  if (told.length === 0) return typeof begun === 'object' && begun !== null ? { units: { ...begun } } : {};
  return { units: Object.assign({}, begun, ...told.map((e) => e.event.data)) };
}

/** What the user calls it goes before what the simulated rig is called; a replay is always called one. */
function titleOf({ source: { kind }, context: file }: Config, source: OpenSource, context: RunContext): string {
  const told = typeof context['title'] === 'string' ? context['title'].trim() : '';
  return kind === 'simulate' && file !== null ? told || source.title : source.title || told;
}

function isSame(config: Config, source: OpenSource, head: RunHead): boolean {
  if (config.source.kind === 'replay' || head.simulated !== source.simulated) return false;
  if (config.source.kind !== 'simulate') return true;
  // Runs of before the scenario was kept had its title.
  const { scenario } = head.context;
  return scenario === undefined ? head.title === source.title : scenario === config.source.scenario;
}

/**
 * `run-20261124-1512-7f3a09`: when, and on which bridge, so that no two rigs of a firm make the same; with a number when
 * the minute has one already.
 */
function freeId(store: Store, startedAt: string, installation: string): string {
  const minute = startedAt.slice(0, 16).replaceAll('-', '').replace('T', '-').replace(':', '');
  const stem = `run-${minute}-${installation.slice(0, 6)}`;
  const taken = new Set(store.runs().map((r) => r.runId));
  for (let n = 1; ; n++) {
    const id = n === 1 ? stem : `${stem}-${n}`;
    if (!taken.has(id)) return id;
  }
}

function contextFor(config: Config, source: OpenSource): { context: RunContext; remarks: string[] } {
  if (config.context !== null) return { context: readContextFile(config.context), remarks: [] };
  if (source.context) return { context: source.context, remarks: [] };
  return { context: unknownSystem(), remarks: [new Problem('run.system-unknown').message] };
}

function readContextFile(path: string): RunContext {
  if (!existsSync(path)) throw new Problem('config.file', { path, detail: 'no such file' });
  try {
    const parsed = contextSchema.safeParse(JSON.parse(readFileSync(path, 'utf8')));
    if (parsed.success) return parsed.data;
    const issue = parsed.error.issues[0];
    throw new Error(`${issue?.path.join('.') ?? ''}: ${issue?.message ?? 'not as expected'}`);
  } catch (error) {
    throw new Problem('config.file', { path, detail: causeOf(error) });
  }
}

/** The survey of an earlier visit. Throws Problem for the first line that cannot be used, with how many more there are. */
function readSurveyFile(path: string): { name: string; csv: string } {
  if (!existsSync(path)) throw new Problem('config.file', { path, detail: 'no such file' });
  const csv = readFileSync(path, 'utf8');
  const { survey, faults } = surveyFromRows(rowsOfText(csv));
  const [fault, ...more] = faults;
  if (fault) throw new Problem('config.survey', { path, ...fault, more: more.length });
  const impossible = survey && surveyFigures(survey).problems.find((p) => p.part !== 'survey');
  if (impossible) throw new Problem(impossible.refusal.code, impossible.refusal.params);
  return { name: basename(path), csv };
}

/** Until the survey tells what the system is like: no emitters, and litres of an ordinary house. */
function unknownSystem(): RunContext {
  return {
    emitters: [],
    loop_volume_l: 90,
    return_volume_l: 6,
    mains: { turbidity_ntu: 0.5, conductivity_us_cm: 400 },
    sample_hz: 10,
    system: 'sealed',
  };
}
