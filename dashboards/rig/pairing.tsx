import { useState } from 'preact/hooks';
import { HoldButton } from '../shared/hold-button.tsx';
import { t } from '../shared/words/language.ts';
import { pair, post } from './model.ts';

/** Watching is open to all in the network; working from here needs the code on the bridge's console. */
export function Pairing() {
  const [wrong, setWrong] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const submit = async (form: HTMLFormElement) => {
    const code = new FormData(form).get('code');
    if (typeof code !== 'string' || code.trim() === '') return;
    setBusy(true);
    setWrong(await pair(code));
    setBusy(false);
  };
  return (
    <form
      class="pairing"
      onSubmit={(event) => {
        event.preventDefault();
        void submit(event.currentTarget);
      }}
    >
      <label for="code">
        {wrong === null ? (
          t('This device may watch. To work from it, type the pairing code from the console of the bridge.')
        ) : (
          <span role="alert">{wrong}</span>
        )}
      </label>
      <input id="code" name="code" inputMode="numeric" autocomplete="off" maxLength={12} required disabled={busy} />
      <button type="submit" class="action is-primary" disabled={busy}>
        {t('Pair')}
      </button>
    </form>
  );
}

export const takeLead = (): void => post({ event: 'lead', label: t('Take the lead') });

/** Another device leads: this one watches, and can take over, which that one sees at once. */
export function TakeLead() {
  return (
    <nav class="pairing" aria-label={t('Actions')}>
      <p>{t('Another device leads this run; this one watches. Take the lead to work from here.')}</p>
      <HoldButton
        className="action is-primary"
        hold
        label={`${t('Take the lead')}, ${t('press and hold')}`}
        onAct={takeLead}
      >
        <span class="action-label">{t('Take the lead')}</span> <span class="action-hint">{t('press and hold')}</span>
      </HoldButton>
    </nav>
  );
}
