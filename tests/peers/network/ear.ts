// A bridge's ear at a broker of the user's, in a process of its own. Prints the number of each pack that it is given.
import { mqttTransport } from '../../../firmware-bridge/transport/mqtt.ts';
import { WireReader } from '../../../firmware-bridge/wire/wire-reader.ts';
import { say } from '../../../src/core/message/message.ts';
import { realClock } from '../../contracts/transport-clocks.ts';
import { sayNow } from '../../say-now.ts';

const reader = new WireReader();
const transport = mqttTransport({
  url: process.argv[2] ?? '',
  clientId: 'bridge1',
  clock: realClock,
  hearing: reader.counters,
});
await transport.open({
  bytes: () => undefined,
  message(topic, payload) {
    for (const decoded of reader.message(topic, payload)) if (decoded.ok) sayNow(`pack ${decoded.pack.seq}`);
  },
  state: (state) => sayNow('problem' in state ? say(state.problem) : state.kind),
});
