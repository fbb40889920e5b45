import { signal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { reach } from '../shared/reach.ts';
import { type Switch, switches } from '../shared/switches.ts';
import { language, languages, setLanguage, t } from '../shared/words/language.ts';
import { awakeWhy } from './awake.ts';
import { CardSize } from './card-size.tsx';
import { leader, me } from './model.ts';
import { takeLead } from './pairing.tsx';
import { trySound } from './sound-check.tsx';

const isOpen = signal(false);

export function openSettings(): void {
  isOpen.value = true;
}

function Toggle(props: { of: Switch; label: string; children?: ComponentChildren }) {
  const { of, label } = props;
  return (
    <div class="setting">
      <button
        type="button"
        role="switch"
        class="toggle"
        aria-checked={of.on.value}
        onClick={() => of.set(!of.on.value)}
      >
        <span>{label}</span>
        <b>{of.on.value ? t('on') : t('off')}</b>
      </button>
      {props.children}
    </div>
  );
}

function reachText(): string {
  switch (reach) {
    case 'https':
      return t('Reached by https: it can be installed, opens without the bridge and keeps the screen on.');
    case 'own-machine':
      return t('Reached on its own machine: it can be installed, opens without the bridge and keeps the screen on.');
    case 'trusted-http':
      return t(
        'This browser trusts the address: it can be installed, opens without the bridge and keeps the screen on.',
      );
    case 'plain-http':
      return t(
        'Reached by plain http: all that matters works, but the screen may sleep and the page cannot open while the bridge is away.',
      );
  }
}

function Lead() {
  if (me.value?.mayWrite !== true) return null;
  return (
    <div class="setting">
      {leader.value === 'me' ? (
        <p>{t('This device leads: the others watch until one of them takes the lead.')}</p>
      ) : (
        <button type="button" class="toggle" onClick={takeLead}>
          <span>{t('Take the lead')}</span>
          <small>
            {leader.value === 'nobody'
              ? t('Nobody leads: every paired device may write.')
              : t('Another device leads this run.')}
          </small>
        </button>
      )}
    </div>
  );
}

/** What may be set on this device; nothing of it touches the run. */
export function Settings() {
  const dialog = useRef<HTMLDialogElement>(null);
  const open = isOpen.value;
  useEffect(() => {
    if (open) dialog.current?.showModal();
    else dialog.current?.close();
  }, [open]);
  const close = () => {
    isOpen.value = false;
  };
  if (!open) return null;
  return (
    <dialog class="settings" ref={dialog} aria-labelledby="settings-title" onClose={close}>
      <header>
        <h2 id="settings-title">{t('Settings of this device')}</h2>
        <button type="button" class="tool" onClick={close}>
          {t('Close')}
        </button>
      </header>
      <Toggle of={switches.sound} label={t('Sound on a change of verdict')}>
        <button type="button" class="tool" onClick={trySound}>
          {t('Test the sound')}
        </button>
      </Toggle>
      <Toggle of={switches.vibration} label={t('Vibration')}>
        {!('vibrate' in navigator) && <p>{t('This device does not vibrate.')}</p>}
      </Toggle>
      <Toggle of={switches.awake} label={t('Keep the screen on')}>
        <p>{awakeWhy()}</p>
      </Toggle>
      <Toggle of={switches.keys} label={t('Keys')}>
        <p>
          {t('1, 2, 3: the buttons; Page Down: what to do now; U: undo. The button on the kit tells a pass as well.')}
        </p>
      </Toggle>
      <CardSize />
      <Lead />
      <fieldset class="setting">
        <legend>{t('Language')}</legend>
        {(['en', 'de'] as const).map((id) => (
          <label key={id} lang={id}>
            <input type="radio" name="language" checked={language.value === id} onChange={() => void setLanguage(id)} />
            {languages[id]}
          </label>
        ))}
      </fieldset>
      <p class="setting">
        {reachText()}
        {reach === 'plain-http' && <a href="/trust.html">{t('How to get the rest')}</a>}
      </p>
    </dialog>
  );
}
