import { insideUnits } from '../../../src/core/quantity/units.ts';
import type { BridgePort, Refusal } from '../../../src/server/port.ts';
import type { EmitterView, LiveMessage, PostEvent, RunView, TraceRow } from '../../../src/server/protocol.ts';

/**
 * A bridge that plays a plausible visit by hand-made curves: a pass answers after a transit with a pulse that washes
 * out, the second pass with less, the third with nothing. No detection: states follow from what was put in. Invented.
 */
export interface FakeBridge extends BridgePort {
  /** Let run time pass, sending rows at 10 Hz and what changes. */
  play(seconds: number): void;
  emit(message: LiveMessage): void;
  /** A tenth of a second of water, without a new view. */
  row(): void;
  beat(): void;
  /** Overrides of the view, for pictures of rare states. */
  force(change: Partial<RunView>): void;
  /** Stop or restart the turbidity reading. */
  blind(on: boolean): void;
  readonly posted: { event: PostEvent; who: string }[];
  readonly timeS: number;
}

const rooms = [
  'Hall',
  'Kitchen',
  'Living room, window',
  'Living room, door',
  'Study',
  'Landing',
  'Bathroom',
  'Bedroom, back',
];
const transitS = 14;
const tauS = 16;
const noise = (t: number) => Math.sin(t * 12.9898) * Math.sin(t * 78.233) * 1.1;

interface Play {
  timeS: number;
  open: number | null;
  openedS: number;
  passes: number[];
  rows: TraceRow[];
  emitters: EmitterView[];
  notices: { atS: number; text: string }[];
  undo: RunView['undo'];
}

function peakOf(pass: number): number {
  return pass === 0 ? 620 : pass === 1 ? 140 : 0;
}

function turbidity(play: Play, t: number): number {
  let sum = 9 + noise(t);
  play.passes.forEach((passS, i) => {
    const sinceS = t - passS - transitS;
    if (sinceS <= 0) return;
    const rise = 1 - Math.exp(-sinceS / 5);
    sum += peakOf(i) * rise * Math.exp(-sinceS / tauS) * 2.1 * (1 + 0.05 * noise(t * 3));
  });
  return Math.max(0.6, Math.round(sum * 100) / 100);
}

type Kind = RunView['band']['kind'];

function kindOf(play: Play): Kind {
  if (play.open === null) return 'idle';
  const lastS = play.passes.at(-1);
  if (lastS === undefined) return 'watching';
  const sinceS = play.timeS - lastS - transitS;
  const peak = peakOf(play.passes.length - 1);
  if (sinceS < (peak > 0 ? 2 : 10)) return 'watching';
  if (peak === 0) return 'done';
  const excess = turbidity(play, play.timeS) - 9;
  if (sinceS < 9) return 'carrying';
  return excess > 6 ? 'settling' : 'clear';
}

const words: Readonly<Record<Kind, readonly [string, string]>> = {
  idle: ['Open an emitter', 'Open the next emitter'],
  watching: ['Watching the return', 'Wait: the water of the last pass is on its way'],
  carrying: ['Dirty water coming', 'Wait until it has gone by'],
  settling: ['Falling', 'Wait until it has gone by'],
  clear: ['Clear: shake again', 'Shake it, then press Pass done'],
  done: ['Done: shut it', 'Shut it, open the next'],
  'cannot-tell': ['Cannot tell', 'Look at the rig; do not go by the last verdict'],
};

