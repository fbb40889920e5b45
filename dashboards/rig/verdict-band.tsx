import { useLayoutEffect, useRef } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { pxPerMm, usualPxPerMm } from '../shared/true-size.ts';
import { t } from '../shared/words/language.ts';
import { linkState, view } from './model.ts';
import { Shape } from './shape.tsx';

type Kind = RunView['band']['kind'];
const way = ['watching', 'carrying', 'settling', 'clear', 'done'] as const satisfies readonly Kind[];

/** The largest size at which the words stand on one line; else the size that is still read at two metres, on two. */
function fit(words: HTMLElement): void {
  const style = getComputedStyle(words);
  // Where the layout is made for small screens, its sizes stand as they are.
  const scale = style.getPropertyValue('--is-small') === '' ? pxPerMm.value / usualPxPerMm : 1;
  const plain = Number.parseFloat(style.getPropertyValue('--words-least'));
  const least = scale * plain;
  const most = scale * Number.parseFloat(style.getPropertyValue('--words-most'));
  const isOneLine = (size: number) => {
    words.style.fontSize = `${size}px`;
    return words.scrollHeight < 1.6 * size && words.scrollWidth <= words.clientWidth + 1;
  };
  // Two lines in true millimetres would push the buttons off the screen: then the usual size has to do.
  const one = [most, (most + least) / 2, least, Math.min(least, plain)].some(isOneLine);
  const band = words.closest('.band');
  const doNow = words.nextElementSibling;
  if (band === null || doNow === null) return;
  band.classList.toggle('is-long', !one);
  band.classList.remove('is-wordy');
  // What is to be done comes smaller before it takes a second line from the trace.
  const lineHeight = Number.parseFloat(getComputedStyle(doNow).lineHeight);
  band.classList.toggle('is-wordy', doNow.clientHeight > 1.5 * lineHeight);
}

/** Words, shape and place on the way say the state; colour only repeats it. */
export function VerdictBand() {
  const words = useRef<HTMLParagraphElement>(null);
  const band = view.value?.band;
  useLayoutEffect(() => {
    const element = words.current;
    if (element === null) return;
    const again = () => fit(element);
    again();
    addEventListener('resize', again);
    return () => removeEventListener('resize', again);
  }, [band?.words, band?.doNow, band?.emitter]);
  if (!band) return null;
  const old = linkState.value !== 'live';
  return (
    <section class={`band kind-${band.kind}${old ? ' is-old' : ''}`} aria-label={t('Verdict')}>
      <div class="state">
        <Shape kind={band.kind} size={92} />
      </div>
      <div class="said">
        <p class="words" ref={words} role="status">
          {band.words}
        </p>
        <p class="do-now">
          {band.emitter !== null && <b>{band.emitter}</b>}
          <span>{band.doNow}</span>
        </p>
      </div>
      <ol class="way" aria-hidden="true">
        {way.map((step) => (
          <li key={step} class={step === band.kind ? 'here' : ''}>
            {t(step)}
          </li>
        ))}
      </ol>
    </section>
  );
}

/** Why the verdict is what it is, in one sentence with figures. */
export function ReasonLine() {
  const reason = view.value?.band.reason ?? '';
  return <p class={`reason${linkState.value === 'live' ? '' : ' is-old'}`}>{reason}</p>;
}

/** Of the work at the emitters what presses most: hands, chamber, an emitter without an end. */
export function WorkRemark() {
  const [first] = view.value?.workRemarks ?? [];
  return first === undefined ? null : (
    <p class="work-remark" role="status">
      {first}
    </p>
  );
}
