// Opens a port as another user would, and prints the states as JSON lines until the first problem. Run by faults.long.test.ts.
import { serialTransport } from '../../../firmware-bridge/transport/serial.ts';
import { realClock } from '../../contracts/transport-clocks.ts';

const path = process.argv[2] ?? '';
const transport = serialTransport({ path, clock: realClock });
await transport.open({
  bytes: () => undefined,
  state: (state) => process.stdout.write(`${JSON.stringify(state)}\n`),
});
await transport.close();
