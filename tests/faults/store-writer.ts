// A process that writes to a store until it is killed. Prints a line for each thing that it knows to be kept:
// `event <id>` after the event is acknowledged, `flush <timeS>` after samples are committed. Kills itself at its Nth
// step of writing, when N is given: before a statement, before a commit, after a commit.
import { Database } from '../../src/store/database.ts';
import { openStore } from '../../src/store/open.ts';
import { emptySample } from '../../src/core/quantity/sample.ts';
import { sayNow } from '../say-now.ts';

const [folder = '', prefix = '', diesAt = ''] = process.argv.slice(2);

let steps = 0;
function step(): void {
  steps += 1;
  if (steps === Number(diesAt)) process.kill(process.pid, 'SIGKILL');
}
// oxlint-disable-next-line typescript/unbound-method -- called with their own database below
const { statement, transaction } = Database.prototype;
Database.prototype.statement = function (sql) {
  const inner = statement.call(this, sql);
  return {
    rows: (...values) => inner.rows(...values),
    run: (...values) => {
      step();
      inner.run(...values);
    },
  };
};
Database.prototype.transaction = function (sync, work) {
  transaction.call(this, sync, () => {
    work();
    step();
  });
  step();
};

const store = openStore(folder);
const run = store.openRun('r1');
if (!run) throw new Error('no run r1');
let timeS = run.lastTimeS();
let events = 0;
sayNow('ready');
for (let i = 0; ; i++) {
  for (let k = 0; k < 20; k++) {
    timeS = Math.round((timeS + 0.1) * 10) / 10;
    run.appendSample({ ...emptySample(timeS), turbidityNtu: (timeS * 10) % 1000, flowLpm: k });
  }
  sayNow(`offered ${timeS}`);
  run.flush();
  sayNow(`flush ${timeS}`);
  if (i % 3 === 0) {
    events += 1;
    const id = `${prefix}-${events}`;
    const event = { timeS, event: 'agitate-end', emitter: 'hall', note: id };
    run.appendEvent({ id, event, who: 'loopback', wallAt: 'now' });
    sayNow(`event ${id}`);
  }
}
