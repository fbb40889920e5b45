import { signal } from '@preact/signals';
import type { Message } from '../../../src/core/message/message.ts';
import type { Texts } from '../../../src/core/message/texts.ts';
import { keep, kept } from '../keep.ts';
import type { german } from './de.ts';

/**
 * Languages by catalogue. English is the key itself; every other language is a table over the same keys, fetched when it
 * is chosen. A phrase that the German table lacks does not compile where it is used; a further language is typed as
 * `Record<Phrase, string>`. What the bridge says comes in English with its code and figures, and is said anew here.
 */
export type Phrase = keyof typeof german;
export type Language = 'en' | 'de';
export const languages: Readonly<Record<Language, string>> = { en: 'English', de: 'Deutsch' };

export interface Catalogue {
  /** Sign between a figure's whole and its decimals. */
  readonly decimal: string;
  readonly phrases: Readonly<Record<Phrase, string>>;
  /** Sentences of the bridge by code, and its plain phrases by their English. */
  readonly texts: Texts;
  readonly plain: Readonly<Record<string, string>>;
  /** Of phrases with figures or names in them. */
  readonly patterns: readonly (readonly [RegExp, string])[];
}

type Figures = Readonly<Record<string, string | number>>;

const key = 'limpid-language';
export const language = signal<Language>('en');
const catalogue = signal<Catalogue | null>(null);

/** A phrase of the page in the language chosen; `{name}` in it is replaced by the figure of that name. */
export function t(phrase: Phrase, figures: Figures = {}): string {
  return filled(catalogue.value?.phrases[phrase] ?? phrase, figures);
}

function filled(text: string, figures: Figures): string {
  return text.includes('{') ? text.replace(/\{(\w+)\}/g, (all, name: string) => String(figures[name] ?? all)) : text;
}

/** A text of the bridge in the language chosen; in English where the catalogue has none. */
export function told(text: string, said: Readonly<Record<string, Message>> = {}): string {
  const known = catalogue.value;
  if (known === null || text === '') return text;
  const message = said[text];
  const sentence = message === undefined ? undefined : known.texts[message.code];
  if (message === undefined || sentence === undefined) return known.plain[text] ?? toldByPattern(text, known, said);
  const params = Object.entries(message.params).map(([name, v]) => [name, typeof v === 'string' ? told(v, said) : v]);
  return sentence(Object.fromEntries(params));
}

/** A phrase with figures or names in it, or several of them side by side; as it is where no pattern fits. */
function toldByPattern(text: string, known: Catalogue, said: Readonly<Record<string, Message>>): string {
  for (const [pattern, translation] of known.patterns) {
    const found = pattern.exec(text);
    if (found !== null)
      return translation.replace(/\$(\d)/g, (_all, n: string) => {
        const part = found[Number(n)] ?? '';
        return aloneFigure.test(part) ? part.replace('.', known.decimal) : told(part, said);
      });
  }
  if (figuresOnly.test(text) && !aloneFigure.test(text)) return text.replaceAll('.', known.decimal);
  const { parts, between } = partsOf(text);
  return parts.length === 1 ? text : parts.map((part) => told(part, said)).join(between);
}

/** Words side by side, or one sentence after another. */
function partsOf(text: string): { readonly parts: readonly string[]; readonly between: string } {
  const parts = text.split('; ');
  if (parts.length > 1) return { parts, between: '; ' };
  const sentences = text.split('. ');
  return { parts: sentences.map((s, i) => (i < sentences.length - 1 ? `${s}.` : s)), between: ' ' };
}

/** A figure with decimals and nothing else. */
const aloneFigure = /^\d+\.\d+$/;
/** Figures with a sign or a unit: `7.0 ± 0.7 l`, `< 0.5`. A bare one may be the name of a room: it is left to who shows it. */
const figuresOnly = /^(?:[<\u2248\u2264\u2265] )?\d+(?:\.\d+)?(?: \u00b1 \d+(?:\.\d+)?)?(?: (?:l|g|h|min|bar|NTU|m))?$/;

/** Members that are names, codes and answers, never words to be read. */
const untold = new Set([
  'runId',
  'id',
  'name',
  'code',
  'event',
  'emitter',
  'kind',
  'status',
  'state',
  'stand',
  'stage',
  'system',
  'openEmitter',
  'startedAt',
  'lead',
  'quantity',
  'choices',
  'start',
  'startBy',
  'fixed',
  'last',
  'csv',
  'survey',
  'order',
  'priority',
  'basis',
]);

/** A view of the bridge with its texts in the language chosen; the same value when that is English. */
export function toldView(view: unknown, said: Readonly<Record<string, Message>>): unknown {
  if (catalogue.value === null) return view;
  if (typeof view === 'string') return told(view, said);
  if (Array.isArray(view)) return view.map((member: unknown) => toldView(member, said));
  if (typeof view !== 'object' || view === null) return view;
  return Object.fromEntries(
    Object.entries(view).map(([name, member]: [string, unknown]) => [
      name,
      name === 'said' || untold.has(name) ? member : toldView(member, said),
    ]),
  );
}

export function storedLanguage(): Language {
  const found = kept(key);
  if (found === 'de' || found === 'en') return found;
  return navigator.language.startsWith('de') ? 'de' : 'en';
}

/** Resolves once the page can speak it; a catalogue that cannot be fetched leaves the language as it is. */
export async function setLanguage(next: Language): Promise<void> {
  const fetched = next === 'de' ? (await import('./de.ts')).catalogue : null;
  catalogue.value = fetched;
  language.value = next;
  document.documentElement.lang = next;
  keep(key, next);
}
