// A page beside the rig, without a screen: the page's own way to the bridge, at a plain http stream. Prints `live` at each
// joining, and when it is told to end, the time of each row that it holds.
import { get } from 'node:http';
import { createLink, type LinkWorld, type Stream } from '../../../dashboards/shared/link.ts';
import { TraceBuffer } from '../../../dashboards/shared/trace-buffer.ts';
import { sayNow } from '../../say-now.ts';

const base = process.argv[2] ?? '';

function openStream(url: string): Stream {
  const hears = new Map<string, (data: string, id: string) => void>();
  const fail = (): void => hears.get('error')?.('', '');
  let waiting = '';
  let id = '';
  const request = get(`${base}${url}`, { agent: false }, (answer) => {
    if (answer.statusCode !== 200) return fail();
    answer.setEncoding('utf8').on('data', (text: string) => {
      waiting += text;
      for (let end = waiting.indexOf('\n\n'); end >= 0; end = waiting.indexOf('\n\n')) {
        const lines = waiting.slice(0, end).split('\n');
        waiting = waiting.slice(end + 2);
        const of = (key: string): string | undefined =>
          lines.find((line) => line.startsWith(`${key}: `))?.slice(key.length + 2);
        id = of('id') ?? id;
        hears.get(of('event') ?? '')?.(of('data') ?? '', of('id') ?? '');
      }
    });
    answer.on('close', fail).on('error', fail);
  });
  request.on('error', fail);
  return {
    on: (type, fn) => void hears.set(type, fn),
    close() {
      hears.clear();
      request.destroy();
    },
  };
}

const world: LinkWorld = {
  openStream,
  async fetchJson(url) {
    return await (await fetch(`${base}${url}`, { signal: AbortSignal.timeout(10_000) })).json();
  },
  nowMs: () => performance.now(),
  after(ms, fn) {
    const timer = setTimeout(fn, ms);
    return () => clearTimeout(timer);
  },
  random: Math.random,
};

const buffer = new TraceBuffer(20_000);
let snapshots = 0;
const link = createLink(world, {
  soon: () => undefined,
  snapshot(_view, all) {
    snapshots += 1;
    buffer.replace(all);
  },
  rows: (more) => buffer.append(more),
  view: () => undefined,
  beat: () => undefined,
  state: (state) => sayNow(state),
});
process.once('SIGTERM', () => {
  link.close();
  process.stdout.write(
    `${JSON.stringify({ snapshots, times: [...buffer.column('timeS').subarray(0, buffer.length)] })}\n`,
    () => process.exit(0),
  );
});
