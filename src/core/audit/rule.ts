import type { StageName } from '../job/event.ts';
import type { Message } from '../message/message.ts';
import type { Severity, Span } from './finding.ts';
import type { Gathered } from './gather.ts';

/** A figure that decides a rule, which a firm may tune. */
export interface Threshold {
  readonly default: number;
  readonly unit: string;
  readonly about: string;
  /** Least and most that a rules file may ask for. */
  readonly least: number;
  readonly most: number;
  /** Which way finds less. */
  readonly looser: 'higher' | 'lower';
}

/** What a rule found once. */
export interface Evidence {
  /** Tells it from others of the same rule in the same run: emitter and visit, a channel, ...; '' when there is but one. */
  readonly subject: string;
  /** Params of the sentence `audit.<rule>`; figures besides words. */
  readonly params: Message['params'];
  readonly spans: readonly Span[];
  readonly figures: Readonly<Record<string, number>>;
  readonly emitter?: string;
  readonly stage?: StageName;
  /** Where the case is worse or milder than the rule usually is. */
  readonly severity?: Severity;
}

export type Judged =
  | { readonly applies: true; readonly found: readonly Evidence[] }
  | { readonly applies: false; readonly because: Message };

/** One rule of the audit: data, and a pure function that holds a run to it. */
export interface Rule<Limit extends string = string> {
  /** Kebab-case; names the sentence `audit.<id>` too. */
  readonly id: string;
  readonly title: string;
  readonly why: string;
  /** Where it comes from, or "common practice, no source". */
  readonly source: string;
  readonly severity: Severity;
  readonly thresholds: Readonly<Record<Limit, Threshold>>;
  readonly judge: (run: Gathered, limits: Readonly<Record<Limit, number>>) => Judged;
}

/** A rule without losing which thresholds it names. */
export function rule<Limit extends string>(made: Rule<Limit>): Rule<Limit> {
  return made;
}

export const practice = 'common practice, no source';

export function found(evidence: readonly Evidence[]): Judged {
  return { applies: true, found: evidence };
}

/** Not to be judged here: `code` names a sentence `audit.because-<code>`. */
export function notApplicable(code: string, params: Message['params'] = {}): Judged {
  return { applies: false, because: { code: `audit.because-${code}`, params } };
}
