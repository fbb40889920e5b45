import { createHash } from 'node:crypto';
import { simulateRun } from '../../../simulators/dataset.ts';
import type { RunContext } from '../../../src/core/job/context.ts';
import type { RunEvent } from '../../../src/core/job/event.ts';
import { genesisHash, nextLink } from '../../../src/core/seal/chain.ts';
import type { Sample } from '../../../src/core/quantity/sample.ts';
import type { LoggedEvent } from '../../../src/core/audit/record.ts';
import { testPicture } from '../recording/test-picture.ts';
import type { ReportInput } from '../../../src/report/gather.ts';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

const picture = testPicture(320, 240);
const pictureHash = createHash('sha256').update(picture).digest('hex');
const photo = { file: `files/photo-${pictureHash.slice(0, 16)}.png`, sha256: pictureHash };

/** An invented house: rooms in the order of the simulated emitters. */
const rooms = ['Hall', 'Kitchen', 'Front room', 'Study', 'Landing', 'Back bedroom', 'Bathroom', 'Loft', 'Porch'];
const startedAt = '2026-03-04T08:05:00.000Z';
/** The stages before the simulated water begins to be measured. */
const beforeS = 2400;

export interface DemoRun {
  readonly context: RunContext;
  readonly samples: readonly Sample[];
  readonly events: readonly RunEvent[];
}

const event = (timeS: number, name: string, more: Partial<RunEvent> = {}): RunEvent => ({
  timeS,
  event: name,
  emitter: '',
  note: '',
  ...more,
});

function beforehand(): RunEvent[] {
  return [
    event(0, 'stage:survey'),
    event(430, 'stage:before-samples'),
    event(460, 'sample', { data: { water: 'mains', conductivity: 338, turbidity: 0.5, ph: 7.4, hardness: 180 } }),
    event(520, 'sample', {
      data: { water: 'before', conductivity: 910, turbidity: 46, ph: 7.1, iron: 21, copper: 0.4, hardness: 160 },
    }),
    event(640, 'stage:join'),
    event(700, 'caution-read', { note: 'pressure' }),
    event(820, 'hold-start'),
    event(1420, 'hold-end'),
    event(1430, 'stage:fill'),
    event(1720, 'typed', { data: { what: 'fill-litres', value: 12.5 } }),
    event(1730, 'stage:dose'),
    event(1760, 'label', { data: { what: 'cleaner', amount: 0.5, unit: 'l/100 l', batch: 'B7' } }),
    event(1800, 'dose', { data: { what: 'cleaner', litres: 0.6 } }),
    event(1930, 'stage:warm'),
  ];
}

function afterwards(endS: number): RunEvent[] {
  return [
    event(endS + 30, 'stage:after-samples'),
    event(endS + 90, 'sample', {
      data: { water: 'after', conductivity: 341, turbidity: 1.1, ph: 8.6, iron: 0.4, copper: 0.1, hardness: 170 },
    }),
    event(endS + 300, 'stage:protect'),
    event(endS + 330, 'weighed', { data: { grams: 640, how: 'wet' } }),
    event(endS + 500, 'typed', { data: { what: 'inhibitor-strength', value: 100 } }),
    event(endS + 420, 'dose', { data: { what: 'inhibitor', litres: 0.6 }, note: 'through the loft radiator' }),
    event(endS + 700, 'stage:hand-over'),
    event(endS + 760, 'hand-over', {
      data: { engineer: 'A. Engineer', client: 'B. Client' },
    }),
  ];
}

const made = new Map<string, DemoRun>();

/** A simulated clean with its rinse, dressed as a whole job. Made once: nobody changes it. */
export function demoRun(family = 'rinse', seed = 8): DemoRun {
  const name = `${family}/${seed}`;
  const run = made.get(name) ?? dressed(family, seed);
  made.set(name, run);
  return run;
}

