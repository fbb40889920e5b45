import { useEffect, useRef, useState } from 'preact/hooks';
import type { RunRow } from '../../src/core/audit/page-schema.ts';
import { bridge, type RunsQuery } from './client.ts';
import { Dates } from './dates.tsx';
import { may, tried } from './model.ts';
import { hashOf, place, stay } from './place.ts';
import { TakeIn, Together } from './together.tsx';
import { length, moment, plural, sealWords, severityWords } from './words.ts';

type List = Awaited<ReturnType<typeof bridge.runs>>;
const perPage = 50;

const columns: readonly (readonly [sort: string, title: string])[] = [
  ['started', 'When (UTC)'],
  ['site', 'Where'],
  ['engineer', 'Engineer'],
  ['rig', 'Rig'],
  ['open', 'Open findings'],
  ['seal', 'Seal'],
];

function queryOf(more: Readonly<Record<string, string>>): RunsQuery & { from: number } {
  const sort = more['sort'] ?? 'started';
  return {
    search: more['search'] ?? '',
    sort,
    order: more['order'] === 'asc' ? 'asc' : 'desc',
    from: Number(more['from-row'] ?? 0) || 0,
    count: perPage,
    ...(more['seal'] ? { seal: more['seal'] } : {}),
    open: more['open'] === '1',
    ...(more['since'] ? { since: more['since'] } : {}),
    ...(more['before'] ? { before: more['before'] } : {}),
  };
}

/** The runs that are kept: search, sort, look. */
export function Runs() {
  const { more } = place.value;
  const [list, setList] = useState<List | null>(null);
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [again, setAgain] = useState(0);
  const address = hashOf(place.value);
  useEffect(() => {
    const stop = new AbortController();
    void tried(() => bridge.runs(queryOf(place.value.more), stop.signal)).then((found) => found && setList(found));
    return () => stop.abort();
  }, [address, again]);
  useEffect(() => {
    if ((list?.waiting ?? 0) === 0) return undefined;
    const timer = setTimeout(() => setAgain((n) => n + 1), 3000);
    return () => clearTimeout(timer);
  }, [list]);
  const change = (to: Record<string, string>): void => stay({ more: { ...more, 'from-row': '', ...to } });
  return (
    <main>
      <Search more={more} change={change} />
      {list !== null && (
        <>
          <p class="quiet count" role="status">
            {plural(list.total, 'run')}
            {list.waiting > 0 ? `; ${plural(list.waiting, 'run')} still to be looked at` : ''}
          </p>
          <Table list={list} more={more} change={change} chosen={chosen} choose={setChosen} />
          <Pages list={list} change={(to) => stay({ more: { ...more, ...to } })} />
          <Together chosen={[...chosen]} query={queryOf(more)} total={list.total} />
          {may('auditor') && <TakeIn done={() => setAgain((n) => n + 1)} />}
        </>
      )}
    </main>
  );
}

type Change = (to: Record<string, string>) => void;

function Search({ more, change }: { more: Readonly<Record<string, string>>; change: Change }) {
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  return (
    <form class="line-form search" role="search" onSubmit={(event) => event.preventDefault()}>
      <label class="wide">
        Search
        <input
          type="search"
          value={more['search'] ?? ''}
          placeholder="place, engineer, client, rig, run"
          onInput={(event) => {
            const search = event.currentTarget.value;
            clearTimeout(timer.current);
            timer.current = setTimeout(() => change({ search }), 120);
          }}
        />
      </label>
      <label>
        Seal
        <select value={more['seal'] ?? ''} onChange={(event) => change({ seal: event.currentTarget.value })}>
          <option value="">any</option>
          <option value="intact">intact</option>
          <option value="changed">changed</option>
          <option value="missing">not here</option>
          <option value="unsigned">unsigned</option>
        </select>
      </label>
      <label>
        Findings
        <select value={more['open'] ?? ''} onChange={(event) => change({ open: event.currentTarget.value })}>
          <option value="">any</option>
          <option value="1">some open</option>
        </select>
      </label>
      <Dates more={more} change={change} />
    </form>
  );
}

