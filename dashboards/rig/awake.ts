import { signal } from '@preact/signals';

/** Whether the screen stays on by itself, in words. A page on plain http is not allowed to keep it on, and says so. */
export const awake = signal('');

export function keepAwake(): () => void {
  if (!('wakeLock' in navigator)) {
    awake.value = 'On plain http the page cannot keep the screen on: set the tablet to sleep after 30 min.';
    return () => {};
  }
  const request = () => {
    if (document.visibilityState !== 'visible') return;
    navigator.wakeLock.request('screen').then(
      () => {
        awake.value = 'Screen stays on.';
      },
      () => {
        awake.value = 'The tablet does not let the page keep the screen on (battery saver?).';
      },
    );
  };
  request();
  document.addEventListener('visibilitychange', request);
  return () => document.removeEventListener('visibilitychange', request);
}
