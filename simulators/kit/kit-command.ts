import { channelByName } from '../../src/core/quantity/channels.ts';
import { type KitCommand, rateRangeHz } from '../../firmware-bridge/wire/command.ts';
import { openLine } from '../../firmware-bridge/wire/open-line.ts';
import { parsePack } from '../../firmware-bridge/wire/parse-pack.ts';

/** A command that was understood, or why not. */
export type ReadCommand = KitCommand | { readonly kind: 'unknown'; readonly why: string };

/** One line from the bridge, without its end. */
export function readCommand(line: Uint8Array): ReadCommand {
  const opened = openLine(line);
  if ('reject' in opened) return { kind: 'unknown', why: 'check sum' };
  const parsed = parsePack(opened.body);
  const record = 'reject' in parsed ? undefined : parsed.records[0];
  if (!record) return { kind: 'unknown', why: 'no pack' };
  const full = `${record.bn ?? ''}${record.n ?? ''}`;
  switch (full.slice(full.lastIndexOf('_') + 1)) {
    case 'do-hello':
      return record.vb === true ? { kind: 'hello' } : { kind: 'unknown', why: 'do-hello needs vb true' };
    case 'do-blink':
      return record.vb === true ? { kind: 'blink' } : { kind: 'unknown', why: 'do-blink needs vb true' };
    case 'do-rate': {
      const { min, max } = rateRangeHz;
      return record.v !== undefined && record.v >= min && record.v <= max
        ? { kind: 'rate', hz: record.v }
        : { kind: 'unknown', why: `do-rate needs v from ${min} to ${max}` };
    }
    case 'do-zero': {
      const channel = channelByName(record.vs ?? '');
      return channel
        ? { kind: 'zero', channel: channel.name }
        : { kind: 'unknown', why: 'do-zero needs vs with a channel' };
    }
    default:
      return { kind: 'unknown', why: 'no such command' };
  }
}
