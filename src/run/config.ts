import { homedir } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import { rigName } from '../hub/part.ts';
import { number, readLayers, readText, type Settings } from './layers.ts';

/** What can be set, by flag, environment (`LIMPID_PORT`), file (`limpid.json`) or default, in that order. */
const layerSchema = z
  .strictObject({
    port: number(z.number().int().min(1).max(65535)),
    host: z.string().min(1).max(253),
    https: z.union([z.literal(true).transform(() => 0), number(z.number().int().min(1).max(65535))]),
    data: z.string().min(1),
    serial: z.string().min(1),
    mqtt: z.string().regex(/^(mqtt|mqtts|ws|wss):\/\/[^/]/),
    mqtt_user: z.string().min(1).max(200),
    mqtt_password: z.string().min(1).max(1000),
    broker: z.union([z.literal(true).transform(() => 1883), number(z.number().int().min(1).max(65535))]),
    mapping: z.string().min(1),
    baud: number(z.number().int().min(300).max(4_000_000)),
    replay: z.string().min(1),
    simulate: z.string().min(1),
    kit: z.enum(['virtual', 'firmware']),
    seed: number(z.number().int().min(0)),
    speed: number(z.number().positive().max(1000)),
    context: z.string().min(1),
    survey: z.string().min(1),
    new: z.union([z.boolean(), z.stringbool()]),
    outbox: z.string().regex(/^(mqtt|mqtts|ws|wss):\/\/[^/]/),
    outbox_user: z.string().min(1).max(200),
    outbox_password: z.string().min(1).max(1000),
    outbox_ca: z.string().min(1),
    rig: z.string().regex(rigName),
  })
  .partial();
export type Layer = z.infer<typeof layerSchema>;
export const settingNames: readonly string[] = Object.keys(layerSchema.shape);

export type Source =
  | { readonly kind: 'serial'; readonly path: string; readonly baud: number; readonly mapping: string | null }
  | ({ readonly kind: 'mqtt'; readonly url: string } & BrokerSettings)
  /** A broker inside this process. */
  | ({ readonly kind: 'broker'; readonly host: string; readonly port: number } & BrokerSettings)
  | { readonly kind: 'replay'; readonly folder: string; readonly speed: number }
  | {
      readonly kind: 'simulate';
      readonly scenario: string;
      readonly seed: number;
      readonly speed: number;
      /** The simulated rig's kit: in software, or our firmware's very binary in a simulated chip. */
      readonly kit: 'virtual' | 'firmware';
    };

interface BrokerSettings {
  readonly user: string | null;
  readonly password: string | null;
  /** File that says how to read kits that do not speak our wire. */
  readonly mapping: string | null;
}

/** The firm's broker, to which the record of this rig goes out. */
export interface Outlet {
  readonly url: string;
  readonly user: string | null;
  readonly password: string | null;
  /** PEM text of the authority that signed the broker's certificate, where it is the firm's own. */
  readonly ca: string | null;
  /** What the firm calls this rig. */
  readonly rig: string;
}

export interface Config {
  /** `null`: 8480, or the next free one. */
  readonly port: number | null;
  readonly host: string;
  /** Port of https beside http, 0: 8443 or the next free one; null: http only. */
  readonly https: number | null;
  readonly data: string;
  readonly source: Source;
  /** File with the system's description for a real kit. */
  readonly context: string | null;
  /** Table with the survey that a new run begins with. */
  readonly survey: string | null;
  /** Begin a new run although one is under way. */
  readonly startNew: boolean;
  /** Null: the record stays on this bridge. */
  readonly outlet: Outlet | null;
}

export const defaultPort = 8480;
export const defaultHttpsPort = 8443;

/** Where records are kept unless told otherwise. */
export function defaultDataFolder(): string {
  return join(homedir(), '.limpid');
}

/**
 * Settings from all places, the nearest winning. Throws Problem: a setting that is unknown or out of range (which place,
 * which name, what was found, what was expected), a file that cannot be read, two sources at once.
 */
