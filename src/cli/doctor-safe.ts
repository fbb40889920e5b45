import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Config } from '../run/config.ts';
import type { Check } from './commands/doctor.ts';

const ok = (id: string, text: string): Check => ({ id, state: 'ok', text, next: '' });
const fix = (id: string, text: string, next: string): Check => ({ id, state: 'fix', text, next });

/** What of an installation would let somebody in, or give something away. */
export function safetyChecks(config: Config, uid: number | null): Check[] {
  return [
    rootCheck(uid),
    keyCheck(config.data),
    passwordFileCheck(config.data),
    kitBrokerCheck(config),
    outletCheck(config),
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

/** Whether others on this machine may read it. Windows has no such modes. */
function isOpen(path: string): boolean {
  return process.platform !== 'win32' && existsSync(path) && (statSync(path).mode & 0o077) !== 0;
}

function keyCheck(data: string): Check {
  const folder = join(data, 'keys');
  if (!existsSync(folder)) return ok('key', 'There is no signing key yet; it is made with the first seal.');
  const open = readdirSync(folder).filter((name) => name.endsWith('.pem') && isOpen(join(folder, name)));
  return open.length === 0
    ? ok('key', 'The signing key can be read by its owner only.')
    : fix(
        'key',
        `Others on this machine can read the signing key (${open.join(', ')}) and sign in its name.`,
        `Run: chmod 600 ${open.map((name) => join(folder, name)).join(' ')} - and make a new key: what was signed since then proves nothing.`,
      );
}

function passwordFileCheck(data: string): Check {
  const open = ['limpid.json', 'hub.json'].map((name) => join(data, name)).filter(isOpen);
  return open.length === 0
    ? ok('settings', 'No settings file can be read by others.')
    : fix(
        'settings',
        `Others on this machine can read ${open.join(', ')}, which may hold passwords.`,
        `Run: chmod 600 ${open.join(' ')}`,
      );
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
  if (outlet.user === null)
    return fix(
      'outbox',
      'The firm’s broker is joined without a login: it cannot tell this rig from another.',
      'Ask the firm for the login of this rig.',
    );
  return ok('outbox', `The record goes to the firm as "${outlet.rig}", encrypted.`);
}

const isLocal = (host: string): boolean => ['127.0.0.1', 'localhost', '::1', '[::1]'].includes(host);

function isPlainAcross(url: string): boolean {
  const { protocol, hostname } = new URL(url);
  return (protocol === 'mqtt:' || protocol === 'ws:') && !isLocal(hostname);
}
