import type { AuditVisit, LookedAtRun, RunPage } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { place } from './place.ts';
import { clock, length, number, plural, short, stateWords } from './words.ts';

interface Props {
  readonly page: RunPage;
  readonly looked: LookedAtRun;
  readonly look: (span: Span, at: string) => void;
}

const miniWidth = 220;
const miniHeight = 66;
/** Decades of every small picture: the same for all, so that they can be compared. */
const lowest = 0.5;

/** Visits as a table, each with its turbidity; all small pictures share both axes. */
export function Visits({ looked, look }: Props) {
  const { visits } = looked;
  if (visits.length === 0) return null;
  const longestS = Math.max(...visits.map((v) => v.toS - v.fromS));
  const peaks = visits.flatMap((v) => v.mini.ntu.map((y) => y ?? 0));
  const top = 10 ** Math.ceil(Math.log10(Math.max(100, ...peaks) * 1.01));
  return (
    <section class="visits" aria-label="Visits">
      <h3>Visits</h3>
      <p class="quiet">
        Each picture: {length(longestS)} from the opening, {lowest} to {top} NTU in even steps of ten. Wedges are
        passes, the bar along the foot is clear.
      </p>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">Emitter</th>
              <th scope="col">Turbidity</th>
              <th scope="col" class="end">
                Opened
              </th>
              <th scope="col" class="end">
                Length
              </th>
              <th scope="col" class="end">
                Clear after
              </th>
              <th scope="col" class="end">
                Passes
              </th>
              <th scope="col" class="end">
                Pulses
              </th>
              <th scope="col" class="end">
                Peak
              </th>
              <th scope="col" class="end">
                Water
              </th>
              <th scope="col" class="end">
                Solids
              </th>
              <th scope="col">When it was shut</th>
            </tr>
          </thead>
          <tbody>
            {visits.map((v) => (
              <VisitRow key={`${v.emitter} ${v.visit}`} visit={v} longestS={longestS} top={top} look={look} />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function VisitRow({
  visit: v,
  longestS,
  top,
  look,
}: {
  visit: AuditVisit;
  longestS: number;
  top: number;
  look: Props['look'];
}) {
  const at = `visit ${v.emitter}/${v.visit}`;
  const peaks = v.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu]));
  const least = v.isLeast ? 'at least ' : '';
  const stood = v.state === 'clear' ? v.clears.at(-1) : undefined;
  return (
    <tr class={place.value.at === at ? 'is-here' : ''}>
      <th scope="row">
        <button type="button" class="plain" onClick={() => look(v, at)}>
          {v.name}
        </button>
        {v.visit > 1 && <small>visit {v.visit}</small>}
      </th>
      <td>
        <Mini visit={v} longestS={longestS} top={top} />
      </td>
      <td class="end">{clock(v.fromS)}</td>
      <td class="end">{length(v.toS - v.fromS)}</td>
      <td class="end">{stood ? length(stood[0] - v.fromS) : '–'}</td>
      <td class="end">{v.passesS.length}</td>
      <td class="end">{v.pulses.length}</td>
      <td class="end">{peaks.length > 0 ? `${short(Math.max(...peaks))} NTU` : '–'}</td>
      <td class="end">{v.litres === null ? '–' : `${least}${number(v.litres, 0, 'l')}`}</td>
      <td class="end">{v.solidsG === null ? '–' : `${least}${short(v.solidsG)} g`}</td>
      <td class="verdict">
        <b>{v.done ? 'Done' : (stateWords[v.state] ?? v.state)}</b>
        <small>{v.reason}</small>
      </td>
    </tr>
  );
}

function Mini({ visit, longestS, top }: { visit: AuditVisit; longestS: number; top: number }) {
  const x = (timeS: number): number => (miniWidth * timeS) / Math.max(1, longestS);
  const span = Math.log10(top / lowest);
  const y = (ntu: number): number =>
    miniHeight - 6 - ((miniHeight - 14) * Math.log10(Math.max(lowest, ntu) / lowest)) / span;
  const lines: string[] = [];
  let points: string[] = [];
  for (const [i, value] of visit.mini.ntu.entries()) {
    if (value === null) {
      if (points.length > 0) lines.push(points.join(' '));
      points = [];
    } else points.push(`${x(visit.mini.timeS[i] ?? 0).toFixed(1)},${y(value).toFixed(1)}`);
  }
  if (points.length > 0) lines.push(points.join(' '));
  const alt = `${visit.name}: ${plural(visit.passesS.length, 'pass', 'passes')}, ${plural(visit.pulses.length, 'pulse')}, ${length(visit.toS - visit.fromS)}.`;
  const foot = miniHeight - 4;
  return (
    <svg
      class="mini"
      viewBox={`0 0 ${miniWidth} ${miniHeight}`}
      width={miniWidth}
      height={miniHeight}
      role="img"
      aria-label={alt}
    >
      <line class="mini-foot" x1={0} x2={x(visit.toS - visit.fromS)} y1={foot} y2={foot} />
      {visit.clears.map(([fromS, toS]) => (
        <rect
          class="mini-clear"
          key={fromS}
          x={x(fromS - visit.fromS)}
          width={Math.max(1, x(toS - fromS))}
          y={foot - 3}
          height={4}
        />
      ))}
      {visit.passesS.map((passS) => {
        const at = x(passS - visit.fromS);
        return <path class="mini-pass" key={passS} d={`M${at - 3} 0h6l-3 6z`} />;
      })}
      {lines.map((line) => (
        <polyline class="mini-line" key={line} points={line} />
      ))}
    </svg>
  );
}
