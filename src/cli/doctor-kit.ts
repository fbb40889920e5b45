import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import type { Config, Source } from '../run/config.ts';
import { type Check, fix, ok, unknown } from './check.ts';

/** As long as a link needs to say what is wrong with it (seconds). */
const listenS = 7;
const answersWithinMs = 2000;

/** What a bridge tells of its kits, as far as it is told here. */
const benchSchema = z.object({
  source: z.string(),
  problem: z.string().nullable(),
  kits: z.array(
    z.object({
      kit: z.string(),
      ageS: z.number(),
      packs: z.number(),
      channels: z.array(z.object({ name: z.string(), kitValue: z.number().nullable() })),
    }),
  ),
});
type Bench = z.infer<typeof benchSchema>;

/** Asks what serves there; null: nothing does, or nothing of ours. */
async function asked(host: string, port: number, path: string): Promise<unknown> {
  const near = host === '0.0.0.0' || host === '' ? '127.0.0.1' : host === '::' ? '::1' : host;
  try {
    const url = `http://${near.includes(':') ? `[${near}]` : near}:${port}${path}`;
    const reply = await fetch(url, { signal: AbortSignal.timeout(answersWithinMs) });
    return reply.ok ? await reply.json() : null;
  } catch {
    return null;
  }
}

/** A bridge or a hub runs there: nothing else has an own port to mend. */
export async function isOurs(host: string, port: number): Promise<boolean> {
  return z.object({ ok: z.literal(true) }).safeParse(await asked(host, port, '/health')).success;
}

/**
 * The kit that is set, by what a running bridge hears of it, else by listening for some seconds. Empty when no kit is set
 * and no bridge runs.
 */
export async function kitChecks({ source, host, port }: Config, usualPort: number): Promise<Check[]> {
  const bench = benchSchema.safeParse(await asked(host, port ?? usualPort, '/api/bench'));
  if (bench.success) return [heardByBridge(bench.data)];
  if (source.kind === 'broker')
    return [
      unknown(
        'kit',
        `Kits join the broker inside (port ${source.port}), which runs with the bridge.`,
        'Start the bridge, then look here again, or at its bench page (/kit.html).',
      ),
    ];
  return source.kind === 'serial' || source.kind === 'mqtt' ? [await listened(source)] : [];
}

function heardByBridge({ source, problem, kits }: Bench): Check {
  if (problem !== null) return fix('kit', `The bridge that runs says: ${problem}`, 'See the sentence before.');
  const now = kits.filter((kit) => kit.ageS <= 3);
  if (now.length === 0)
    return unknown('kit', `The bridge that runs hears no kit yet (${source}).`, 'Look again in some seconds.');
  const each = now.map(({ kit, packs, channels }) =>
    sends(
      kit,
      packs,
      channels.filter((c) => c.kitValue !== null).map((c) => c.name),
    ),
  );
  return ok('kit', `The bridge that runs hears ${source}. ${each.join(' ')}`);
}

async function listened(source: Extract<Source, { kind: 'serial' | 'mqtt' }>): Promise<Check> {
  const { openKitLink } = await import('../run/kit-open.ts');
  const { mappedLink } = await import('../run/mapping-file.ts');
  const { machineClock } = await import('../run/clock.ts');
  const { shownUrl } = await import('../../firmware-bridge/transport/mqtt-faults.ts');
  const shown = source.kind === 'serial' ? source.path : shownUrl(source.url);
  try {
    const kind = source.kind === 'serial' ? 'serial' : 'broker';
    const mapped = source.mapping === null ? null : mappedLink(source.mapping, kind, machineClock());
    const { place, login } = source.kind === 'serial' ? { place: source.path, login: {} } : apart(source);
    const open = await openKitLink(place, source.kind === 'serial' ? source.baud : 0, login, mapped);
    const { link } = open;
    try {
      const kit = await link.kit(null, listenS);
      await link.sleep(1);
      const heard = link.watch.kits.get(kit);
      return ok('kit', `${shown}: ${sends(kit, heard?.packs ?? 1, [...(heard?.values.keys() ?? [])])}`);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return fix('kit', link.problem() ?? error.message, 'See the sentence before.');
    } finally {
      await open.close();
    }
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return fix('kit', error.message, 'See the sentence before.');
  }
}

/** A login that stands in the address of the settings. */
function apart({ url, user, password }: Extract<Source, { kind: 'mqtt' }>) {
  const at = new URL(url);
  const login = {
    user: user ?? (decodeURIComponent(at.username) || undefined),
    password: password ?? (decodeURIComponent(at.password) || undefined),
  };
  at.username = '';
  at.password = '';
  return { place: at.href, login };
}

function sends(kit: string, packs: number, channels: readonly string[]): string {
  const what = channels.length > 0 ? `with ${channels.join(', ')}` : 'with no reading of a sensor';
  return `The kit ${kit} sends: ${packs} packs, ${what}.`;
}
