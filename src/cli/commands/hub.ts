import { type Command, dataOption, type Input } from '../command.ts';
import { secureDoor } from '../secure-door.ts';

/** The firm's end: collects what the rigs send, keeps it, and writes the time series, until Ctrl-C. */
export const hub: Command = {
  name: 'hub',
  summary: "Collect the runs of a firm's rigs from its broker, verified, and write their samples into a time series.",
  args: [],
  options: [
    { flags: '--broker <url>', about: "the firm's broker, MQTT 5 (mqtt://, mqtts://, ws://, wss://)" },
    { flags: '--series <url>', about: 'a server that speaks the Influx line protocol (http://, https://)' },
    { flags: '--database <name>', about: 'its database (default: limpid)' },
    { flags: '--name <name>', about: 'tells the hub processes of a firm apart; each needs its own (default: one)' },
    { flags: '--port <number>', about: "port of the office's page, health and measures (default: 8490)" },
    { flags: '--host <address>', about: 'address to listen on (default: this machine only)' },
    { flags: '--https [port]', about: "serve the page by https too, with a certificate of this machine's own" },
    { ...dataOption, about: "where the firm's records are kept (default: .limpid-hub in your home folder)" },
    { flags: '--config <file>', about: 'settings file (default: hub.json in the data folder)' },
  ],
  examples: [
    'limpid hub --broker mqtts://192.0.2.7',
    'limpid hub --broker mqtt://127.0.0.1 --series http://127.0.0.1:8086',
    'limpid hub --broker mqtt://127.0.0.1 --name two',
  ],
  run: collect,
};

async function collect({ options, out, webRoot, stopped }: Input): Promise<number> {
  const { config: file, ...flags } = options;
  const { defaultHubPort, readHubConfig } = await import('../../run/hub-config.ts');
  const config = readHubConfig(flags, process.env, typeof file === 'string' ? file : undefined);
  const [{ startHub }, { machineClock }, { HubDoor }] = await Promise.all([
    import('../../run/hub.ts'),
    import('../../run/clock.ts'),
    import('../hub-door.ts'),
  ]);
  const stopping = stopped();
  const https = config.https === null ? null : await secureDoor(config.data, config.https);
  const door = new HubDoor({ config, usual: defaultHubPort, https, webRoot, say: out.say });
  const running = await startHub(config, machineClock(), out.say, { keeps: (store) => door.opens(store) });
  let url: string;
  try {
    url = await door.listen(running);
  } catch (error) {
    await running.stop();
    throw error;
  }
  out.result(
    { health: url, data: config.data, name: config.name },
    [
      `The hub "${config.name}" collects from ${new URL(config.broker.url).host}; the records are kept in ${config.data}.`,
      config.series
        ? 'Samples go into the time series, too.'
        : 'No time series is set: samples are in the records only.',
      running.store() ? `The office's page: ${url}` : 'Another process keeps the store and shows the pages.',
      `Health and measures: ${url}/ready, ${url}/metrics`,
      'Ctrl-C stops; what the rigs send then waits at the broker.',
    ].join('\n'),
  );
  await stopping;
  out.say('Stopping ...');
  await door.close();
  await running.stop();
  return 0;
}
