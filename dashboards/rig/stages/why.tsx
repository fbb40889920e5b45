import { useState } from 'preact/hooks';
import { HoldButton } from '../../shared/hold-button.tsx';
import { asking, post, view } from '../model.ts';
import { t } from '../../shared/words/language.ts';

/** A caution in words, and the button that says it was heeded. */
export function Confirm({ caution }: { caution: { id: string; title: string; text: string } }) {
  return (
    <div class="confirm">
      <p>
        <b>{caution.title}.</b> {caution.text}
      </p>
      <HoldButton
        className="keep"
        hold
        label={`${t('Done, hold')}: ${caution.title}`}
        onAct={() => post({ event: 'caution-read', note: caution.id, label: caution.title })}
      >
        {t('Done, hold')}
      </HoldButton>
    </div>
  );
}

/** Why another way than the usual one: a phrase by one touch, or a few words. The record keeps it. */
export function Why() {
  const [words, setWords] = useState('');
  const asked = asking.value;
  if (asked === null) return null;
  const { button, reasons } = asked;
  const unread = view.value?.timeLine.find((p) => `stage:${p.name}` === button.event)?.cautions ?? [];
  const close = () => {
    asking.value = null;
    setWords('');
  };
  const give = (note: string) => {
    post({ ...button, note });
    close();
  };
  return (
    <div class="why" role="dialog" aria-modal="true" aria-label={t('Why: {what}', { what: button.label })}>
      <h2>
        {button.label}: {t('why?')}
        <HoldButton className="tool" hold={false} label={t('Go back')} onAct={close}>
          {t('Go back')}
        </HoldButton>
      </h2>
      {unread.map((c) => (
        <Confirm key={c.id} caution={c} />
      ))}
      <div class="reasons">
        {reasons.map((reason) => (
          <HoldButton key={reason} className="reason-choice" hold={false} label={reason} onAct={() => give(reason)}>
            {reason}
          </HoldButton>
        ))}
      </div>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          if (words.trim() !== '') give(words.trim());
        }}
      >
        <label for="why-words">{t('Or in your own words')}</label>
        <input id="why-words" maxLength={200} value={words} onInput={(e) => setWords(e.currentTarget.value)} />
        <button type="submit" class="keep">
          {t('Send')}
        </button>
      </form>
    </div>
  );
}
