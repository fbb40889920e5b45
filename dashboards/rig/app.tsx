import '../shared/no-eval.ts';
import { render } from 'preact';
import '../shared/theme.css';
import './rig.css';
import './verdict.css';
import './traces.css';
import './work.css';
import './narrow.css';
import './stages/stage.css';
import { setTheme, theme } from '../shared/theme.ts';
import { Actions } from './actions.tsx';
import { EmitterList } from './emitter-list.tsx';
import { LiveFigure } from './live-figure.tsx';
import { Strip } from './links.tsx';
import { startModel, view } from './model.ts';
import { SmallTraces } from './small-traces.tsx';
import { Trace } from './trace.tsx';
import { StagePageView } from './stages/stage-page.tsx';
import { Why } from './stages/why.tsx';
import { ReasonLine, VerdictBand } from './verdict-band.tsx';

/** Beside the rig: one question first, is this emitter clear? Then why, then what to press. */
function App() {
  if (view.value === null)
    return (
      <main class="joining">
        <Strip />
        <p>Looking for the bridge.</p>
      </main>
    );
  if (view.value.stagePage !== null) return <StagePageView page={view.value.stagePage} />;
  return (
    <main class="rig">
      <Strip />
      <VerdictBand />
      <ReasonLine />
      <LiveFigure />
      <Trace />
      <SmallTraces />
      <EmitterList />
      <Actions />
      <Why />
    </main>
  );
}

setTheme(theme.value);
startModel();
const host = document.getElementById('page');
if (host !== null) render(<App />, host);
