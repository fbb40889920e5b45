import { signal } from '@preact/signals';
import { keep, kept } from './keep.ts';

/** Light by default, dark by one tap, remembered. The chart asks for its colours through `colour`, so it follows. */
export type Theme = 'light' | 'dark';
export type Token =
  | 'ground'
  | 'ink'
  | 'quiet'
  | 'hair'
  | 'trace'
  | 'flow'
  | 'pressure'
  | 'temperature'
  | 'conductivity'
  | 'good'
  | 'good-soft'
  | 'warn'
  | 'urgent'
  | 'accent';

const key = 'limpid-theme';
const colours = new Map<Token, string>();

export const theme = signal<Theme>(kept(key) === 'dark' ? 'dark' : 'light');

export function setTheme(next: Theme): void {
  colours.clear();
  document.documentElement.dataset['theme'] = next;
  document.querySelector('meta[name=theme-color]')?.setAttribute('content', next === 'dark' ? '#121212' : '#ffffff');
  keep(key, next);
  // Last: whoever draws when this changes must find the new colours.
  theme.value = next;
}

export function colour(token: Token): string {
  const known = colours.get(token);
  if (known !== undefined) return known;
  const found = getComputedStyle(document.documentElement).getPropertyValue(`--${token}`).trim();
  colours.set(token, found);
  return found;
}
