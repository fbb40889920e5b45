import { useEffect } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { ageText } from '../shared/format.ts';
import { setTheme, theme } from '../shared/theme.ts';
import { type Phrase, t } from '../shared/words/language.ts';
import { awake, awakeWhy, awakeWord, keepAwake } from './awake.ts';
import { keptSinceMs, leader, linkState, silenceS, view } from './model.ts';
import { openSettings } from './settings.tsx';
import { SoundCheck } from './sound-check.tsx';

type LinkView = RunView['links'][number];
const names: Readonly<Record<LinkView['id'], Phrase>> = { sensor: 'Sensors', kit: 'Kit', bridge: 'Bridge' };

interface Word {
  readonly text: string;
  readonly title: string;
  readonly off: boolean;
}

function age(seconds: number): string {
  return seconds < 1.5 ? t('now') : ageText(seconds);
}

/** Each link with its age; those that are heard just now share one word. */
function spoken(links: readonly LinkView[], pageAgeS: number): Word[] {
  const words = links.map((link) => ({
    name: t(names[link.id]),
    age: link.state === 'off' ? t('off') : link.ageS === null ? t('no word yet') : age(link.ageS),
    title: link.text,
    off: link.state === 'off',
  }));
  words.push({ name: t('Page'), age: age(pageAgeS), title: t('Since this page heard the bridge'), off: false });
  const fresh = words.filter((word) => word.age === t('now'));
  const rest = words.filter((word) => !fresh.includes(word));
  const told = rest.map((word) => ({ text: `${word.name} ${word.age}`, title: word.title, off: word.off }));
  if (fresh.length === 0) return told;
  const text = fresh.map((word) => word.name).join(', ');
  const title = fresh.map((word) => word.title).join(' ');
  return [{ text: `${text}: ${t('now')}`, title, off: false }, ...told];
}

function lostText(): string {
  if (keptSinceMs.value !== null) {
    const minutes = Math.max(1, Math.round((Date.now() - keptSinceMs.value) / 60_000));
    return t('The bridge does not answer. What you see is {minutes} min old; what you press waits. Trying again.', {
      minutes,
    });
  }
  if (silenceS.value === null) return t('The bridge does not answer. Trying again, for as long as it takes.');
  return t('No word from the bridge for {seconds} s. What you see is old, what you press waits. Trying again.', {
    seconds: Math.round(silenceS.value),
  });
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
        {lostText()}
      </p>
    );
  const trouble = now?.links.find((link) => link.state === 'trouble');
  if (trouble)
    return (
      <p class="strip is-trouble" role="alert">
        <b>{t(names[trouble.id])}:</b> {trouble.text}
      </p>
    );
  return (
    <header class="strip">
      <h1>{now?.title ?? 'Limpid'}</h1>
      {now?.simulated === true && <b class="rehearsal">{t('Simulated water')}</b>}
      <ul class="links" aria-label={t('Links')}>
        {spoken(now?.links ?? [], silenceS.value ?? 0).map((word) => (
          <li key={word.text} title={word.title} class={word.off ? 'is-off' : ''}>
            {word.text}
          </li>
        ))}
      </ul>
      <SoundCheck />
      {leader.value === 'me' && <span class="chip">{t('this device leads')}</span>}
      {awake.value !== 'on' && (
        <span class="chip" title={awakeWhy()}>
          {awakeWord()}
        </span>
      )}
      <button type="button" class="tool" onClick={() => setTheme(theme.value === 'dark' ? 'light' : 'dark')}>
        {theme.value === 'dark' ? t('Light') : t('Dark')}
      </button>
      <button type="button" class="tool" onClick={openSettings}>
        {t('Settings')}
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
      {t('The bridge speaks otherwise than this page.')}
      <button type="button" class="tool" onClick={() => location.reload()}>
        {t('Reload')}
      </button>
    </p>
  );
}
