// A process that writes to a store until it is killed. Prints a line for each thing that it knows to be kept:
// `event <id>` after the event is acknowledged, `flush <timeS> <monotonic ms>` after samples are committed.
import { writeSync } from 'node:fs';
import { openStore } from '../../src/store/open.ts';
import { emptySample } from '../../src/core/quantity/sample.ts';

const [folder = '', prefix = '', stopAt = ''] = process.argv.slice(2);
const say = (text: string): void => void writeSync(1, `${text}\n`);

const store = openStore(folder);
const run = store.openRun('r1');
if (!run) throw new Error('no run r1');
let timeS = run.lastTimeS();
let events = 0;
say('ready');
for (let i = 0; ; i++) {
  for (let k = 0; k < 20; k++) {
    timeS = Math.round((timeS + 0.1) * 10) / 10;
    run.appendSample({ ...emptySample(timeS), turbidityNtu: timeS * 10, flowLpm: k });
  }
  say(`offered ${timeS}`);
  run.flush();
  say(`flush ${timeS}`);
  if (i % 3 === 0) {
    events += 1;
    const id = `${prefix}-${events}`;
    const event = { timeS, event: 'agitate-end', emitter: 'hall', note: id };
    run.appendEvent({ id, event, who: 'loopback', wallAt: 'now' });
    say(`event ${id}`);
  }
  if (stopAt !== '' && i === Number(stopAt)) process.kill(process.pid, 'SIGKILL');
}
