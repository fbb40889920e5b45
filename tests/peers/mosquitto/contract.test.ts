import { describe } from 'vitest';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { transportContract } from '../../contracts/transport.contract.ts';
import { client, hasMosquitto, mosquitto } from './broker.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';

describe.skipIf(!hasMosquitto())('over a real broker (mosquitto)', () => {
  for (const version of [5, 4] as const)
    transportContract(`MQTT ${version === 5 ? '5' : '3.1.1'}`, async () => {
      const broker = await mosquitto();
      const far = await client(broker.url, { protocolVersion: version });
      const got: Uint8Array[] = [];
      far.on('message', (_topic, payload) => got.push(payload));
      await far.subscribeAsync(kitTopic(kit, 'do'), { qos: 1 });
      return {
        transport: mqttTransport({ url: broker.url, clientId: 'bridge1', kit, version, clock: realClock }),
        send: async (chunks) => {
          await Promise.all(
            chunks.map((bytes) => far.publishAsync(kitTopic(kit, 'senml'), Buffer.from(bytes), { qos: 1 })),
          );
        },
        received: () => Buffer.concat(got),
        dispose: async () => {
          await far.endAsync(true);
          await broker.dispose();
        },
      };
    });
});
