import '../shared/no-eval.ts';
import { render } from 'preact';
import { useState } from 'preact/hooks';
import '../shared/theme.css';
import './kit-bench.css';
import { ageText } from '../shared/format.ts';
import { setTheme, theme } from '../shared/theme.ts';
import { Ask } from './ask.tsx';
import { Calibrate } from './calibrate.tsx';
import { Channels } from './channels.tsx';
import { Check } from './check.tsx';
import { bench, choose, kit, lost, mustPair, pair, startLooking } from './model.ts';

type Part = 'watch' | 'calibrate' | 'check';
const parts: readonly (readonly [Part, string])[] = [
  ['watch', 'Watch'],
  ['calibrate', 'Calibrate'],
  ['check', 'Check my kit'],
];

/** The kit's bench: is it there and does it read, what is a reading worth, and does the kit keep to the wire. */
function App() {
  const [part, setPart] = useState<Part>('watch');
  const now = bench.value;
  const on = kit.value;
  return (
    <main class="bench">
      <Top />
      {lost.value && (
        <p class="strip-bad" role="alert">
          The bridge does not answer; what is shown is old.
        </p>
      )}
      {now?.problem && (
        <p class="strip-bad" role="alert">
          {now.problem}
        </p>
      )}
      {mustPair.value && <Pair />}
      {now !== null && on === null && !now.problem && (
        <p class="empty">
          Nothing is heard yet of {now.source}. Is it plugged in and powered? limpid doctor looks further.
        </p>
      )}
      {on !== null && (
        <>
          <nav class="parts" aria-label="Parts of the bench">
            {parts.map(([id, title]) => (
              <button
                type="button"
                aria-current={part === id ? 'page' : undefined}
                onClick={() => setPart(id)}
                key={id}
              >
                {title}
              </button>
            ))}
          </nav>
          <div hidden={part !== 'watch'} class="part">
            <Channels kit={on} />
            <Ask kit={on.kit} rateHz={on.rateHz} />
            <Counters />
          </div>
          <div hidden={part !== 'calibrate'} class="part">
            <Calibrate kit={on} key={on.kit} />
          </div>
          <div hidden={part !== 'check'} class="part">
            <Check kit={on.kit} />
          </div>
        </>
      )}
    </main>
  );
}

function Top() {
  const now = bench.value;
  const on = kit.value;
  const kits = now?.kits ?? [];
  return (
    <header class="top">
      <h1>Kit bench</h1>
      {on !== null && kits.length < 2 && <span class="name">{on.kit}</span>}
      {kits.length > 1 && on !== null && (
        <select aria-label="Kit" value={on.kit} onChange={(event) => choose(event.currentTarget.value)}>
          {kits.map((k) => (
            <option value={k.kit} key={k.kit}>
              {k.kit}
            </option>
          ))}
        </select>
      )}
      {on !== null && (
        <span class={on.ageS > 3 ? 'age is-old' : 'age'}>
          {now?.source} · {on.firmware === null ? '' : `firmware ${on.firmware} · `}heard {ageText(on.ageS)}
          {on.ageS < 1.5 ? '' : ' ago'}
        </span>
      )}
      <span class="top-right">
        <button type="button" class="plain" onClick={() => setTheme(theme.value === 'dark' ? 'light' : 'dark')}>
          {theme.value === 'dark' ? 'Light' : 'Dark'}
        </button>
        <a href="./">Beside the rig</a>
      </span>
    </header>
  );
}

function Counters() {
  const now = bench.value;
  if (now === null) return null;
  return (
    <section>
      <h2>The link</h2>
      <p class="quiet">{now.source}</p>
      {now.counters.length === 0 ? (
        <p>Every line so far was whole and in order.</p>
      ) : (
        <ul class="counters">
          {now.counters.map(({ code, text, count }) => (
            <li key={code}>
              <b>{count}</b> {text}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function Pair() {
  const [wrong, setWrong] = useState<string | null>(null);
  return (
    <form
      class="pairing"
      onSubmit={(event) => {
        event.preventDefault();
        const code = new FormData(event.currentTarget).get('code');
        if (typeof code === 'string') void pair(code).then(setWrong);
      }}
    >
      <label for="code">
        {wrong ?? 'This device may watch. To work from it, type the pairing code from the console of the bridge.'}
      </label>
      <input id="code" name="code" inputMode="numeric" autocomplete="off" maxLength={12} required />
      <button type="submit" class="go">
        Pair
      </button>
    </form>
  );
}

setTheme(theme.value);
startLooking();
const host = document.getElementById('page');
if (host !== null) render(<App />, host);
