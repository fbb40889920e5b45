import { switches } from '../shared/switches.ts';

/**
 * Keys for whoever has a keyboard, a pedal or a presenter: 1, 2 and 3 press the buttons at the bottom, Page Down (what
 * most pedals and presenters send) the one thing to do now, U takes back. A button that asks to be held asks for the key
 * a second time. Never while something is typed, and they can be switched off.
 */
export function listenToKeys(): () => void {
  const pressed = (event: KeyboardEvent) => {
    if (!switches.keys.on.value || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
    const at = event.target;
    if (at instanceof Element && at.closest('input, select, textarea, dialog, [role="dialog"]') !== null) return;
    const button = buttonOf(event.key);
    if (button === null) return;
    event.preventDefault();
    button.click();
  };
  addEventListener('keydown', pressed);
  return () => removeEventListener('keydown', pressed);
}

function buttonOf(key: string): HTMLElement | null {
  if (key === '1' || key === '2' || key === '3')
    return document.querySelectorAll<HTMLElement>('.actions .action')[Number(key) - 1] ?? null;
  if (key === 'PageDown') {
    const asked = document.querySelector<HTMLElement>('.actions .action.is-primary');
    // At the line a pass is told by a pedal also while the page says to wait: pressed, it must not be lost.
    return asked ?? document.querySelector<HTMLElement>('.rig .actions .action');
  }
  return key.toLowerCase() === 'u' ? document.querySelector<HTMLElement>('.undo') : null;
}