function dressed(family: string, seed: number): DemoRun {
  const run = simulateRun(family, seed);
  const { context } = run;
  const emitters = context.emitters.map((e, i) => ({ ...e, name: rooms[i] ?? e.name }));
  const later = run.events.filter((e) => e.event !== 'stage:end').map((e) => ({ ...e, timeS: e.timeS + beforeS }));
  const lastS = (run.samples.at(-1)?.timeS ?? 0) + beforeS;
  const rinseS = later.find((e) => e.event === 'stage:rinse')?.timeS ?? lastS;
  const visited = new Set(later.flatMap((e) => (e.timeS < rinseS ? [e.emitter] : [])));
  const skips = emitters
    .filter((e) => !visited.has(e.id))
    .map((e, i) =>
      event(rinseS - 60 + i, 'skip', { emitter: e.id, note: 'behind fitted furniture, agreed with the client' }),
    );
  const told = [
    event(beforeS + 1, 'kit-hello', {
      data: {
        kit: 'urn:dev:mac:0024befffe804ff1',
        firmware: '1.2.0',
        rateHz: 10,
        'lo-turbidity': 0,
        'hi-turbidity': 4000,
        'step-turbidity': 0.1,
      },
    }),
    event(beforeS + 1.1, 'calibrated', {
      data: {
        kit: 'urn:dev:mac:0024befffe804ff1',
        channel: 'turbidity',
        certificate: 'turbidity-2026-02',
        state: 'valid',
        who: 'A. Builder',
        made: '2026-02-01',
        due: '2027-02-01',
        limitOfDetection: 0.9,
      },
    }),
    event(rinseS - 400, 'chamber-emptied'),
    event(rinseS - 300, 'flow-reverse'),
    event(rinseS - 240, 'flow-forward'),
    event(rinseS - 200, 'photo', { note: 'Sludge from the first chamber', data: { ...photo, bytes: picture.length } }),
    event(rinseS - 20, 'caution-read', { note: 'foul-drain' }),
    event(rinseS - 15, 'caution-read', { note: 'isolation' }),
    event(rinseS - 10, 'note', { note: 'Heat source isolated at the fused spur.' }),
  ];
  const events = [...beforehand(), ...told, ...later, ...skips, ...afterwards(lastS)].toSorted(
    (a, b) => a.timeS - b.timeS,
  );
  return {
    context: {
      ...context,
      emitters,
      system: 'sealed',
      site: '7 Example Row, Sampleton',
      symptoms: 'cold at the bottom, noisy pump',
    },
    samples: run.samples.map((s) => ({ ...s, timeS: s.timeS + beforeS })),
    events,
  };
}

/** The same as the report takes it, with its chain; sealed when asked for. */
export function demoInput(run: DemoRun, how: { readonly sealed: boolean; readonly simulated?: boolean }): ReportInput {
  const { context, samples, events } = run;
  const head = {
    runId: 'run-20260304-0805',
    title: 'Clean of 7 Example Row',
    simulated: how.simulated ?? true,
    startedAt,
    context,
  };
  const entries: LoggedEvent[] = events.map((e, i) => ({
    id: `e${i}`,
    event: e,
    who: e.event === 'kit-hello' ? 'kit' : 'device-1a2b3c4d',
    wallAt: new Date(Date.parse(startedAt) + e.timeS * 1000).toISOString(),
  }));
  let hash = genesisHash(head, sha256);
  for (const [i, entry] of entries.entries()) hash = nextLink(i, hash, entry, sha256).hash;
  const seal = {
    state: 'good' as const,
    fingerprint: '21fe 31df a154 a261 626b f854 046f d227',
    sealedAt: '2026-03-04T10:20:00.000Z',
    head: hash,
    keyName: 'this bridge',
  };
  return {
    head,
    entries,
    samples,
    chain: { count: entries.length, hash },
    seal: how.sealed ? seal : null,
    comments: [],
    beside: { details: null, photos: new Map([[photo.file, picture]]) },
    madeAt: '2026-03-04T10:21:00.000Z',
  };
}
