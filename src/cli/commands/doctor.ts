import { fileURLToPath } from 'node:url';
import { type Command, dataOption, type Input } from '../command.ts';
import type { Check } from '../check.ts';
import { readConfig } from '../../run/config.ts';

/** Looks at all that a bridge or a hub needs. */
export const doctor: Command = {
  name: 'doctor',
  summary: 'Look at all that a bridge needs, at its kit and at what is unsafe, and say what to do.',
  args: [],
  options: [
    dataOption,
    { flags: '--port <number>', about: 'port of the pages to look at' },
    { flags: '--serial <port>', about: 'the serial port of the kit to look at, where the settings do not name it' },
    { flags: '--baud <rate>', about: 'its speed (default: 115200)' },
    { flags: '--mqtt <url>', about: 'the broker of the kits to look at' },
    { flags: '--backup <folder>', about: 'a backup, or several with commas between: is the newest one new enough?' },
    { flags: '--hub', about: 'look at a hub, by its settings, instead of a bridge' },
  ],
  examples: [
    'limpid doctor',
    'limpid doctor --serial /dev/ttyUSB0',
    'limpid doctor --backup /mnt/usb/limpid',
    'limpid doctor --hub',
    'limpid doctor --json > for-support.json',
  ],
  async run(input) {
    const checks = await (input.options['hub'] === true ? hubChecks(input) : bridgeChecks(input));
    const words = { ok: 'ok     ', fix: 'FIX    ', unknown: 'unknown' };
    const lines = checks.flatMap((c) => [`${words[c.state]}  ${c.text}`, ...(c.next ? [`         ${c.next}`] : [])]);
    const toFix = checks.filter((c) => c.state === 'fix').length;
    lines.push('', toFix === 0 ? 'Nothing to fix.' : `${toFix} to fix.`);
    input.out.result({ checks, to_fix: toFix }, lines.join('\n'));
    return toFix === 0 ? 0 : 1;
  },
};

async function bridgeChecks(input: Input): Promise<Check[]> {
  const { backup: _backup, hub: _hub, ...flags } = input.options;
  const config = readConfig(flags, process.env);
  const { serialChecks } = await import('../doctor-checks.ts');
  const { kitChecks } = await import('../doctor-kit.ts');
  const { safetyChecks } = await import('../doctor-safe.ts');
  const { defaultPort } = await import('../../run/config.ts');
  const kit = await kitChecks(config, defaultPort);
  return [
    ...(await commonChecks(input, config, defaultPort, { outbox_ca: config.outlet?.ca ?? null })),
    // Which ports there are is asked where no kit is named.
    ...(kit.length > 0 ? kit : await serialChecks()),
    ...safetyChecks(config, await thisMachine()),
  ];
}

async function hubChecks(input: Input): Promise<Check[]> {
  const { backup: _backup, hub: _hub, ...flags } = input.options;
  const { defaultHubPort, readHubConfig } = await import('../../run/hub-config.ts');
  const config = readHubConfig(flags, process.env);
  const { hubSafetyChecks } = await import('../doctor-safe.ts');
  return [
    ...(await commonChecks(input, config, defaultHubPort, { broker_ca: config.broker.ca ?? null })),
    ...hubSafetyChecks(config, await thisMachine()),
  ];
}

async function commonChecks(
  { options, webRoot }: Input,
  config: { readonly data: string; readonly port: number | null; readonly host: string },
  usualPort: number,
  given: Readonly<Record<string, string | null>>,
): Promise<Check[]> {
  const look = await import('../doctor-checks.ts');
  const { backupCheck, builtMs, clockCheck } = await import('../doctor-age.ts');
  const { certificateChecks } = await import('../doctor-files.ts');
  const store = look.storeCheck(config.data);
  const now = Date.now();
  const backups = typeof options['backup'] === 'string' ? options['backup'].split(',').filter(Boolean) : [];
  return [
    look.nodeCheck(process.versions.node),
    look.pagesCheck(webRoot),
    look.folderCheck(config.data),
    look.spaceCheck(config.data),
    store.check,
    await look.portCheck(config.port, config.host, usualPort),
    clockCheck(now, builtMs(fileURLToPath(import.meta.url)), Math.max(0, ...store.runsMs)),
    backupCheck(backups, store.runsMs.length > 0, now),
    ...certificateChecks(config.data, given, now),
  ];
}

async function thisMachine() {
  const { lanAddresses } = await import('../../server/listen.ts');
  return { uid: process.getuid?.() ?? null, addresses: lanAddresses(), brokerFolder: '/etc/mosquitto' };
}
