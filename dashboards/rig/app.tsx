import '../shared/no-eval.ts';
import { effect } from '@preact/signals';
import { render } from 'preact';
import { useEffect } from 'preact/hooks';
import '../shared/theme.css';
import './rig.css';
import './verdict.css';
import './traces.css';
import './work.css';
import './alarms.css';
import './settings.css';
import './narrow.css';
import './phone.css';
import './stages/stage.css';
import './stages/form.css';
import './stages/put-right.css';
import './stages/record.css';
import { openOffline } from '../shared/offline.ts';
import { setTheme, theme } from '../shared/theme.ts';
import { showTrueSize } from '../shared/true-size.ts';
import { setLanguage, storedLanguage, t } from '../shared/words/language.ts';
import { Actions } from './actions.tsx';
import { Alarms } from './alarms.tsx';
import { EmitterList } from './emitter-list.tsx';
import { EmitterSheet } from './emitter-sheet.tsx';
import { LiveFigure } from './live-figure.tsx';
import { Strip } from './links.tsx';
import { linkState, startModel, view } from './model.ts';
import { Settings } from './settings.tsx';
import { SmallTraces } from './small-traces.tsx';
import { Trace } from './trace.tsx';
import { StagePageView } from './stages/stage-page.tsx';
import { Why } from './stages/why.tsx';
import { ReasonLine, VerdictBand, WorkRemark } from './verdict-band.tsx';
import { isWorkOpen } from './work.ts';

/** Beside the rig: one question first, is this emitter clear? Then why, then what to press. */
function App() {
  const name = view.value?.stagePage?.name;
  useEffect(() => {
    // Whoever comes to the emitters sees the line first, also when the work behind it was left open on the way out.
    if (name !== 'emitters') isWorkOpen.value = false;
  }, [name]);
  if (view.value === null)
    return (
      <main class="joining">
        <Strip />
        <p>{t('Looking for the bridge.')}</p>
      </main>
    );
  const page = view.value.stagePage;
  if (page !== null && (page.name !== 'emitters' || isWorkOpen.value))
    return (
      <>
        <StagePageView page={page} />
        <Settings />
      </>
    );
  return (
    <main class="rig">
      <Strip />
      <Alarms />
      <VerdictBand />
      <div class="said-why">
        <ReasonLine />
        <WorkRemark />
      </div>
      <LiveFigure />
      <Trace />
      <SmallTraces />
      <EmitterList />
      <Actions />
      <Why />
      <EmitterSheet />
      <Settings />
    </main>
  );
}

setTheme(theme.value);
showTrueSize();
const host = document.getElementById('page');

async function start(): Promise<void> {
  const wanted = storedLanguage();
  // The words first, so that nothing is shown in one language and then in another; English needs none.
  if (wanted !== 'en') await setLanguage(wanted).catch(() => undefined);
  startModel();
  if (host !== null) render(<App />, host);
}
void start();
// Each time the bridge is there again: what could not be fetched for the next opening is fetched then.
effect(() => {
  if (linkState.value === 'live') openOffline();
});
