// A kit on the Wi-Fi, beside its broker: so many packs, 50 a second, each acknowledged. Prints `sent` after the last.
import { encodePack } from '../../../firmware-bridge/wire/encode.ts';
import { kitTopic } from '../../../firmware-bridge/wire/topics.ts';
import { sayNow } from '../../say-now.ts';
import { client } from '../mosquitto/broker.ts';

const [url = '', kit = '', packs = '0'] = process.argv.slice(2);
const far = await client(url);
for (let seq = 0; seq < Number(packs); seq++) {
  const pack = encodePack({ kit, boot: 1, seq, upS: seq / 50, values: { turbidityNtu: seq % 97 } });
  await far.publishAsync(kitTopic(kit, 'senml'), pack, { qos: 1 });
  await new Promise((resolve) => setTimeout(resolve, 20));
}
sayNow('sent');
await far.endAsync();
