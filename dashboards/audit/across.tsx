import { useEffect, useState } from 'preact/hooks';
import type { AcrossView, ControlChartView, DriftView, GroupView } from '../../src/core/audit/across-schema.ts';
import { bridge } from './client.ts';
import { tried } from './model.ts';
import { hashOf, place, stay } from './place.ts';
import { rigText } from './runs.tsx';
import { plural } from './words.ts';

const groupings: readonly (readonly [by: string, words: string])[] = [
  ['month', 'Month'],
  ['engineer', 'Engineer'],
  ['rig', 'Rig'],
  ['emitter-type', 'Kind of emitter'],
];

/** A figure with three digits that count. */
export function short(value: number): string {
  if (value === 0) return '0';
  const digits = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(4, digits)).replace('-', '−');
}

/** Many runs: how a figure lies, group by group, and what stands outside of what is usual. No league table. */
export function AcrossPage() {
  const { more } = place.value;
  const by = more['by'] ?? 'month';
  const measure = more['measure'] ?? 'clearAfterS';
  const [found, setFound] = useState<AcrossView | null>(null);
  const address = hashOf(place.value);
  useEffect(() => {
    const { since, before, search } = place.value.more;
    const query = { by, measure, search: search ?? '', since: since || undefined, before: before || undefined };
    void tried(() => bridge.across(query)).then((answer) => answer && setFound(answer));
  }, [address]);
  const change = (to: Record<string, string>): void => stay({ more: { ...more, ...to } });
  const title = found?.measures.find((m) => m.id === measure);
  return (
    <main class="across">
      <form class="line-form" onSubmit={(event) => event.preventDefault()}>
        <label class="wide">
          Figure
          <select value={measure} onChange={(event) => change({ measure: event.currentTarget.value })}>
            {found?.measures.map((m) => (
              <option value={m.id} key={m.id}>
                {m.title}
                {m.unit === '' ? '' : `, ${m.unit}`}
              </option>
            ))}
          </select>
        </label>
        <label>
          By
          <select value={by} onChange={(event) => change({ by: event.currentTarget.value })}>
            {groupings.map(([key, words]) => (
              <option value={key} key={key}>
                {words}
              </option>
            ))}
          </select>
        </label>
        <label>
          From
          <input
            type="date"
            value={more['since'] ?? ''}
            onChange={(event) => change({ since: event.currentTarget.value })}
          />
        </label>
        <label>
          Before
          <input
            type="date"
            value={more['before'] ?? ''}
            onChange={(event) => change({ before: event.currentTarget.value })}
          />
        </label>
      </form>
      {found !== null && title !== undefined && (
        <>
          <Groups found={found} measure={measure} unit={title.unit} title={title.title} by={by} />
          <Control
            title={`${title.title}, run after run`}
            unit={title.unit}
            chart={found.overTime}
            none="Eight runs with this figure are needed for limits that mean something."
            isRun
          />
          <Control
            title={`${title.title}, group beside group`}
            unit={title.unit}
            chart={found.byGroup}
            none="Two groups of two values each are needed."
          />
          <Drifts drifts={found.drifts} />
        </>
      )}
    </main>
  );
}

const boxWidth = 420;
const boxHeight = 30;

