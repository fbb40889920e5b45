import type { TraceColumn } from '../../src/server/protocol.ts';
import { clockText, ntuText } from '../shared/format.ts';
import { quantityText } from '../shared/units.ts';
import { type Phrase, t } from '../shared/words/language.ts';
import { buffer, view } from './model.ts';
import { originS, pointedS, shownSpan } from './span.ts';

const inNtu = (ntu: number): string => `${ntuText(ntu)} NTU`;

const rows: readonly (readonly [Phrase, TraceColumn, (v: number) => string])[] = [
  ['Turbidity', 'turbidityNtu', inNtu],
  ['Background', 'backgroundNtu', inNtu],
  ['Clear under', 'clearLevelNtu', inNtu],
  ['Flow', 'flowLpm', (v) => quantityText('flow', v, 1)],
  ['Pressure', 'pressureBar', (v) => quantityText('pressure', v, 2)],
];

/** What the figures were at the instant that a finger points at. */
export function Reading() {
  const timeS = pointedS.value;
  if (timeS === null) return null;
  const { fromS, toS } = shownSpan();
  // Beside what is pointed at, never over it.
  const isLeft = timeS < (fromS + toS) / 2;
  const why = view.value?.withheldSpans.find((s) => s.fromS <= timeS && (s.toS ?? timeS) >= timeS);
  const figures = rows.flatMap(([phrase, column, text]) => {
    const found = buffer.nearest(column, timeS);
    return found === null || Math.abs(found.timeS - timeS) > 3 ? [] : [{ phrase, text: text(found.value) }];
  });
  return (
    <div class={`reading${isLeft ? ' is-right' : ''}`} role="status">
      <b>{clockText(timeS - originS(view.value))}</b>
      {why !== undefined && <p>{t('No verdict: {why}', { why: why.text })}</p>}
      <dl>
        {figures.length === 0 && <dt>{t('no data')}</dt>}
        {figures.map(({ phrase, text }) => (
          <div key={phrase}>
            <dt>{t(phrase)}</dt>
            <dd>{text}</dd>
          </div>
        ))}
      </dl>
    </div>
  );
}
