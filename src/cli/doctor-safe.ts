import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Config } from '../run/config.ts';
import type { HubSettings } from '../run/hub-config.ts';
import { isLocal as isPrivate } from '../server/tls/certificate.ts';
import { type Check, fix, ok } from './check.ts';
import { openFileChecks } from './doctor-files.ts';

/** What is looked at outside the settings; given by tests. */
export interface Machine {
  readonly uid: number | null;
  /** Its addresses in its networks. */
  readonly addresses: readonly string[];
  /** Where a broker of this machine has its settings. */
  readonly brokerFolder: string;
}

/** What of a bridge's installation would let somebody in, or give something away. */
export function safetyChecks(config: Config, machine: Machine): Check[] {
  const { source, outlet } = config;
  const logins: [string, string | null, string | null][] = [
    ...(source.kind === 'mqtt' || source.kind === 'broker'
      ? [['mqtt_password', source.user, source.password] as [string, string | null, string | null]]
      : []),
    ...(outlet ? [['outbox_password', outlet.user, outlet.password] as [string, string | null, string | null]] : []),
  ];
  const brokers = [...(source.kind === 'mqtt' ? [source.url] : []), ...(outlet ? [outlet.url] : [])];
  return [
    rootCheck(machine.uid),
    ...openFileChecks(config.data),
    kitBrokerCheck(config),
    outletCheck(config),
    passwordCheck(logins),
    webCheck(config, machine.addresses, false),
    ...aclCheck(brokers, machine.brokerFolder),
  ];
}

/** What of a hub's installation would let somebody in, or give something away. */
export function hubSafetyChecks(config: HubSettings, machine: Machine): Check[] {
  const { broker, series } = config;
  return [
    rootCheck(machine.uid),
    ...openFileChecks(config.data),
    hubBrokerCheck(config),
    seriesCheck(series?.url ?? null),
    passwordCheck([['broker_password', broker.user, broker.password]]),
    webCheck(config, machine.addresses, true),
    ...aclCheck([broker.url], machine.brokerFolder),
  ];
}

function rootCheck(uid: number | null): Check {
  return uid === 0
    ? fix(
        'user',
        'Limpid runs as root, which it never needs.',
        'Run it as a user of its own (docs/deploy has a unit for it).',
      )
    : ok('user', 'It does not run as root.');
}

function kitBrokerCheck({ source, host }: Config): Check {
  if (source.kind === 'broker' && source.password === null && !isLocal(host))
    return fix(
      'kit-broker',
      'The broker inside lets every device of the network in: any of them can play the kit.',
      'Set LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD, and the same in the kit.',
    );
  if (source.kind === 'mqtt' && isPlainAcross(source.url))
    return fix(
      'kit-broker',
      'Kit and login go over the network in the clear (mqtt:).',
      'Use mqtts:, or a broker on this machine.',
    );
  if (
    source.kind === 'mqtt' &&
    source.password === null &&
    !hasLogin(source.url) &&
    !isLocal(new URL(source.url).hostname)
  )
    return fix(
      'kit-broker',
      'The broker of the kits is joined without a login: whoever reaches it can play the kit.',
      'Give the broker logins and rights (docs/mqtt.md), and set LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD.',
    );
  return ok(
    'kit-broker',
    source.kind === 'mqtt' || source.kind === 'broker'
      ? 'The way to the kit is closed to others.'
      : 'No broker is used.',
  );
}

function outletCheck({ outlet }: Config): Check {
  if (!outlet) return ok('outbox', 'Nothing is sent to a firm.');
  if (isPlainAcross(outlet.url))
    return fix(
      'outbox',
      'The record and its login go to the firm in the clear (mqtt:).',
      'Use mqtts:, with --outbox and LIMPID_OUTBOX_CA where the certificate is the firm’s own.',
    );
  if (outlet.user === null && !hasLogin(outlet.url))
    return fix(
      'outbox',
      'The firm’s broker is joined without a login: it cannot tell this rig from another.',
      'Ask the firm for the login of this rig.',
    );
  return ok('outbox', `The record goes to the firm as "${outlet.rig}", encrypted.`);
}

function hubBrokerCheck({ broker }: HubSettings): Check {
  if (isPlainAcross(broker.url))
    return fix(
      'hub-broker',
      'The records of all rigs and the login of the hub go over the network in the clear (mqtt:).',
      'Use mqtts: in LIMPID_BROKER, with LIMPID_BROKER_CA where the certificate is the firm’s own.',
    );
  if (broker.user === null && !hasLogin(broker.url))
    return fix(
      'hub-broker',
      'The firm’s broker is joined without a login: whoever reaches it can send as any rig.',
      'Give it logins and rights (docs/firm.md), and set LIMPID_BROKER_USER and LIMPID_BROKER_PASSWORD.',
    );
  return ok('hub-broker', 'The way from the rigs is closed to others.');
}

