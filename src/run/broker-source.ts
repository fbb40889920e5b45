import { shownUrl } from '../../firmware-bridge/transport/mqtt-faults.ts';
import { say } from '../core/message/message.ts';
import { machineClock } from './clock.ts';
import type { Source } from './config.ts';
import { mappedLink } from './mapping-file.ts';
import type { OpenSource } from './source.ts';

type Mqtt = Extract<Source, { kind: 'mqtt' }>;
type Inside = Extract<Source, { kind: 'broker' }>;

const aKit = { simulated: false, title: '', context: null, obey: null } as const;

/** Kits at a broker of the user's. `installation` tells this bridge from others there. */
export async function mqttSource(source: Mqtt, installation: string): Promise<OpenSource> {
  const { mqttTransport } = await import('../../firmware-bridge/transport/mqtt.ts');
  const clock = machineClock();
  const mapped = source.mapping === null ? null : mappedLink(source.mapping, 'broker', clock);
  const { url, user, password } = source;
  return {
    ...aKit,
    name: `the kits on the broker ${shownUrl(url)}`,
    clock,
    reader: mapped?.reader ?? null,
    async open(to) {
      const transport = mqttTransport({
        url,
        user: user ?? undefined,
        password: password ?? undefined,
        clientId: `limpid${installation}`,
        clock,
        foreign: mapped?.topics ?? undefined,
        hearing: to.hearing,
        refusals: to.refusals,
      });
      await transport.open(to);
      return transport;
    },
  };
}

/** Kits at a broker inside this process. It runs from here on, so that a port in use is told before anything is begun. */
export async function insideSource(source: Inside, log: (line: string) => void): Promise<OpenSource> {
  const { startBroker } = await import('../../firmware-bridge/transport/broker.ts');
  const { mqttTransport } = await import('../../firmware-bridge/transport/mqtt.ts');
  const clock = machineClock();
  const mapped = source.mapping === null ? null : mappedLink(source.mapping, 'broker', clock);
  const { user, password, host, port } = source;
  const login = user === null && password === null ? null : { user: user ?? '', password: password ?? '' };
  const foreign = mapped?.topics ?? undefined;
  const broker = await startBroker({
    host,
    port,
    login,
    foreign: foreign ?? null,
    clock,
    told: (problem) => log(say(problem)),
  });
  return {
    ...aKit,
    name: `the kits on the broker inside, port ${broker.port}`,
    clock,
    reader: mapped?.reader ?? null,
    remarks: [
      say({ code: 'broker-inside', params: { port: broker.port } }),
      ...(login ? [] : [say({ code: 'broker-open', params: {} })]),
    ],
    giveUp: () => broker.close(),
    async open(to) {
      const transport = mqttTransport({ ...broker.bridge, clock, foreign, hearing: to.hearing, refusals: to.refusals });
      await transport.open(to);
      return {
        send: (bytes, kit) => transport.send(bytes, kit),
        async close() {
          await transport.close();
          await broker.close();
        },
      };
    },
  };
}
