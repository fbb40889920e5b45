import { afterEach, describe, expect, test } from 'vitest';
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { realClock, until } from '../../contracts/transport-clocks.ts';
import { client, hasMosquitto, mosquitto } from './broker.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';
const rounds = 12;
const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())('a long day with a broker that is restarted again and again', () => {
  for (const version of [5, 4] as const)
    test(`MQTT ${version === 5 ? '5' : '3.1.1'}: of ${rounds} restarts, the bridge now and then away too, no pack is lost or doubled`, async () => {
      const broker = await mosquitto();
      ends.push(() => broker.dispose());
      const reader = new WireReader();
      const seqs: number[] = [];
      const bridge = mqttTransport({ url: broker.url, clientId: 'bridge1', version, clock: realClock });
      ends.push(() => bridge.close());
      const listener = {
        bytes: () => undefined,
        state: () => undefined,
        message: (topic: string, payload: Uint8Array) => {
          for (const decoded of reader.message(topic, payload)) if (decoded.ok) seqs.push(decoded.pack.seq);
        },
      };
      await bridge.open(listener);
      const far = await client(broker.url, { clientId: 'kit', protocolVersion: version });
      ends.push(() => far.endAsync(true));
      let seq = 0;
      const acknowledged: Promise<unknown>[] = [];
      const beat = setInterval(() => {
        const pack = encodePack({ kit, boot: 1, seq, upS: seq / 100, values: { turbidityNtu: 40 } });
        acknowledged.push(far.publishAsync(kitTopic(kit, 'senml'), pack, { qos: 1 }));
        seq++;
      }, 10);
      ends.push(() => clearInterval(beat));
      for (let round = 0; round < rounds; round++) {
        const isAway = round % 4 === 3;
        if (isAway) await bridge.close();
        await broker.stop();
        await new Promise((resolve) => setTimeout(resolve, (round * 37) % 200));
        await broker.start();
        if (isAway) await bridge.open(listener);
        const before = seqs.length;
        await until(`packs come again in round ${round}`, () => seqs.length > before + 5, 60);
        // A broker that ends three connections within seconds of their beginning would be taken for a second client.
        await new Promise((resolve) => setTimeout(resolve, 5100));
      }
      clearInterval(beat);
      await Promise.all(acknowledged);
      await until('the last pack', () => seqs.length >= seq, 60);
      expect(seqs.toSorted((a, b) => a - b)).toEqual(Array.from({ length: seq }, (_, i) => i));
      expect(reader.counters.missing).toBe(0);
    });
});
