import '../shared/no-eval.ts';
import { render } from 'preact';
import '../shared/theme.css';
import './audit.css';
import './run-page.css';
import './across.css';
import { setTheme, theme } from '../shared/theme.ts';
import { AcrossPage } from './across.tsx';
import { begin, may, me, problem, signOut } from './model.ts';
import { People } from './people.tsx';
import { hashOf, place } from './place.ts';
import { RunPageView } from './run-page.tsx';
import { Runs } from './runs.tsx';
import { SideBySidePage } from './side-by-side.tsx';
import { SignIn } from './sign-in.tsx';

/** Afterwards: the runs that are kept, one of them, many of them. */
function App() {
  const who = me.value;
  return (
    <div class="office">
      <Top />
      {problem.value !== null && (
        <p class="strip-bad" role="alert">
          {problem.value}
        </p>
      )}
      {who !== null && (who.role === null ? <SignIn /> : <Page />)}
    </div>
  );
}

function Page() {
  const { page, runId } = place.value;
  switch (page) {
    case 'run':
      return <RunPageView runId={runId} key={runId} />;
    case 'across':
      return <AcrossPage />;
    case 'side-by-side':
      return <SideBySidePage />;
    case 'people':
      return <People />;
    case 'runs':
      return <Runs />;
  }
}

function Top() {
  const who = me.value;
  const { page } = place.value;
  const link = (to: 'runs' | 'across' | 'people', words: string) => (
    <a href={hashOf({ page: to })} aria-current={page === to ? 'page' : undefined}>
      {words}
    </a>
  );
  const isOpen = who !== null && who.role !== null && who.onlyRun === null;
  return (
    <header class="top">
      <h1>Limpid</h1>
      {isOpen && (
        <nav aria-label="Pages">
          {link('runs', 'Runs')}
          {link('across', 'Across runs')}
          {may('administrator') && link('people', 'People')}
        </nav>
      )}
      <span class="top-right">
        {who !== null && who.name !== null && (
          <span class="quiet">
            {who.name}
            {who.by === 'person' ? `, ${who.role ?? ''}` : ''}
          </span>
        )}
        {who?.by === 'person' && (
          <button type="button" class="plain" onClick={() => void signOut()}>
            Sign out
          </button>
        )}
        <button type="button" class="plain" onClick={() => setTheme(theme.value === 'dark' ? 'light' : 'dark')}>
          {theme.value === 'dark' ? 'Light' : 'Dark'}
        </button>
        {who?.onlyRun === null && who.hasRig && <a href="./">Beside the rig</a>}
      </span>
    </header>
  );
}

setTheme(theme.value);
void begin();
const host = document.getElementById('page');
if (host !== null) render(<App />, host);
