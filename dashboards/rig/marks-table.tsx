import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { RunView } from '../../src/server/protocol.ts';
import { clockText, ntuText } from '../shared/format.ts';
import { t } from '../shared/words/language.ts';
import { linkState, newest, view } from './model.ts';
import { originS } from './span.ts';

interface Mark {
  readonly fromS: number;
  readonly toS: number | null;
  readonly what: string;
  readonly figure: string;
}

function marksOf(now: RunView): Mark[] {
  const name = (id: string) => now.emitters.find((e) => e.id === id)?.name ?? id;
  const { forecast } = now.verdict;
  const marks: Mark[] = [
    ...now.visitSpans.map((v) => ({ ...v, what: t('Open: {emitter}', { emitter: name(v.emitter) }), figure: '' })),
    ...now.passesS.map((fromS) => ({ fromS, toS: fromS, what: t('Pass'), figure: '' })),
    ...now.pulses.map((p) => ({
      fromS: p.onsetS,
      toS: p.endS,
      what: t('Pulse'),
      figure: p.peakNtu === null ? t('still rising') : t('peak {ntu} NTU', { ntu: ntuText(p.peakNtu) }),
    })),
    ...now.clears.map((c) => ({ ...c, what: t('Clear'), figure: '' })),
    ...now.withheldSpans.map(({ fromS, toS, text }) => ({ fromS, toS, what: t('No verdict'), figure: text })),
    ...(forecast
      ? [
          {
            fromS: forecast.fromS,
            toS: forecast.toS,
            what: t('Clear expected'),
            figure: t('eight times in ten'),
          },
        ]
      : []),
  ];
  return marks.sort((a, b) => a.fromS - b.fromS);
}

/** What the chart shows as marks, as a table: for screen readers, and for whoever wants the figures. */
export function MarksTable({ now }: { now: RunView }) {
  const zeroS = originS(now);
  const { backgroundNtu, clearLevelNtu } = now.figures;
  const level = (ntu: number | null) => (ntu === null ? '\u2013' : `${ntuText(ntu)} NTU`);
  return (
    <div class="marks" tabIndex={0} role="region" aria-label={t('Marks of the chart')}>
      <table>
        <caption>
          {t('Minutes since this emitter was opened. Background {background}, clear under {clear}.', {
            background: level(backgroundNtu),
            clear: level(clearLevelNtu),
          })}
        </caption>
        <thead>
          <tr>
            <th scope="col">{t('Mark')}</th>
            <th scope="col">{t('From')}</th>
            <th scope="col">{t('To')}</th>
            <th scope="col">{t('Figure')}</th>
          </tr>
        </thead>
        <tbody>
          {marksOf(now).map((mark) => (
            <tr key={`${mark.what} ${mark.fromS}`}>
              <th scope="row">{mark.what}</th>
              <td>{clockText(mark.fromS - zeroS)}</td>
              <td>{mark.toS === mark.fromS ? '' : mark.toS === null ? t('goes on') : clockText(mark.toS - zeroS)}</td>
              <td>{mark.figure}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

const summary = signal('');
const everyMs = 10_000;

function summaryNow(): string {
  const now = view.peek();
  if (now === null) return '';
  if (linkState.peek() !== 'live') return t('No word from the bridge: what the chart shows is old.');
  const last = newest.peek();
  const { backgroundNtu } = now.figures;
  const parts = [
    now.band.words,
    last === null ? t('no reading yet') : t('Turbidity {ntu} NTU', { ntu: ntuText(last.value) }),
    ...(backgroundNtu === null ? [] : [t('background {ntu}', { ntu: ntuText(backgroundNtu) })]),
    t('{count} pulses in this visit', { count: now.pulses.filter((p) => p.onsetS >= originS(now)).length }),
  ];
  return `${parts.join('. ')}.`;
}

/** One line of what the chart shows, for whoever cannot see it; said at most every ten seconds. */
export function Summary() {
  useEffect(() => {
    const tell = () => {
      summary.value = summaryNow();
    };
    const first = setTimeout(tell, 1500);
    const timer = setInterval(tell, everyMs);
    return () => {
      clearTimeout(first);
      clearInterval(timer);
    };
  }, []);
  return (
    <p class="for-readers" aria-live="polite" data-part="summary">
      {summary.value}
    </p>
  );
}
