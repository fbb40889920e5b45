import type { Output } from './output.ts';

export interface Argument {
  readonly name: string;
  readonly about: string;
  readonly optional?: boolean;
}

export interface Option {
  /** As commander reads them: `--data <folder>`. */
  readonly flags: string;
  readonly about: string;
  /** May be given several times. */
  readonly many?: boolean;
}

export interface Input {
  /** The arguments in the order of `args`; '' where an optional one is missing. */
  readonly args: readonly string[];
  /** Options by their long name in camel case; `limpid.ts` leaves out what was not given. */
  readonly options: Readonly<Record<string, unknown>>;
  readonly out: Output;
  /** Folder of the built pages. */
  readonly webRoot: string;
  /** Resolves when the user asks to stop (Ctrl-C, or the system's stop signal). */
  readonly stopped: () => Promise<void>;
}

/** One command: what the help and docs/commands.md say of it, and what it does. */
export interface Command {
  readonly name: string;
  readonly summary: string;
  readonly args: readonly Argument[];
  readonly options: readonly Option[];
  readonly examples: readonly string[];
  /** Returns the exit code: 0 done, 1 it did not work. Throws WrongUse (2) or Problem (1). */
  run(input: Input): Promise<number>;
}

/** The command was called in a way that cannot be meant: exit code 2. */
export class WrongUse extends Error {}

/** What was given for an option that takes a value. */
export function textOption(options: Input['options'], name: string): string | undefined {
  const value = options[name];
  return typeof value === 'string' ? value : undefined;
}

/** The same as a number. Throws WrongUse. */
export function numberOption(options: Input['options'], name: string): number | undefined {
  const text = textOption(options, name);
  if (text === undefined) return undefined;
  const value = Number(text);
  if (text.trim() !== '' && Number.isFinite(value)) return value;
  throw new WrongUse(`--${name} is a number; got "${text}".`);
}

export const dataOption: Option = {
  flags: '--data <folder>',
  about: 'where the records are kept (default: .limpid in your home folder)',
};
