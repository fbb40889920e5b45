import { randomInt } from 'node:crypto';
import { renderUnicodeCompact } from 'uqr';
import type { Bridge } from '../../run/bridge.ts';
import { defaultHttpsPort, defaultPort, readConfig } from '../../run/config.ts';
import type { RunningServer } from '../../server/app.ts';
import { lanAddresses, listenOn } from '../../server/listen.ts';
import { type Command, dataOption, type Input } from '../command.ts';
import { secureDoor } from '../secure-door.ts';

/** The bridge: live run, record and pages, until Ctrl-C. */
export const start: Command = {
  name: 'start',
  summary: 'Start the bridge: readings in, verdicts on the tablet, everything kept.',
  args: [],
  options: [
    { flags: '--serial <port>', about: 'read a kit on this serial port (limpid ports lists them)' },
    { flags: '--baud <rate>', about: 'speed of the serial port (default: 115200)' },
    { flags: '--mqtt <url>', about: 'read kits at this broker (mqtt://, mqtts://, ws://, wss://)' },
    { flags: '--broker [port]', about: 'run a broker inside and read the kits that join it (default port: 1883)' },
    { flags: '--mapping <file>', about: 'how to read a kit that does not speak the wire (docs/mapping.md)' },
    { flags: '--replay <recording>', about: 'play a recording folder instead of a kit' },
    { flags: '--simulate <scenario>', about: 'simulated rig (default: rehearsal, when no other source is named)' },
    {
      flags: '--kit <kind>',
      about: 'kit of the simulated rig: virtual, or firmware (the real binary in a simulated chip)',
    },
    { flags: '--seed <number>', about: 'which of the endless variants of the scenario (default: 1)' },
    { flags: '--speed <times>', about: 'speed of a replay or of the simulated rig, up to 1000 (default: 1)' },
    { flags: '--context <file>', about: 'what is known of the system: a file like the context.json of a recording' },
    { flags: '--survey <file>', about: 'survey of an earlier visit as a table: a new run begins with it' },
    { flags: '--new', about: 'begin a new run although one is under way' },
    { flags: '--port <number>', about: `port of the pages (default: ${defaultPort}, or the next free one)` },
    {
      flags: '--https [port]',
      about: `serve the pages by https too, with a certificate of this bridge's own (default port: ${defaultHttpsPort}; docs/tablet.md)`,
    },
    { flags: '--host <address>', about: 'address to listen on (default: all of this machine)' },
    { flags: '--outbox <url>', about: "send the record to the firm's broker, too (docs/firm.md)" },
    { flags: '--rig <name>', about: 'what the firm calls this rig: its login at that broker' },
    dataOption,
    { flags: '--config <file>', about: 'settings file (default: limpid.json in the data folder)' },
  ],
  examples: [
    'limpid start',
    'limpid start --serial /dev/serial/by-id/usb-kit-if00',
    'limpid start --mqtt mqtt://192.0.2.7:1883',
    'limpid start --broker',
    'limpid start --simulate rehearsal --speed 10',
    'limpid start --kit firmware',
    'limpid start --replay old-run --speed 20',
  ],
  run: startAndWait,
};

async function startAndWait({ options, out, webRoot, stopped }: Input): Promise<number> {
  const { config: file, ...flags } = options;
  const config = readConfig(flags, process.env, typeof file === 'string' ? file : undefined);
  const { startBridge } = await import('../../run/bridge.ts');
  const { startServer } = await import('../../server/app.ts');
  // Asked for from the beginning: a stop during the start counts too.
  const stopping = stopped();
  const bridge = await startBridge(config, out.say);
  let server: RunningServer;
  const code = String(randomInt(100_000, 1_000_000));
  const https = config.https === null ? null : await secureDoor(config.data, config.https);
  try {
    server = await listenOn(config.port, defaultPort, config.host, (port) =>
      startServer({
        host: config.host,
        port,
        bridge: bridge.port,
        record: bridge.record,
        bench: bridge.bench,
        health: bridge.health,
        audit: bridge.audit,
        webRoot,
        pairing: { code },
        dataFolder: config.data,
        log: out.say,
        ...(https === null ? {} : { https }),
      }),
    );
  } catch (error) {
    await bridge.stop();
    throw error;
  }
  const addresses = isAnywhere(config.host) ? lanAddresses() : [];
  const lan = addresses.map((address) => `http://${address}:${server.port}`);
  const secure = addresses.map((address) => `https://${address}:${server.httpsPort}`);
  if (config.port === null && server.port !== defaultPort)
    out.say(`Port ${defaultPort} is in use by another program; taken instead: ${server.port}.`);
  for (const remark of bridge.remarks) out.say(remark);
  out.result(
    {
      url: server.url,
      lan,
      https: server.httpsPort === null ? [] : secure,
      port: server.port,
      code,
      run: bridge.head.runId,
      resumed: bridge.resumed,
      data: config.data,
    },
    welcome(bridge, server.url, { lan, secure: server.httpsPort === null ? [] : secure }, code, config.data),
  );
  await stopping;
  out.say('Stopping ...');
  await server.close();
  const next = bridge.isOver() ? 'it is over, and limpid start begins a new one' : 'limpid start goes on with it';
  await bridge.stop();
  out.say(`Stopped. The run ${bridge.head.runId} is kept in ${config.data}; ${next}.`);
  return 0;
}

const isAnywhere = (host: string): boolean => host === '0.0.0.0' || host === '::';

interface Reached {
  readonly lan: readonly string[];
  readonly secure: readonly string[];
}

function welcome(bridge: Bridge, url: string, { lan, secure }: Reached, code: string, data: string): string {
  const first = lan[0];
  return [
    '',
    `Limpid is ready. ${bridge.resumed ? 'The run goes on' : 'A new run has begun'}: ${bridge.head.title} (${bridge.head.runId}).`,
    `Readings come from ${bridge.source}. The record is kept in ${data}.`,
    '',
    `  On this machine:  ${url}`,
    ...lan.map((address) => `  On a tablet:      ${address}`),
    ...secure.map((address, i) => `  By https:         ${address} (told to the tablet once: ${lan[i]}/trust.html)`),
    ...(first ? ['', renderUnicodeCompact(first, { border: 2 })] : []),
    '',
    `  Pairing code, asked for by a tablet that wants to write: ${code}`,
    '',
    'Ctrl-C stops; the run goes on at the next start.',
  ].join('\n');
}
