import { t } from '../../shared/words/language.ts';
import { view } from '../model.ts';

/** What the wire has suffered so far, for whoever asks: quiet, and nothing where there is nothing. */
export function LinkDetail() {
  const now = view.value;
  if (now === null) return null;
  const { links, counters } = now;
  return (
    <details class="link-detail">
      <summary>
        {t('Link')}
        {counters.length > 0 &&
          `: ${counters.length === 1 ? t('1 remark') : t('{count} remarks', { count: counters.length })}`}
      </summary>
      <ul>
        {links.map((link) => (
          <li key={link.id}>{link.text}</li>
        ))}
        {counters.map((counter) => (
          <li key={counter.code}>
            {counter.text} <b>{counter.count}</b>
          </li>
        ))}
      </ul>
    </details>
  );
}
