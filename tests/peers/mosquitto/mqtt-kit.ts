import { type IClientOptions, type MqttClient } from 'mqtt';
import type { PipePeer } from '../../../firmware-bridge/transport/pipe-peer.ts';
import { kitTopic, topicName } from '../../../firmware-bridge/wire/topics.ts';
import { client } from './broker.ts';

/**
 * A kit in software, put on the Wi-Fi: each line that it would print is published as a pack, each command that comes is
 * handed to it. Client id and will are as docs/mqtt.md asks for.
 */
export async function joinKit(
  peer: PipePeer,
  kit: string,
  url: string,
  options: IClientOptions = {},
): Promise<MqttClient> {
  const made = await client(url, {
    clientId: topicName(kit),
    will: { topic: kitTopic(kit, 'state'), payload: Buffer.from('lost'), qos: 1, retain: true },
    ...options,
  });
  made.on('message', (_topic, payload) => peer.fromBridge(Buffer.concat([payload, Buffer.from('\n')])));
  await made.subscribeAsync(kitTopic(kit, 'do'), { qos: 1 });
  await made.publishAsync(kitTopic(kit, 'state'), 'ready', { qos: 1, retain: true });
  peer.start((bytes) => {
    const line = Buffer.from(bytes).toString().trimEnd();
    made.publish(kitTopic(kit, 'senml'), line.slice(0, line.lastIndexOf('*')), { qos: 1 });
  });
  return made;
}
