import { useState } from 'preact/hooks';
import type { CheckResult } from '../../src/core/job/bench-schema.ts';
import { z } from 'zod';
import { checkPage } from './check-page.ts';
import { Wrong } from './done-table.tsx';
import { ask, bench } from './model.ts';

const words = { ok: 'ok', fix: 'to fix', 'not-seen': 'not seen' } as const;

/** "Check my kit": a minute against the written wire, each point with its next step, and a result to share. */
export function Check({ kit }: { readonly kit: string }) {
  const [seconds, setSeconds] = useState('60');
  const [wrong, setWrong] = useState<string | null>(null);
  const state = bench.value?.check;
  const running = state?.running ?? null;
  const result = running === null ? (state?.result ?? null) : null;
  const begin = (): void => {
    setWrong(null);
    ask('check', { kit, seconds: Number(seconds) }, z.unknown()).catch((error: unknown) =>
      setWrong(error instanceof Error ? error.message : String(error)),
    );
  };
  return (
    <section>
      <p class="lead">
        Listens to the kit, asks it a few things, and holds it to the wire: rate, units, sequence, check sum, hello,
        ranges, noise, clock, restart. Over a minute it asks you to hold a thermometer and to cover the window, so that
        it sees which wire goes where, and to press the kit's reset button.
      </p>
      <div class="row">
        <label>
          Seconds
          <input
            inputMode="numeric"
            size={4}
            value={seconds}
            onInput={(event) => setSeconds(event.currentTarget.value)}
          />
        </label>
        <button type="button" class="go" disabled={running !== null} onClick={begin}>
          {running === null ? 'Check my kit' : 'Checking …'}
        </button>
      </div>
      {running !== null && (
        <p class="asked" role="status">
          {running.text}
          <small class="quiet">{Math.ceil(running.leftS)} s to go</small>
        </p>
      )}
      <Wrong text={wrong} />
      {result !== null && <Result result={result} />}
    </section>
  );
}

function Result({ result }: { readonly result: CheckResult }) {
  const fixes = result.points.filter((p) => p.state === 'fix').length;
  const name = `kit-check-${result.at.slice(0, 10)}`;
  return (
    <div class="result">
      <h2>{fixes === 0 ? 'Nothing to fix' : `${fixes} to fix`}</h2>
      <p class="quiet">
        {result.kit}, firmware {result.firmware || 'not told'}, {result.at.slice(0, 16).replace('T', ' ')} UTC,{' '}
        {result.seconds} s
      </p>
      <div class="row">
        <button
          type="button"
          onClick={() => save(`${name}.json`, `${JSON.stringify(result, null, 2)}\n`, 'application/json')}
        >
          Save as JSON
        </button>
        <button type="button" onClick={() => save(`${name}.html`, checkPage(result), 'text/html')}>
          Save as a page
        </button>
      </div>
      <dl class="points">
        {result.points.map((p) => (
          <div class={`is-${p.state}`} key={p.id} data-point={p.id}>
            <dt>
              <span class="word">{words[p.state]}</span> {p.title}
            </dt>
            <dd>
              {p.text}
              {p.next !== '' && <span class="next"> {p.next}</span>}
            </dd>
          </div>
        ))}
      </dl>
    </div>
  );
}

function save(name: string, text: string, type: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
