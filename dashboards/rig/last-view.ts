import { z } from 'zod';
import { type RunView, runViewSchema } from '../../src/server/protocol.ts';
import { keep, kept } from '../shared/keep.ts';

/** The newest view, kept in the browser: a page that is opened while the bridge is away shows it, as old as it is. */
export interface LastView {
  keep(view: RunView): void;
  /** What waits to be written is written now. */
  flush(): void;
  load(): { readonly view: RunView; readonly heardMs: number } | null;
}

const key = 'limpid-last-view';
const everyMs = 3000;
const oldestMs = 86_400_000;
const schema = z.object({ heardMs: z.number(), view: runViewSchema });

export function createLastView(nowMs: () => number = Date.now): LastView {
  let waits: z.infer<typeof schema> | null = null;
  let keptMs = Number.NEGATIVE_INFINITY;
  const flush = () => {
    if (waits === null) return;
    keptMs = nowMs();
    keep(key, JSON.stringify(waits));
    waits = null;
  };
  return {
    keep(view) {
      waits = { heardMs: nowMs(), view };
      if (nowMs() - keptMs >= everyMs) flush();
    },
    flush,
    load() {
      try {
        const parsed = schema.safeParse(JSON.parse(kept(key) ?? 'null'));
        return parsed.success && nowMs() - parsed.data.heardMs < oldestMs ? parsed.data : null;
      } catch {
        return null;
      }
    },
  };
}
