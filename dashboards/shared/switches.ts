import { type Signal, signal } from '@preact/signals';
import { keep, kept } from './keep.ts';

/** What whoever holds this device may switch off; on until they do, and remembered. */
export interface Switch {
  readonly on: Signal<boolean>;
  set(on: boolean): void;
}

function createSwitch(key: string): Switch {
  const on = signal(kept(key) !== 'off');
  return {
    on,
    set(next) {
      keep(key, next ? null : 'off');
      on.value = next;
    },
  };
}

export const switches = {
  sound: createSwitch('limpid-sound'),
  vibration: createSwitch('limpid-vibration'),
  awake: createSwitch('limpid-awake'),
  keys: createSwitch('limpid-keys'),
} as const;