function viewOf(play: Play): RunView {
  const kind = kindOf(play);
  const emitter = play.open === null ? null : (play.emitters[play.open] ?? null);
  const nowNtu = turbidity(play, play.timeS);
  const next = play.emitters.find((e) => e.status === 'to-come');
  const [word, doNow] = words[kind];
  const lastS = play.passes.at(-1);
  const excess = Math.round((nowNtu - 9) * 10) / 10;
  const button = (id: string, label: string, event: string, forId: string, primary: boolean, hold = false) => ({
    id,
    label,
    event,
    emitter: forId,
    note: '',
    hold,
    primary,
    why: false,
  });
  const pulses = play.passes.flatMap((passS, i) => {
    const onsetS = passS + transitS;
    if (peakOf(i) === 0 || play.timeS < onsetS + 2) return [];
    const risen = play.timeS > onsetS + 9;
    return [
      {
        onsetS,
        saidS: onsetS + 2,
        peakS: risen ? onsetS + 7 : null,
        peakNtu: risen ? Math.round(turbidity({ ...play, passes: play.passes.slice(0, i + 1) }, onsetS + 7)) : null,
        endS: play.timeS > onsetS + 75 ? onsetS + 75 : null,
        marked: true,
      },
    ];
  });
  const clearS = play.passes.flatMap((passS, i) => {
    const fromS = passS + transitS + (peakOf(i) === 0 ? 10 : Math.max(9, tauS * Math.log((peakOf(i) * 2.1) / 6)));
    const toS = play.passes[i + 1] ?? null;
    return play.timeS >= fromS && (toS === null || toS > fromS) ? [{ fromS, toS }] : [];
  });
  return {
    runId: 'fake-run',
    title: 'Two-pipe house, upper floor',
    simulated: true,
    startedAt: '2026-05-04T08:00:00.000Z',
    timeS: play.timeS,
    stage: 'emitters',
    stageTitle: 'Emitters, one by one',
    emitters: play.emitters.map((e) => ({ ...e })),
    openEmitter: emitter?.id ?? null,
    band: {
      words: word,
      emitter: emitter?.name ?? null,
      doNow: kind === 'idle' && next ? `Open ${next.name}` : doNow,
      reason: emitter
        ? `${kind === 'clear' || kind === 'done' ? 'Turned clear at ' : ''}${excess} NTU over a background of 9.0; ${lastS === undefined ? '0.0' : ((play.timeS - lastS) * 0.18).toFixed(1)} l since the last pass, 2.9 l needed.`
        : 'All valves are shut; the background is 9.0 NTU.',
      kind,
    },
    verdict: {
      state: kind === 'done' ? 'clear' : kind,
      done: kind === 'done',
      sinceS: play.timeS,
      confidence: kind === 'clear' || kind === 'done' ? 0.98 : null,
      reason: { code: 'fake', text: '', figures: {} },
      forecast:
        kind === 'settling'
          ? (() => {
              const restS = tauS * Math.log(Math.max(excess, 6.1) / 6);
              const clearAtS = play.timeS + restS;
              return { clearAtS, fromS: clearAtS - restS * 0.2, toS: clearAtS + restS * 0.35, tauS, settleNtu: 9 };
            })()
          : null,
    },
    figures: {
      backgroundNtu: 9,
      clearLevelNtu: 15,
      excessNtu: excess,
      noiseNtu: 0.6,
      litresSincePassL: lastS === undefined ? null : (play.timeS - lastS) * 0.18,
      litresNeededL: 2.9,
    },
    passesS: [...play.passes],
    pulses,
    clears: clearS,
    withheldSpans: [],
    visitSpans: emitter ? [{ emitter: emitter.id, fromS: play.openedS, toS: null }] : [],
    buttons: emitter
      ? [
          button('pass', 'Pass done', 'agitate-end', emitter.id, kind === 'clear' || kind === 'watching'),
          button(
            'shut',
            next ? `Shut and open ${next.name}` : 'Shut it',
            next ? 'emitter-open' : 'emitter-shut',
            next?.id ?? emitter.id,
            kind === 'done',
            kind !== 'done',
          ),
          button('shut-only', `Shut ${emitter.name}`, 'emitter-shut', emitter.id, false, kind !== 'done'),
        ]
      : next
        ? [
            button('open', `Open ${next.name}`, 'emitter-open', next.id, true),
            button('skip', `Skip ${next.name}`, 'skip', next.id, false, true),
          ]
        : [],
    typed: [],
    undo: play.undo !== null && play.undo.untilS > play.timeS ? play.undo : null,
    sealed: false,
    links: [
      { id: 'sensor', state: 'ok', text: 'All sensors answer.', ageS: 0.1 },
      { id: 'kit', state: 'ok', text: 'The kit sends 10 packs a second.', ageS: 0.1 },
      { id: 'bridge', state: 'ok', text: 'The bridge keeps the run.', ageS: 0 },
    ],
    counters: [],
    notices: play.notices,
    stagePage: null,
    timeLine: [],
    paused: null,
    reasons: { way: [], pause: [] },
    lead: null,
    said: {},
    workRemarks: [],
    forecast: null,
    units: insideUnits,
    photos: [],
    alarms: { shown: [], more: 0, shelved: [], heard: 0, isCalling: false },
  };
}

function rowOf(play: Play, t: number, blind: boolean): TraceRow {
  const open = play.open !== null;
  return [
    t,
    blind ? null : turbidity(play, t),
    Math.round(((open ? 10.8 : 3.2) + noise(t) * 0.15) * 100) / 100,
    Math.round((1.12 + noise(t * 2) * 0.01) * 1000) / 1000,
    Math.round((58.4 + Math.sin(t / 90) * 1.5) * 10) / 10,
    Math.round((49.1 + Math.sin(t / 110) * 1.2) * 10) / 10,
    Math.round(842 + noise(t) * 3),
    null,
    open ? 9 : null,
    open ? 15 : null,
  ];
}

