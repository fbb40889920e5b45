import { signal } from '@preact/signals';
import { switches } from '../shared/switches.ts';
import { t } from '../shared/words/language.ts';
import { soundReady, tell, tryCue } from './model.ts';

/** Of this visit to the page: whether the cue was heard where the work is done. */
const stand = signal<'untried' | 'asked' | 'heard'>('untried');

/** At the start: is the cue loud enough? A browser may sound only after a touch, so this is one. */
export function trySound(): void {
  tryCue('clear');
  stand.value = 'asked';
}

function answer(wasHeard: boolean): void {
  stand.value = wasHeard ? 'heard' : 'untried';
  if (!wasHeard)
    tell(t('Turn up the volume of this device and switch its silent mode off, then test the sound again.'));
}

export function SoundCheck() {
  if (!switches.sound.on.value) return <span class="chip">{t('sound off')}</span>;
  if (stand.value === 'asked')
    return (
      <span class="chip sound-check" role="group" aria-label={t('Heard it?')}>
        {t('Heard it?')}
        <button type="button" class="tool" onClick={() => answer(true)}>
          {t('Yes')}
        </button>
        <button type="button" class="tool" onClick={() => answer(false)}>
          {t('No')}
        </button>
      </span>
    );
  if (stand.value === 'heard' && soundReady.value) return <span class="chip">{t('sound on')}</span>;
  return (
    <button type="button" class="tool" onClick={trySound}>
      {t('Test the sound')}
    </button>
  );
}
