import { say } from '../../core/message/message.ts';
import { type Command, dataOption, type Input } from '../command.ts';

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
    { flags: '--port <number>', about: 'port of health and measures (default: 8490)' },
    { flags: '--host <address>', about: 'address to listen on (default: this machine only)' },
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

async function collect({ options, out, stopped }: Input): Promise<number> {
  const { config: file, ...flags } = options;
  const { defaultHubPort, readHubConfig } = await import('../../run/hub-config.ts');
  const config = readHubConfig(flags, process.env, typeof file === 'string' ? file : undefined);
  const [{ startHub }, { machineClock }, { hubMeasures }, { startHealth }] = await Promise.all([
    import('../../run/hub.ts'),
    import('../../run/clock.ts'),
    import('../../run/hub-measures.ts'),
    import('../../server/health.ts'),
  ]);
  const stopping = stopped();
  const running = await startHub(config, machineClock(), out.say);
  const health = await startHealth(config.host, config.port, defaultHubPort, {
    measures: () => hubMeasures(running.state(), running.aside().length, process.memoryUsage.rss()),
    problems: () => running.state().problems.map(say),
  }).catch(async (error: unknown) => {
    await running.stop();
    throw error;
  });
  out.result(
    { health: health.url, data: config.data, name: config.name },
    [
      `The hub "${config.name}" collects from ${new URL(config.broker.url).host}; the records are kept in ${config.data}.`,
      config.series
        ? 'Samples go into the time series, too.'
        : 'No time series is set: samples are in the records only.',
      `Health and measures: ${health.url}/ready, ${health.url}/metrics`,
      'Ctrl-C stops; what the rigs send then waits at the broker.',
    ].join('\n'),
  );
  await stopping;
  out.say('Stopping ...');
  await health.close();
  await running.stop();
  for (const { rig, why, times } of running.aside()) out.say(`Set aside of rig ${rig} (${times} times): ${say(why)}`);
  return 0;
}
