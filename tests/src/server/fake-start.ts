// The page against the fake bridge, for work on the page alone: npx tsx tests/src/server/fake-start.ts [port]
import { startServer } from '../../../src/server/app.ts';
import { createFakeBridge } from './fake-bridge.ts';

const bridge = createFakeBridge();
const port = Number(process.argv[2] ?? 8481);
const server = await startServer({ host: '127.0.0.1', port, bridge, webRoot: 'dist/web', pairing: { code: '123456' } });
bridge.play(60);
const play = setInterval(() => bridge.play(0.1), 100);
const beat = setInterval(() => bridge.beat(), 1000);
console.log(server.url);
process.on('SIGINT', () => {
  clearInterval(play);
  clearInterval(beat);
  void server.close();
});