interface TableProps {
  readonly list: List;
  readonly more: Readonly<Record<string, string>>;
  readonly change: Change;
  readonly chosen: ReadonlySet<string>;
  readonly choose: (chosen: ReadonlySet<string>) => void;
}

function Table({ list, more, change, chosen, choose }: TableProps) {
  const sort = more['sort'] ?? 'started';
  const order = more['order'] === 'asc' ? 'asc' : 'desc';
  if (list.rows.length === 0)
    return <p class="empty">{list.total === 0 && !more['search'] ? 'No run is kept here yet.' : 'No run fits.'}</p>;
  return (
    <div class="scroll">
      <table class="runs">
        <thead>
          <tr>
            <th scope="col">
              <span class="for-readers">Chosen</span>
            </th>
            {columns.map(([key, title]) => (
              <th
                scope="col"
                key={key}
                aria-sort={sort === key ? (order === 'asc' ? 'ascending' : 'descending') : 'none'}
              >
                <button
                  type="button"
                  class="plain"
                  onClick={() => change({ sort: key, order: sort === key && order === 'desc' ? 'asc' : 'desc' })}
                >
                  {title}
                  <span aria-hidden="true">{sort === key ? (order === 'asc' ? ' ↑' : ' ↓') : ''}</span>
                </button>
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {list.rows.map((row) => (
            <Row
              row={row}
              key={row.runId}
              isChosen={chosen.has(row.runId)}
              choose={(on) => {
                const next = new Set(chosen);
                if (on) next.add(row.runId);
                else next.delete(row.runId);
                choose(next);
              }}
            />
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** The last letters of a kit's name, which tell two rigs apart. */
export const rigText = (rig: string): string => (rig === '' ? 'not known' : rig.replace(/^urn:dev:/, ''));

function Row({ row, isChosen, choose }: { row: RunRow; isChosen: boolean; choose: (on: boolean) => void }) {
  const name = row.site || row.title || row.runId;
  return (
    <tr>
      <td class="tick">
        <label>
          <input type="checkbox" checked={isChosen} onChange={(event) => choose(event.currentTarget.checked)} />
          <span class="for-readers">Choose {name}</span>
        </label>
      </td>
      <td class="when">
        {moment(row.startedAt)}
        <small>{row.durationS > 0 ? length(row.durationS) : ''}</small>
      </td>
      <th scope="row">
        <a href={hashOf({ runId: row.runId })}>{name}</a>
        <small>
          {row.runId}
          {row.simulated ? ', simulated water' : ''}
          {row.underWay ? ', under way' : ''}
        </small>
      </th>
      <td>{row.engineer || 'not named'}</td>
      <td class="rig">{rigText(row.rig)}</td>
      <td class={row.worst === null ? 'open' : `open is-${row.worst}`}>
        {row.openFindings === null ? 'not looked at yet' : row.openFindings}
        {row.worst !== null && <small>worst: {severityWords[row.worst].toLowerCase()}</small>}
      </td>
      <td class={`seal is-${row.seal}`}>{sealWords[row.seal]}</td>
    </tr>
  );
}

function Pages({ list, change }: { list: List; change: Change }) {
  const last = Math.max(0, Math.floor((list.total - 1) / perPage) * perPage);
  if (last === 0) return null;
  const to = (from: number, words: string) => (
    <button
      type="button"
      disabled={from === list.from || from < 0 || from > last}
      onClick={() => change({ 'from-row': String(from) })}
    >
      {words}
    </button>
  );
  return (
    <nav class="pages" aria-label="Pages of the list">
      {to(0, 'First')}
      {to(list.from - perPage, 'Before')}
      <span>
        {list.from + 1} to {list.from + list.rows.length} of {list.total}
      </span>
      {to(list.from + perPage, 'Next')}
      {to(last, 'Last')}
    </nav>
  );
}
