import { z } from 'zod';
import { t } from './words/language.ts';

/**
 * Taps on their way to the bridge. Each gets an id of its own and the time of the tap, is kept in the browser until the
 * bridge has committed it, and is sent in order, one at a time; sending it twice has the effect of once.
 */
const tapSchema = z.object({
  id: z.string(),
  runId: z.string(),
  event: z.string(),
  emitter: z.string(),
  note: z.string(),
  label: z.string(),
  data: z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.null()])).optional(),
  /** Wall clock of this device: it has to outlive a reload. */
  tappedMs: z.number(),
});
export type Tap = z.infer<typeof tapSchema>;
const tapsSchema = z.array(tapSchema);

/** What became of one sending. `later`: no answer; `unpaired`: this device must pair first. */
export type Sent = 'done' | 'later' | 'unpaired' | { readonly refused: string };

export interface QueueWorld {
  send(tap: Tap, agoS: number): Promise<Sent>;
  load(): string | null;
  save(text: string): void;
  nowMs(): number;
  after(ms: number, fn: () => void): void;
  newId(): string;
}

export interface Queue {
  tap(what: Omit<Tap, 'id' | 'tappedMs'>): void;
  /** Send what waits, as soon as the link is back. Taps of another run are given up, and said so. */
  flush(runId: string): void;
  readonly waiting: readonly Tap[];
}

const oldestMs = 86_400_000;

export function createQueue(
  world: QueueWorld,
  changed: (taps: readonly Tap[]) => void,
  tell: (text: string) => void,
): Queue {
  let taps = restore(world.load());
  let sending = false;
  let currentRun: string | null = null;

  function keep(next: Tap[]): void {
    taps = next;
    world.save(JSON.stringify(taps));
    changed(taps);
  }

  async function pump(): Promise<void> {
    if (sending) return;
    sending = true;
    try {
      for (let tap = taps[0]; tap !== undefined; tap = taps[0]) {
        const agoMs = Math.max(0, world.nowMs() - tap.tappedMs);
        if (agoMs > oldestMs || (currentRun !== null && tap.runId !== currentRun)) {
          tell(
            t('"{what}" was not sent: it belongs to a run that is no longer here. Tell what is so now instead.', {
              what: tap.label,
            }),
          );
          keep(taps.slice(1));
          continue;
        }
        const sent = await world.send(tap, agoMs / 1000);
        if (sent === 'later') {
          world.after(1000, () => void pump());
          return;
        }
        if (sent === 'unpaired') return;
        if (sent !== 'done') tell(sent.refused);
        const id = tap.id;
        keep(taps.filter((waiting) => waiting.id !== id));
      }
    } finally {
      sending = false;
    }
  }

  changed(taps);
  return {
    get waiting() {
      return taps;
    },
    tap(what) {
      keep([...taps, { ...what, id: world.newId(), tappedMs: world.nowMs() }]);
      void pump();
    },
    flush(runId) {
      currentRun = runId;
      void pump();
    },
  };
}

function restore(text: string | null): Tap[] {
  if (text === null) return [];
  try {
    const parsed = tapsSchema.safeParse(JSON.parse(text));
    return parsed.success ? parsed.data : [];
  } catch {
    return [];
  }
}

/** 128 random bits in hex; `crypto.randomUUID` is not there on plain http. */
export function newTapId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
}