function apply(play: Play, event: PostEvent): Refusal | null {
  const refusal = (text: string): Refusal => ({ status: 409, code: 'not-now', text });
  const index = play.emitters.findIndex((e) => e.id === event.emitter);
  const emitter = play.emitters[index];
  if (event.event === 'emitter-open') {
    if (!emitter) return refusal('This run has no such emitter. Open one of the list.');
    const open = play.open === null ? undefined : play.emitters[play.open];
    if (open) apply(play, { ...event, event: 'emitter-shut', emitter: open.id });
    play.open = index;
    play.openedS = play.timeS;
    play.passes = [];
    play.emitters[index] = { ...emitter, status: 'open', visits: emitter.visits + 1 };
  } else if (event.event === 'emitter-shut') {
    if (!emitter || play.open !== index) return refusal('That emitter is not open.');
    const done = kindOf(play) === 'done';
    play.emitters[index] = {
      ...emitter,
      status: done ? 'done' : 'left',
      peakNtu: 1043,
      clearAfterS: done ? 214 : null,
    };
    play.open = null;
    play.passes = [];
  } else if (event.event === 'agitate-end') {
    if (!emitter || play.open !== index) return refusal('That emitter is not open, so this pass was not recorded.');
    play.passes.push(play.timeS);
    play.emitters[index] = { ...emitter, passes: emitter.passes + 1 };
    play.undo = { id: event.id, label: 'Pass done', untilS: play.timeS + 10 };
  } else if (event.event === 'undo') {
    play.passes.pop();
    play.undo = null;
  } else if (event.event === 'skip' && emitter) play.emitters[index] = { ...emitter, status: 'skipped' };
  return null;
}

export function createFakeBridge(): FakeBridge {
  const play: Play = {
    timeS: 0,
    open: null,
    openedS: 0,
    passes: [],
    rows: [],
    emitters: rooms.map((name, i) => ({
      id: `e${i + 1}`,
      name,
      volumeL: 6 + i,
      status: 'to-come',
      visits: 0,
      passes: 0,
      peakNtu: null,
      clearAfterS: null,
      solidsG: null,
      toDropL: (6 + i) / 2,
      transitS: null,
      told: [],
    })),
    notices: [],
    undo: null,
  };
  const listeners = new Set<(message: LiveMessage) => void>();
  const seen = new Map<string, number>();
  const posted: FakeBridge['posted'] = [];
  let forced: Partial<RunView> = {};
  let isBlind = false;
  const emit = (message: LiveMessage) => {
    for (const fn of listeners) fn(message);
  };
  const view = (): RunView => ({ ...viewOf(play), ...forced });
  const bridge: FakeBridge = {
    posted,
    get timeS() {
      return play.timeS;
    },
    view,
    trace(fromS, toS, points) {
      const rows = play.rows.filter((row) => row[0] >= fromS && row[0] <= toS);
      const step = points === undefined ? 1 : Math.max(1, Math.ceil(rows.length / points));
      return { rows: rows.filter((_, i) => i % step === 0), decimated: step > 1 };
    },
    post(event, who) {
      const index = seen.get(event.id);
      if (index !== undefined) return Promise.resolve({ index, timeS: play.timeS, doubled: true });
      const refused = apply(play, event);
      if (refused) return Promise.resolve(refused);
      posted.push({ event, who });
      seen.set(event.id, posted.length);
      emit({ type: 'view', view: view() });
      return Promise.resolve({ index: posted.length, timeS: play.timeS - event.agoS, doubled: false });
    },
    listen(fn) {
      listeners.add(fn);
      return () => listeners.delete(fn);
    },
    emit,
    beat() {
      const lastSampleS = play.rows.at(-1)?.[0] ?? null;
      emit({ type: 'beat', timeS: play.timeS, wallMs: Date.now(), lastSampleS, speed: 1 });
    },
    row() {
      play.timeS = Math.round((play.timeS + 0.1) * 10) / 10;
      const row = rowOf(play, play.timeS, isBlind);
      play.rows.push(row);
      emit({ type: 'trace', rows: [row] });
    },
    play(seconds) {
      const steps = Math.round(seconds * 10);
      for (let i = 0; i < steps; i += 1) bridge.row();
      emit({ type: 'view', view: view() });
    },
    force(change) {
      forced = change;
      emit({ type: 'view', view: view() });
    },
    blind(on) {
      isBlind = on;
    },
  };
  return bridge;
}
