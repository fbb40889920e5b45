import { join } from 'node:path';
import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import { defaultDataFolder } from './config.ts';
import type { HubConfig } from './hub.ts';
import { number, readLayers, readText, type Settings } from './layers.ts';

/** What a hub can be told, by flag, environment (`LIMPID_BROKER`), file (`hub.json`) or default, in that order. */
const layerSchema = z
  .strictObject({
    broker: z.string().regex(/^(mqtt|mqtts|ws|wss):\/\/[^/]/),
    broker_user: z.string().min(1).max(200),
    broker_password: z.string().min(1).max(1000),
    broker_ca: z.string().min(1),
    series: z.string().regex(/^https?:\/\/[^/]/),
    database: z.string().regex(/^[A-Za-z0-9_-]{1,64}$/),
    name: z.string().regex(/^[A-Za-z0-9-]{1,32}$/),
    data: z.string().min(1),
    port: number(z.number().int().min(1).max(65535)),
    host: z.string().min(1).max(253),
    https: z.union([z.literal(true).transform(() => 0), number(z.number().int().min(1).max(65535))]),
  })
  .partial();
type Layer = z.infer<typeof layerSchema>;

export const hubSettings: Settings<Layer> = {
  schema: layerSchema,
  names: Object.keys(layerSchema.shape),
  expected: {
    '': 'an object of settings',
    broker: "the address of the firm's broker, like mqtts://192.0.2.7",
    broker_user: 'a user name',
    broker_password: 'a password, as text',
    broker_ca: 'a file with a certificate (PEM)',
    series: 'the address of a time-series server, like http://127.0.0.1:8086',
    database: 'letters, digits, hyphens and underlines, 64 at most',
    name: 'letters, digits and hyphens, 32 at most',
    data: 'a folder',
    port: 'a whole number from 1 to 65535',
    host: 'an address or a name of this machine',
    https: 'nothing, or a port from 1 to 65535',
  },
};

export interface HubSettings extends HubConfig {
  /** Of the office's page, health and measures; `null`: 8490. */
  readonly port: number | null;
  readonly host: string;
  /** Port of https, 0 for any free one; null: none. */
  readonly https: number | null;
}

export const defaultHubPort = 8490;

/** Throws Problem: a setting that is unknown or out of range, no broker named, a file that cannot be read. */
export function readHubConfig(
  flags: Record<string, unknown>,
  env: Record<string, string | undefined>,
  file?: string,
): HubSettings {
  const folderOf = (l: Layer): string | undefined => l.data;
  const { flag, environment, written } = readLayers(hubSettings, flags, env, file, (nearer) =>
    join(folderOf(nearer.flag) ?? folderOf(nearer.environment) ?? defaultHubFolder(), 'hub.json'),
  );
  if (flag.broker?.includes('@') || flag.series?.includes('@')) throw new Problem('config.hub-secret');
  const all = { ...written, ...environment, ...flag };
  if (all.broker === undefined) throw new Problem('config.hub-broker');
  return {
    broker: {
      url: all.broker,
      user: all.broker_user ?? null,
      password: all.broker_password ?? null,
      ca: all.broker_ca === undefined ? null : readText(all.broker_ca),
    },
    series: all.series === undefined ? null : { url: all.series, database: all.database ?? 'limpid' },
    data: all.data ?? defaultHubFolder(),
    name: all.name ?? 'one',
    port: all.port ?? null,
    host: all.host ?? '127.0.0.1',
    https: all.https ?? null,
  };
}

/** Apart from that of a bridge on the same machine. */
function defaultHubFolder(): string {
  return `${defaultDataFolder()}-hub`;
}
