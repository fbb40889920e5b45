import type { RunEvent } from '../src/core/job/event.ts';
import type { Truth } from '../simulators/truth/truth.ts';
import type { TruthRow } from '../simulators/truth/log.ts';
import type { BenchRun } from './dataset.ts';
import type { Complaint } from './score.ts';
import type { Tally } from './tally.ts';

/** What flow and pressure can show of a trouble on site, and what must be said of it. */
export interface SiteTrouble {
  readonly kind: string;
  readonly fromS: number;
  readonly toS: number;
  /** Notices that name it. */
  readonly names: readonly string[];
  /** Large and long enough that it must be named while it lasts. */
  readonly isDue: boolean;
}

/** Least that counts: our choice, no source. */
const least = {
  /** A leak of 0.3 bar an hour that has twenty minutes left in the closed circuit. */
  leakBarPerMin: 0.005,
  leakS: 1200,
  /** A filling loop that gives 1.2 bar an hour for two minutes. */
  fillingBarPerMin: 0.02,
  fillingS: 120,
  /** Half a minute and a bit in which the flow is a tenth more, 15 % less, or a tenth of what it was. */
  flowS: 40,
  moreShare: 1.1,
  lessShare: 0.85,
  stoppedShare: 0.1,
} as const;

/** Everything that moves flow or pressure: near one of these no notice is false. */
const moving = new Set(['pump-off', 'kink', 'two-open', 'leak', 'filling-loop', 'mains-lost', 'heating']);

/** The troubles of flow and pressure in a run, judged by the noise-free water. */
export function siteTroubles(truth: Truth, events: readonly RunEvent[]): SiteTrouble[] {
  const endS = truth.rows.at(-1)?.timeS ?? 0;
  const closedS = truth.rinse?.fromS ?? endS;
  return truth.troubles
    .filter((t) => moving.has(t.name))
    .map(({ name, fromS, toS }) => {
      const span = { kind: name, fromS, toS: Math.min(toS ?? endS, name === 'mains-lost' ? endS : closedS) };
      const rows = truth.rows.filter((row) => row.timeS >= fromS && row.timeS < span.toS);
      return { ...span, ...shown(name, rows, flowBefore(truth.rows, fromS), isTold(events, fromS)) };
    });
}

function shown(
  name: string,
  rows: readonly TruthRow[],
  beforeLpm: number,
  told: boolean,
): Pick<SiteTrouble, 'names' | 'isDue'> {
  const lastsS = (rows.at(-1)?.timeS ?? 0) - (rows[0]?.timeS ?? 0);
  const barPerMin = (60 * ((rows.at(-1)?.pressureBar ?? 0) - (rows[0]?.pressureBar ?? 0))) / lastsS;
  const soon = rows.filter((row) => row.timeS <= (rows[0]?.timeS ?? 0) + least.flowS);
  const flow = (test: (share: number) => boolean): boolean =>
    beforeLpm > 1 && lastsS >= least.flowS && soon.slice(soon.length / 4).every((row) => test(row.flowLpm / beforeLpm));
  switch (name) {
    case 'leak':
      return { names: ['leak'], isDue: barPerMin <= -least.leakBarPerMin && lastsS >= least.leakS };
    case 'filling-loop':
      return {
        names: ['filling-loop-open'],
        isDue: barPerMin >= least.fillingBarPerMin && lastsS >= least.fillingS,
      };
    case 'two-open':
      return { names: ['two-open'], isDue: flow((share) => share >= least.moreShare) };
    case 'pump-off':
      return { names: ['flow-stopped'], isDue: !told && flow((share) => share <= least.stoppedShare) };
    case 'kink':
      return { names: ['flow-stopped', 'valve-shut'], isDue: flow((share) => share <= least.lessShare) };
    case 'mains-lost':
      return { names: ['mains-lost', 'rinse-flow-stopped'], isDue: flow((share) => share <= least.lessShare) };
    default:
      return { names: [], isDue: false };
  }
}

function flowBefore(rows: readonly TruthRow[], atS: number): number {
  return rows.findLast((row) => row.timeS <= atS - 1)?.flowLpm ?? 0;
}

/** The engineer told of it: nothing needs to be named. */
function isTold(events: readonly RunEvent[], atS: number): boolean {
  return events.some((e) => e.event.startsWith('rig-pump') && Math.abs(e.timeS - atS) <= 5);
}

/** A trouble is named while it lasts, or so soon after, s; a notice of what has ended is none that is false for so long. */
const soonS = 30;
const overS = 90;
/** Nor is one false that comes so long before its tap, s: the engineer told late. */
const lateTapS = 15;

/** Notices that speak of flow or pressure on site. */
const spoken = new Set([
  'leak',
  'filling-loop-open',
  'two-open',
  'flow-stopped',
  'rinse-flow-stopped',
  'valve-opened',
  'valve-shut',
  'mains-lost',
]);

const isTap = /^(emitter|rig-pump|stage)/;

interface Said {
  readonly at_s: number;
  readonly reason: { readonly code: string };
}

/** Was each trouble named, and how soon; and what was said of none. */
export function scoreTroubles(
  { troubles, events, rinse }: Pick<BenchRun, 'troubles' | 'events' | 'rinse'>,
  notices: readonly Said[],
  tally: Tally,
  complain: Complaint,
): void {
  for (const { kind, fromS, toS, names, isDue } of troubles) {
    if (!isDue) continue;
    const first = notices.find((n) => names.includes(n.reason.code) && n.at_s >= fromS && n.at_s <= toS + soonS);
    tally.troubles.push({ kind, afterS: first ? first.at_s - fromS : null });
    if (!first) complain(`${kind} not named, from ${fromS.toFixed(0)} to ${toS.toFixed(0)}`);
  }
  for (const { at_s, reason } of notices) {
    // When the rinse is over everything is shut, with no tap.
    if (!spoken.has(reason.code) || (rinse && at_s > rinse.toS)) continue;
    if (troubles.some((t) => at_s >= t.fromS && at_s <= t.toS + overS)) continue;
    if (events.some((e) => isTap.test(e.event) && e.timeS >= at_s && e.timeS <= at_s + lateTapS)) continue;
    tally.falseNotices.push(reason.code);
    complain(`"${reason.code}" with nothing the matter at ${at_s.toFixed(0)}`);
  }
}