function Groups({
  found,
  measure,
  unit,
  title,
  by,
}: {
  found: AcrossView;
  measure: string;
  unit: string;
  title: string;
  by: string;
}) {
  const rows = [...found.groups, { ...found.all, key: 'all' }];
  const most = Math.max(1e-9, ...rows.map((g) => g.measures[measure]?.most ?? 0));
  return (
    <section aria-label="Distributions">
      <h3>
        {title}
        {unit === '' ? '' : `, ${unit}`}
      </h3>
      <p class="quiet">
        {plural(found.runs, 'run')}. The line runs from the least to the most, the box from the first to the third
        quarter, the stroke is the median. In the order of names.
      </p>
      <div class="scroll">
        <table>
          <thead>
            <tr>
              <th scope="col">{groupings.find(([key]) => key === by)?.[1]}</th>
              <th scope="col">
                0 to {short(most)} {unit}
              </th>
              <th scope="col" class="end">
                Median
              </th>
              <th scope="col" class="end">
                Middle half
              </th>
              <th scope="col" class="end">
                Values
              </th>
              <th scope="col" class="end">
                Runs
              </th>
              <th scope="col" class="end">
                Clear when left
              </th>
              <th scope="col" class="end">
                Overrides
              </th>
              <th scope="col" class="end">
                False starts
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map((g) => (
              <GroupRow group={g} measure={measure} most={most} by={by} key={g.key} />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function GroupRow({ group: g, measure, most, by }: { group: GroupView; measure: string; most: number; by: string }) {
  const d = g.measures[measure] ?? null;
  const x = (value: number): number => (boxWidth * Math.max(0, value)) / most;
  const name = g.key === 'all' ? 'All' : by === 'rig' ? rigText(g.key) : g.key || 'not said';
  return (
    <tr class={g.key === 'all' ? 'all' : ''}>
      <th scope="row">{name}</th>
      <td>
        {d !== null && (
          <svg
            class="box"
            viewBox={`-2 0 ${boxWidth + 4} ${boxHeight}`}
            width={boxWidth + 4}
            height={boxHeight}
            role="img"
            aria-label={`${name}: ${short(d.least)} to ${short(d.most)}, median ${short(d.median)}`}
          >
            <line class="box-line" x1={x(d.least)} x2={x(d.most)} y1={15} y2={15} />
            <rect class="box-half" x={x(d.q1)} width={Math.max(1, x(d.q3) - x(d.q1))} y={6} height={18} />
            <line class="box-median" x1={x(d.median)} x2={x(d.median)} y1={3} y2={27} />
          </svg>
        )}
      </td>
      <td class="end">{d === null ? '–' : short(d.median)}</td>
      <td class="end">{d === null ? '–' : `${short(d.q1)} to ${short(d.q3)}`}</td>
      <td class="end">{d?.n ?? 0}</td>
      <td class="end">{g.runs}</td>
      <td class="end">{g.visits === 0 ? '–' : `${g.cleared} of ${g.visits}`}</td>
      <td class="end">{g.overrides}</td>
      <td class="end">{g.falseStarts}</td>
    </tr>
  );
}

const width = 1080;
const height = 190;
const left = 64;

interface ControlProps {
  readonly title: string;
  readonly unit: string;
  readonly chart: ControlChartView | null;
  readonly none: string;
  readonly isRun?: boolean;
}

function Control({ title, unit, chart, none, isRun }: ControlProps) {
  return (
    <section aria-label={title}>
      <h3>{title}</h3>
      {chart === null ? (
        <p class="quiet">{none}</p>
      ) : (
        <ControlPicture chart={chart} unit={unit} isRun={isRun ?? false} />
      )}
    </section>
  );
}

function ControlPicture({ chart, unit, isRun }: { chart: ControlChartView; unit: string; isRun: boolean }) {
  const { points, centre } = chart;
  const values = points.flatMap((p) => [p.value, p.upper, p.lower]);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = (high - low || 1) * 0.06;
  const x = (i: number): number =>
    left + 10 + (width - left - 20) * (points.length === 1 ? 0.5 : i / (points.length - 1));
  const y = (value: number): number => 10 + (height - 20) * (1 - (value - low + room) / (high - low + 2 * room));
  const steps = (of: (p: ControlChartView['points'][number]) => number): string =>
    points.map((p, i) => `${x(i).toFixed(1)},${y(of(p)).toFixed(1)}`).join(' ');
  const out = points.filter((p) => p.out);
  return (
    <>
      <svg
        class="control"
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-label={`${points.length} points about ${short(centre)} ${unit}; ${out.length} outside the limits.`}
      >
        <polyline class="control-limit" points={steps((p) => p.upper)} />
        <polyline class="control-limit" points={steps((p) => p.lower)} />
        <line class="control-centre" x1={left} x2={width - 6} y1={y(centre)} y2={y(centre)} />
        <polyline class="control-line" points={steps((p) => p.value)} />
        {points.map((p, i) =>
          p.out ? (
            <path class="control-out" key={p.key} d={`M${x(i)} ${y(p.value) - 7}l7 12h-14z`} />
          ) : (
            <circle class="control-point" key={p.key} cx={x(i)} cy={y(p.value)} r={2.5} />
          ),
        )}
        <text class="control-word" x={left - 8} y={y(centre) + 4}>
          {short(centre)}
        </text>
        <text class="control-word" x={left - 8} y={y(points[0]?.upper ?? high) + 4}>
          {short(points[0]?.upper ?? high)}
        </text>
        <text class="control-word" x={left - 8} y={y(points[0]?.lower ?? low) + 4}>
          {short(points[0]?.lower ?? low)}
        </text>
      </svg>
      <p>
        {out.length === 0 ? 'All inside the limits.' : `${out.length} outside the limits: `}
        {out.slice(0, 12).map((p, i) => (
          <span key={p.key}>
            {i > 0 ? ', ' : ''}
            {isRun ? <a href={hashOf({ runId: p.key })}>{p.key}</a> : p.key || 'not said'} ({short(p.value)})
          </span>
        ))}
      </p>
      <p class="quiet">Limits: {chart.source}.</p>
    </>
  );
}

function Drifts({ drifts }: { drifts: readonly DriftView[] }) {
  const shifted = drifts.filter((d) => d.shift !== null);
  const learning = drifts.filter((d) => d.usual === null).length;
  return (
    <section aria-label="Kits that drift">
      <h3>Kits that drift from run to run</h3>
      <p class="quiet">
        What a kit reads where the truth is known, against its own first runs. A reason to look at the kit, no proof.
      </p>
      {drifts.length === 0 && <p>No kit was heard where the truth is known.</p>}
      {drifts.length > 0 && shifted.length === 0 && (
        <p>
          None of {plural(drifts.length - learning, 'level')} moved
          {learning > 0 ? `; ${plural(learning, 'level')} still to be learned from more runs` : ''}.
        </p>
      )}
      {shifted.length > 0 && (
        <div class="scroll">
          <table>
            <thead>
              <tr>
                <th scope="col">Rig</th>
                <th scope="col">What</th>
                <th scope="col" class="end">
                  Usual
                </th>
                <th scope="col" class="end">
                  Moved by
                </th>
                <th scope="col">From run</th>
                <th scope="col">Sure at run</th>
              </tr>
            </thead>
            <tbody>
              {shifted.map((d) => (
                <tr key={`${d.rig} ${d.title}`}>
                  <th scope="row">{rigText(d.rig)}</th>
                  <td>{d.title}</td>
                  <td class="end">
                    {short(d.usual?.mean ?? 0)} {d.unit}
                  </td>
                  <td class="end">
                    {short(d.shift?.by ?? 0)} {d.unit}
                  </td>
                  <td>
                    <a href={hashOf({ runId: d.shift?.fromRunId ?? '' })}>{d.shift?.fromRunId}</a>
                  </td>
                  <td>
                    <a href={hashOf({ runId: d.shift?.saidRunId ?? '' })}>{d.shift?.saidRunId}</a>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