export function readConfig(
  flags: Record<string, unknown>,
  env: Record<string, string | undefined>,
  file?: string,
): Config {
  const layers = readLayers(bridgeSettings, flags, env, file, (nearer) =>
    join(nearer.flag.data ?? nearer.environment.data ?? defaultDataFolder(), 'limpid.json'),
  );
  const { flag, environment, written } = layers;
  // What stands on a command line can be read by every user of this machine.
  if (flag.mqtt?.includes('@') || flag.outbox?.includes('@')) throw new Problem('config.mqtt-secret');
  const all = { ...written, ...environment, ...flag };
  return {
    port: all.port ?? null,
    host: all.host ?? '0.0.0.0',
    https: all.https ?? null,
    data: all.data ?? defaultDataFolder(),
    source: sourceOf([flag, environment, written], all),
    context: all.context ?? null,
    survey: all.survey ?? null,
    startNew: all.new ?? false,
    outlet: outletOf(all),
  };
}

function outletOf(all: Layer): Outlet | null {
  if (all.outbox === undefined) return null;
  if (all.rig === undefined) throw new Problem('config.outbox-rig');
  const ca = all.outbox_ca === undefined ? null : readText(all.outbox_ca);
  return { url: all.outbox, user: all.outbox_user ?? null, password: all.outbox_password ?? null, ca, rig: all.rig };
}

const expected: Readonly<Record<string, string>> = {
  '': 'an object of settings',
  port: 'a whole number from 1 to 65535',
  baud: 'a whole number from 300 to 4000000',
  kit: 'virtual or firmware',
  seed: 'a whole number from 0',
  speed: 'a number over 0, up to 1000',
  new: 'true or false',
  host: 'an address or a name of this machine',
  https: 'nothing, or a port from 1 to 65535',
  data: 'a folder',
  serial: 'a port (limpid ports lists them)',
  mqtt: 'the address of a broker, like mqtt://192.0.2.7:1883',
  mqtt_user: 'a user name',
  mqtt_password: 'a password, as text',
  broker: 'nothing, or a port from 1 to 65535',
  mapping: 'a file as docs/mapping.md describes it',
  replay: 'a recording folder',
  simulate: 'the name of a scenario (limpid simulate --list)',
  context: 'a file like the context.json of a recording',
  survey: 'a table that the survey page kept, such as survey.csv',
  outbox: "the address of the firm's broker, like mqtts://192.0.2.7",
  outbox_user: 'a user name',
  outbox_password: 'a password, as text',
  outbox_ca: 'a file with a certificate (PEM)',
  rig: 'letters, digits and hyphens, 63 at most',
};

export const bridgeSettings: Settings<Layer> = { schema: layerSchema, names: settingNames, expected };

const sourceNames = ['serial', 'mqtt', 'broker', 'replay', 'simulate'] as const;

/** The nearest place that names a source decides; naming two in one place is a contradiction. */
function sourceOf(layers: readonly Layer[], all: Layer): Source {
  const namedIn = (l: Layer) => sourceNames.filter((name) => l[name] !== undefined);
  const layer = layers.find((l) => namedIn(l).length > 0) ?? {};
  const named = namedIn(layer);
  if (named.length > 1) throw new Problem('config.two-sources', { first: named[0] ?? '', second: named[1] ?? '' });
  const speed = all.speed ?? 1;
  const isKit = layer.serial !== undefined || layer.mqtt !== undefined || layer.broker !== undefined;
  if (isKit && all.speed !== undefined && all.speed !== 1) throw new Problem('config.speed-serial');
  if (!isKit && all.mapping !== undefined) throw new Problem('config.mapping-alone');
  const mapping = all.mapping ?? null;
  if (layer.serial !== undefined) return { kind: 'serial', path: layer.serial, baud: all.baud ?? 115200, mapping };
  const login = { user: all.mqtt_user ?? null, password: all.mqtt_password ?? null, mapping };
  if (layer.mqtt !== undefined) return { kind: 'mqtt', url: layer.mqtt, ...login };
  if (layer.broker !== undefined) return { kind: 'broker', host: all.host ?? '0.0.0.0', port: layer.broker, ...login };
  if (layer.replay !== undefined) return { kind: 'replay', folder: layer.replay, speed };
  const kit = all.kit ?? 'virtual';
  if (kit === 'firmware' && speed > 1) throw new Problem('config.speed-firmware');
  return { kind: 'simulate', scenario: layer.simulate ?? 'rehearsal', seed: all.seed ?? 1, speed, kit };
}
