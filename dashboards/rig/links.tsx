import { useEffect } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { ageText } from '../shared/format.ts';
import { setTheme, theme } from '../shared/theme.ts';
import { awake, keepAwake } from './awake.ts';
import { linkState, silenceS, soundReady, view } from './model.ts';

type LinkView = RunView['links'][number];
const names: Readonly<Record<LinkView['id'], string>> = { sensor: 'Sensors', kit: 'Kit', bridge: 'Bridge' };

interface Word {
  readonly text: string;
  readonly title: string;
  readonly off: boolean;
}

/** Each link with its age; those that are heard just now share one word. */
function spoken(links: readonly LinkView[], pageAgeS: number): Word[] {
  const words = links.map((link) => ({
    name: names[link.id],
    age: link.state === 'off' ? 'off' : link.ageS === null ? 'no word yet' : ageText(link.ageS),
    title: link.text,
  }));
  words.push({ name: 'Page', age: ageText(pageAgeS), title: 'Since this page heard the bridge' });
  const fresh = words.filter((word) => word.age === ageText(0));
  const rest = words.filter((word) => !fresh.includes(word));
  const told = rest.map(({ name, age, title }) => ({ text: `${name} ${age}`, title, off: age === 'off' }));
  const [first] = fresh;
  if (first === undefined) return told;
  const text = [first.name, ...fresh.slice(1).map((word) => word.name.toLowerCase())].join(', ');
  const title = fresh.map((word) => word.title).join(' ');
  return [{ text: `${text} ${first.age}`, title, off: false }, ...told];
}

/** The four links from the sensor to this page, each with its age; what is wrong takes the whole line. */
export function Strip() {
  useEffect(() => keepAwake(), []);
  const state = linkState.value;
  const now = view.value;
  if (state === 'misread') return <Misread />;
  if (state === 'lost')
    return (
      <p class="strip is-lost" role="alert">
        {silenceS.value === null
          ? 'The bridge does not answer. Trying again, for as long as it takes.'
          : `No word from the bridge for ${Math.round(silenceS.value)} s. What you see is old; the rig's record goes on. Trying again.`}
      </p>
    );
  const trouble = now?.links.find((link) => link.state === 'trouble');
  if (trouble)
    return (
      <p class="strip is-trouble" role="alert">
        <b>{names[trouble.id]}:</b> {trouble.text}
      </p>
    );
  return (
    <header class="strip">
      <h1>{now?.title ?? 'Limpid'}</h1>
      {now?.simulated === true && <b class="rehearsal">Simulated water</b>}
      <ul class="links" aria-label="Links">
        {spoken(now?.links ?? [], silenceS.value ?? 0).map((word) => (
          <li key={word.text} title={word.title} class={word.off ? 'is-off' : ''}>
            {word.text}
          </li>
        ))}
      </ul>
      <span class="chip">{soundReady.value ? 'sound on' : 'touch for sound'}</span>
      <span class="chip" title={awake.value.why}>
        {awake.value.word}
      </span>
      <button type="button" class="tool" onClick={() => setTheme(theme.value === 'dark' ? 'light' : 'dark')}>
        {theme.value === 'dark' ? 'Light' : 'Dark'}
      </button>
    </header>
  );
}

const reloadKey = 'limpid-reloaded';

/** After the bridge was renewed its page was too: reload, once a minute at most, else ask for it. */
function Misread() {
  useEffect(() => {
    const lastMs = Number(sessionStorage.getItem(reloadKey) ?? 0);
    if (Date.now() - lastMs < 60_000) return;
    sessionStorage.setItem(reloadKey, String(Date.now()));
    location.reload();
  }, []);
  return (
    <p class="strip is-lost" role="alert">
      The bridge speaks otherwise than this page.
      <button type="button" class="tool" onClick={() => location.reload()}>
        Reload
      </button>
    </p>
  );
}