function seriesCheck(url: string | null): Check {
  if (url === null) return ok('series', 'No time series is written.');
  return new URL(url).protocol === 'http:' && !isLocal(new URL(url).hostname)
    ? fix(
        'series',
        'Samples and the login of the time series go over the network in the clear (http:).',
        'Use https: in LIMPID_SERIES, or a server on this machine.',
      )
    : ok('series', 'The way to the time series is closed to others.');
}

/** What is tried first by whoever tries; from memory. */
const usualPasswords = [
  'admin',
  'changeme',
  'default',
  'guest',
  'kit',
  'letmein',
  'limpid',
  'mosquitto',
  'mqtt',
  'pass',
  'password',
  'public',
  'root',
  'secret',
  'test',
  'user',
];
const leastLetters = 8;

function passwordCheck(logins: readonly (readonly [string, string | null, string | null])[]): Check {
  for (const [setting, user, password] of logins) {
    if (password === null) continue;
    const plain = password.toLowerCase().replace(/[\d\W_]+$/, '');
    const isWeak =
      password.length < leastLetters || plain === '' || usualPasswords.includes(plain) || password === user;
    if (isWeak)
      return fix(
        'password',
        `The password in ${setting} is one that is soon guessed: the user’s name, a usual word, digits alone, or under ${leastLetters} letters.`,
        'Make another, for instance by: openssl rand -base64 18 - and set it at both ends.',
      );
  }
  return ok('password', 'No password in the settings is one that is soon guessed.');
}

function webCheck(
  { host, https }: Pick<Config, 'host' | 'https'>,
  addresses: readonly string[],
  hasPeople: boolean,
): Check {
  const heard = host === '0.0.0.0' || host === '::' ? addresses : [host];
  const open = heard.filter((address) => /^[\d.]+$|:/.test(address) && !isPrivate(address));
  if (open.length > 0)
    return fix(
      'web',
      `The pages are served by http at ${open.join(', ')}, which is no address of a local network: the internet may reach it.`,
      'Set host to an address of the local network, or to 127.0.0.1 behind a proxy with TLS.',
    );
  if (hasPeople && https === null && heard.some((address) => !isLocal(address)))
    return fix(
      'web',
      'People sign in at this hub by plain http: their passwords go over the network in the clear.',
      'Start it with --https, or with --host 127.0.0.1 behind a proxy with TLS.',
    );
  return ok(
    'web',
    https === null ? 'The pages stay in the local network, by http.' : 'The pages are served by https, too.',
  );
}

/** A broker on this machine whose settings can be read: does it ask who comes, and what he may? */
function aclCheck(urls: readonly string[], folder: string): Check[] {
  const isHere = urls.some((url) => isLocal(new URL(url).hostname));
  const main = join(folder, 'mosquitto.conf');
  if (!isHere || !existsSync(main)) return [];
  const further = join(folder, 'conf.d');
  const files = [
    main,
    ...(existsSync(further)
      ? readdirSync(further)
          .filter((n) => n.endsWith('.conf'))
          .map((n) => join(further, n))
      : []),
  ];
  let lines: string[];
  try {
    lines = files.flatMap((file) => readFileSync(file, 'utf8').split('\n'));
  } catch {
    return [];
  }
  const setting = (name: string): string | undefined =>
    lines
      .findLast((line) => line.startsWith(`${name} `))
      ?.slice(name.length + 1)
      .trim();
  const acl = setting('acl_file');
  if (setting('allow_anonymous') === 'true')
    return [
      fix(
        'broker-rights',
        `The broker of this machine lets everybody in (allow_anonymous true, ${folder}).`,
        'Set allow_anonymous false, and a password_file (docs/mqtt.md, docs/firm.md).',
      ),
    ];
  if (acl === undefined || !existsSync(acl))
    return [
      fix(
        'broker-rights',
        acl === undefined
          ? `The broker of this machine asks no login what it may do (no acl_file in ${folder}): any of them can command any kit.`
          : `The rights of the broker of this machine are not there: ${acl}, named in ${folder}.`,
        'Write the rights of docs/mqtt.md (a bridge) or docs/firm.md (a hub) into a file, and name it in acl_file.',
      ),
    ];
  return [ok('broker-rights', `The broker of this machine goes by the rights in ${acl}.`)];
}

const isLocal = (host: string): boolean => ['127.0.0.1', 'localhost', '::1', '[::1]'].includes(host);
const hasLogin = (url: string): boolean => new URL(url).username !== '';

function isPlainAcross(url: string): boolean {
  const { protocol, hostname } = new URL(url);
  return (protocol === 'mqtt:' || protocol === 'ws:') && !isLocal(hostname);
}
