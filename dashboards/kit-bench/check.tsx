import { useState } from 'preact/hooks';
import { benchCheckSchema, type CheckResult } from '../../src/core/job/bench-schema.ts';
import { typedNumber } from '../../src/core/quantity/typed-number.ts';
import { z } from 'zod';
import { checkPage, checkTitle, inOrder } from './check-page.ts';
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
    const typed = typedNumber(seconds);
    const { minValue: least, maxValue: most } = benchCheckSchema.shape.seconds;
    const isRight = typed >= (least ?? 0) && typed <= (most ?? Number.POSITIVE_INFINITY);
    setWrong(isRight ? null : `A check takes ${least} to ${most} s, not "${seconds}".`);
    if (!isRight) return;
    ask('check', { kit, seconds: typed }, z.unknown()).catch((error: unknown) =>
      setWrong(error instanceof Error ? error.message : String(error)),
    );
  };
  return (
    <section>
      <p class="lead">
        Listens to the kit, asks it a few things, and compares what comes with what docs/wire.md asks of a kit. Stay
        beside it: in a check of a minute you are asked to hold a thermometer and to cover the window, which tells which
        wire goes where, and to press the kit's reset button.
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
          <small class="quiet">The check ends in {Math.ceil(running.leftS)} s.</small>
        </p>
      )}
      <Wrong text={wrong} />
      {result !== null && <Result result={result} />}
    </section>
  );
}

function Result({ result }: { readonly result: CheckResult }) {
  const name = `kit-check-${result.at.slice(0, 10)}`;
  return (
    <div class="result">
      <h2>{checkTitle(result)}</h2>
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
      {result.points.some((p) => p.state === 'not-seen') && (
        <p class="lead">Not seen: this time there was nothing to judge it by. It is no fault, and no proof.</p>
      )}
      <dl class="points">
        {inOrder(result).map((p) => (
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
