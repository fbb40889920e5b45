import { openLine } from '../../firmware-bridge/wire/open-line.ts';
import { parsePack } from '../../firmware-bridge/wire/parse-pack.ts';

/** What the bridge asks of a kit: one-record packs `do-hello`, `do-rate`, `do-zero`, `do-blink`. */
export type KitCommand =
  | { readonly kind: 'hello' }
  | { readonly kind: 'rate'; readonly hz: number }
  | { readonly kind: 'zero'; readonly channel: string }
  | { readonly kind: 'blink' }
  | { readonly kind: 'unknown'; readonly why: string };

/** One line from the bridge, without its end. */
export function readCommand(line: Uint8Array): KitCommand {
  const opened = openLine(line);
  if ('reject' in opened) return { kind: 'unknown', why: 'check sum' };
  const parsed = parsePack(opened.body);
  const record = 'reject' in parsed ? undefined : parsed.records[0];
  if (!record) return { kind: 'unknown', why: 'no pack' };
  const full = `${record.bn ?? ''}${record.n ?? ''}`;
  switch (full.slice(full.lastIndexOf('_') + 1)) {
    case 'do-hello':
      return { kind: 'hello' };
    case 'do-blink':
      return { kind: 'blink' };
    case 'do-rate':
      return record.v !== undefined && record.v >= 0.2 && record.v <= 50
        ? { kind: 'rate', hz: record.v }
        : { kind: 'unknown', why: 'rate from 0.2 to 50' };
    case 'do-zero':
      return record.vs === undefined ? { kind: 'unknown', why: 'zero of what' } : { kind: 'zero', channel: record.vs };
    default:
      return { kind: 'unknown', why: 'unknown command' };
  }
}
