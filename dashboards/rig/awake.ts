import { signal } from '@preact/signals';

/** Whether the screen stays on by itself, in words. A page on plain http is not allowed to keep it on, and says so. */
export const awake = signal({ word: '', why: '' });

const states = {
  on: { word: 'screen stays on', why: 'The tablet lets this page keep the screen on.' },
  http: {
    word: 'screen may sleep',
    why: 'A page on plain http cannot keep the screen on: set the tablet to sleep after 30 minutes.',
  },
  refused: { word: 'screen may sleep', why: 'The tablet refuses to keep the screen on; look at its battery saver.' },
};

export function keepAwake(): () => void {
  if (!('wakeLock' in navigator)) {
    awake.value = states.http;
    return () => {};
  }
  const request = () => {
    if (document.visibilityState !== 'visible') return;
    navigator.wakeLock.request('screen').then(
      () => {
        awake.value = states.on;
      },
      () => {
        awake.value = states.refused;
      },
    );
  };
  request();
  document.addEventListener('visibilitychange', request);
  return () => document.removeEventListener('visibilitychange', request);
}
