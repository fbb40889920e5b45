import { counterSentences, type LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { Teller } from '../core/message/message.ts';
import type { RunView } from '../server/protocol.ts';
import type { IngestCounters } from './ingest.ts';

/** How much came in all is no news; only what tells of trouble is shown. */
const plainCounts = new Set(['bytes', 'lines', 'packs', 'withoutCrc']);

const sentences: Readonly<Record<string, string>> = counterSentences;

/** Counters that are not zero, each with its sentence. */
export function counterViews(
  wire: LinkCounters,
  own: IngestCounters,
  kitPassRefused: number,
  say: Teller['say'],
): RunView['counters'] {
  const views: RunView['counters'] = [];
  for (const [code, count] of Object.entries(wire)) {
    if (count > 0 && !plainCounts.has(code)) views.push({ code, text: sentences[code] ?? code, count });
  }
  const more = {
    placedLate: own.placedLate,
    behind: own.behind,
    otherKit: own.otherKit,
    moved: own.moved,
    kitPassRefused,
  };
  for (const [code, count] of Object.entries(more)) {
    if (count > 0) views.push({ code, text: say({ code: `link.count-${code}`, params: { count } }), count });
  }
  return views;
}
