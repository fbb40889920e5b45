import { useEffect, useRef, useState } from 'preact/hooks';
import { ageText, figureScale, ntuText } from '../shared/format.ts';
import { t } from '../shared/words/language.ts';
import { linkState, newest } from './model.ts';

const changeMs = 500;
const greyS = 3;
const dashS = 10;

/** The live turbidity: changes twice a second at most, greys with its age after 3 s, gives way to a dash after 10 s. */
export function LiveFigure() {
  const now = newest.value;
  const [kept, setShown] = useState(now);
  // The first reading does not wait for its turn.
  const shown = kept ?? now;
  const lastMs = useRef(0);
  useEffect(() => {
    if (performance.now() - lastMs.current < changeMs) return;
    lastMs.current = performance.now();
    setShown(now);
  }, [now]);
  const ageS = now?.ageS ?? Number.POSITIVE_INFINITY;
  const gone = shown === null || ageS >= dashS;
  const old = !gone && (ageS >= greyS || linkState.value !== 'live');
  const last =
    now === null
      ? t('no reading yet')
      : t('last {ntu} NTU, {age} ago', { ntu: ntuText(now.value), age: ageText(ageS) });
  const digits = gone || shown === null ? '\u2013' : ntuText(shown.value);
  return (
    <section class={`figure${old ? ' is-old' : ''}${gone ? ' is-gone' : ''}`} aria-label={t('Turbidity, return')}>
      <p class="big">
        <span class="digits">
          <span style={{ fontSize: `${figureScale(digits)}em` }}>{digits}</span>
        </span>
        <span class="unit">NTU</span>
      </p>
      <p class="under">
        {gone ? last : old ? t('{age} old', { age: ageText(Math.max(1.5, ageS)) }) : t('return, now')}
      </p>
    </section>
  );
}
