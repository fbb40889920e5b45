/** A table of sentences by code; each room keeps its own beside this file, message.ts joins them. */
export type Texts = Readonly<Record<string, (params: Readonly<Record<string, string | number>>) => string>>;

/** A share as whole percent, 1 at least: what is told of is never nothing. */
export function percent(share: string | number | undefined): string {
  return typeof share === 'number' ? `${Math.max(1, Math.round(100 * share))} %` : '–';
}

/** The most frequent reason of a reader that reads nothing, and how the last line began where that does not say it. */
export function refused(p: Readonly<Record<string, string | number>>): string {
  const [why, line] = [String(p['why']), String(p['line'] ?? '')];
  return line === '' || why.includes(line) ? `Most often: ${why}` : `Most often: ${why} The last began "${line}".`;
}

/** A bridge comes back to a link by itself; a command that looks once (`once`) does not. */
export function again(p: Readonly<Record<string, string | number>>): string {
  return p['once'] === undefined ? ' It is tried again.' : '';
}
