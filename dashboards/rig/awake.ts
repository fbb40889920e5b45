import { effect, signal } from '@preact/signals';
import { switches } from '../shared/switches.ts';
import { t } from '../shared/words/language.ts';

/**
 * Whether the screen stays on by itself. A page on plain http is not allowed to keep it on, and says so; a tablet that
 * saves its battery refuses; whoever holds it may switch it off.
 */
export type Awake = 'on' | 'off' | 'http' | 'refused';
export const awake = signal<Awake>('off');

export function awakeWord(): string {
  return awake.value === 'on' ? t('screen stays on') : t('screen may sleep');
}

export function awakeWhy(): string {
  switch (awake.value) {
    case 'on':
      return t('The tablet lets this page keep the screen on.');
    case 'off':
      return t('Switched off: the tablet sleeps when it likes.');
    case 'http':
      return t('A page on plain http cannot keep the screen on: set the tablet to sleep after 30 minutes.');
    case 'refused':
      return t('The tablet refuses to keep the screen on; look at its battery saver.');
  }
}

export function keepAwake(): () => void {
  let lock: WakeLockSentinel | null = null;
  const release = () => {
    void lock?.release();
    lock = null;
  };
  const request = () => {
    release();
    if (!switches.awake.on.value) awake.value = 'off';
    else if (!('wakeLock' in navigator)) awake.value = 'http';
    else if (document.visibilityState === 'visible')
      navigator.wakeLock.request('screen').then(
        (got) => {
          lock = got;
          awake.value = 'on';
        },
        () => {
          awake.value = 'refused';
        },
      );
  };
  const stop = effect(() => {
    void switches.awake.on.value;
    request();
  });
  // The tablet takes the lock away when the page goes to the back.
  document.addEventListener('visibilitychange', request);
  return () => {
    stop();
    release();
    document.removeEventListener('visibilitychange', request);
  };
}
