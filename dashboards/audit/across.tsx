import { useEffect, useState } from 'preact/hooks';
import type { AcrossView, DriftView, GroupView } from '../../src/core/audit/across-schema.ts';
import { bridge } from './client.ts';
import { Control } from './control.tsx';
import { Dates } from './dates.tsx';
import { tried } from './model.ts';
import { hashOf, place, stay } from './place.ts';
import { rigText } from './runs.tsx';
import { plural, short } from './words.ts';

const groupings: readonly (readonly [by: string, words: string])[] = [
  ['month', 'Month'],
  ['engineer', 'Engineer'],
  ['rig', 'Rig'],
  ['emitter-type', 'Kind of emitter'],
];

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
        <Dates more={more} change={change} />
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
      {drifts.length > learning && shifted.length === 0 && (
        <p>None of {plural(drifts.length - learning, 'level')} moved.</p>
      )}
      {learning > 0 && <p>{plural(learning, 'level')} still to be learned from more runs.</p>}
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
