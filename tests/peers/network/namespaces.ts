import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { until } from '../../contracts/transport-clocks.ts';

/** Namespaces need root, `ip` and `g++`. Where peers are required, root without `ip` is an error. */
export function hasNamespaces(): boolean {
  if (process.getuid?.() !== 0) return false;
  const found = spawnSync('ip', ['-V']).status === 0;
  if (!found && process.env['LIMPID_PEERS'] === 'required')
    throw new Error('LIMPID_PEERS=required, but ip is missing: apt-get install iproute2');
  // The bad cable is compiled.
  if (spawnSync('g++', ['--version']).status !== 0) return false;
  // A container may be root without the right to it.
  if (!found || spawnSync('ip', ['netns', 'add', probe]).status !== 0) return false;
  ip('netns', 'del', probe);
  return true;
}

const probe = `limpid-${process.pid}-probe`;

function ip(...words: string[]): void {
  const done = spawnSync('ip', words, { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(`ip ${words.join(' ')}: ${done.stderr}`);
}

export interface Started {
  readonly child: ChildProcess;
  /** What it wrote so far, both ways. */
  said(): string;
  stop(signal: 'SIGTERM' | 'SIGINT' | 'SIGKILL'): Promise<void>;
}

/** Machines, each in a network of its own, joined by a router between them. */
export class Networks {
  readonly #tag = `limpid-${process.pid}-${(count += 1)}`;
  readonly #names: string[];
  readonly #started: Started[] = [];
  readonly #cables: ChildProcess[] = [];
  readonly #addresses = new Map<string, string>();

  constructor(names: readonly string[]) {
    this.#names = [...names];
    ip('netns', 'add', this.#ns('router'));
    this.#in('router', ['sh', '-c', 'echo 1 > /proc/sys/net/ipv4/ip_forward']);
    for (const name of names) {
      ip('netns', 'add', this.#ns(name));
      ip('link', 'add', `v${this.#n(name)}`, 'netns', this.#ns('router'), 'type', 'veth', 'peer', 'name', 'e', 'netns', this.#ns(name)); // biome-ignore format: one command
      ip('-n', this.#ns('router'), 'addr', 'add', `10.99.${this.#n(name)}.1/24`, 'dev', `v${this.#n(name)}`);
      ip('-n', this.#ns('router'), 'link', 'set', `v${this.#n(name)}`, 'up');
      ip('-n', this.#ns(name), 'link', 'set', 'lo', 'up');
      ip('-n', this.#ns(name), 'link', 'set', 'e', 'gso_max_segs', '1', 'up');
      this.#settle(name, this.address(name));
    }
  }

  address(name: string): string {
    return `10.99.${this.#n(name)}.2`;
  }

  /** A process on that machine; resolves when what it writes holds `ready`. */
  async start(name: string, words: readonly string[], ready: string, withinS = 60): Promise<Started> {
    const child = spawn('ip', ['netns', 'exec', this.#ns(name), ...words], { stdio: ['pipe', 'pipe', 'pipe'] });
    let said = '';
    for (const stream of [child.stdout, child.stderr])
      stream.setEncoding('utf8').on('data', (text: string) => (said += text));
    const closed = once(child, 'close');
    const started: Started = {
      child,
      said: () => said,
      async stop(signal) {
        if (child.exitCode === null && child.signalCode === null) child.kill(signal);
        await closed;
      },
    };
    this.#started.push(started);
    await until(`${words.join(' ')} says "${ready}"`, () => said.includes(ready), withinS).catch((error: unknown) => {
      throw new Error(`${String(error)}; it said: ${said}`);
    });
    return started;
  }

  /** What a page of another machine's reads over http. */
  read(name: string, url: string): string {
    const script = `fetch(${JSON.stringify(url)}).then((a) => a.text()).then((t) => process.stdout.write(t))`;
    return this.#in(name, [process.execPath, '-e', script]);
  }

  /** The cable is out, or in again. */
  link(name: string, state: 'up' | 'down'): void {
    ip('-n', this.#ns('router'), 'link', 'set', `v${this.#n(name)}`, state);
  }

  /** Nothing comes to it, or nothing of it goes out; nobody is told. */
  silence(name: string, way: 'in' | 'out', isOn: boolean): void {
    const [subnet, router] = [`10.99.${this.#n(name)}.0/24`, this.#ns('router')];
    if (way === 'out') ip('-n', router, 'rule', isOn ? 'add' : 'del', 'from', subnet, 'blackhole');
    else ip('-n', router, 'rule', isOn ? 'add' : 'del', 'to', subnet, 'blackhole');
  }

  /**
   * From now on its cable loses a fiftieth of the frames, sends a tenth twice, and lets each wait up to 60 ms, so that they
   * overtake one another. Returns what tells at the end what was done.
   */
  async shuffle(name: string, seed: number): Promise<() => Promise<string>> {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-shuffle-'));
    const program = join(folder, 'shuffle');
    const built = spawnSync('g++', ['-O2', '-std=c++17', '-o', program, 'tests/peers/network/shuffle.cpp'], { encoding: 'utf8' }); // biome-ignore format: one command
    if (built.status !== 0) throw new Error(`g++: ${built.stderr}`);
    const [here, there] = [`r${process.pid % 100_000}-${this.#n(name)}`, `m${process.pid % 100_000}-${this.#n(name)}`];
    const child = spawn(program, [here, there, '0.02', '0.1', '60', String(seed)], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let said = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => (said += text));
    this.#cables.push(child);
    await until('the bad cable is ready', () => said.includes('ready'), 10);
    rmSync(folder, { recursive: true });
    const [router, own] = [this.#ns('router'), this.#ns(name)];
    const address = this.#addresses.get(name) ?? this.address(name);
    ip('-n', router, 'link', 'del', `v${this.#n(name)}`);
    ip('link', 'set', here, 'netns', router, 'name', `v${this.#n(name)}`);
    ip('link', 'set', there, 'netns', own, 'name', 'e');
    ip('-n', router, 'addr', 'add', `10.99.${this.#n(name)}.1/24`, 'dev', `v${this.#n(name)}`);
    ip('-n', router, 'link', 'set', `v${this.#n(name)}`, 'up');
    ip('-n', own, 'link', 'set', 'e', 'up');
    this.#settle(name, address);
    return async () => {
      const closed = once(child, 'close');
      child.kill('SIGTERM');
      await closed;
      return said.trim().split('\n').at(-1) ?? '';
    };
  }

  /** It gets another address, as from a router that was restarted; its connections are dead without a word. */
  readdress(name: string, last: number): void {
    ip('-n', this.#ns(name), 'addr', 'flush', 'dev', 'e');
    this.#settle(name, `10.99.${this.#n(name)}.${last}`);
  }

  /** Larger packets vanish on the way, and nobody is told. */
  largest(name: string, bytes: number): void {
    ip('-n', this.#ns('router'), 'link', 'set', `v${this.#n(name)}`, 'mtu', String(bytes));
  }

  async dispose(): Promise<void> {
    for (const started of this.#started) await started.stop('SIGKILL');
    for (const cable of this.#cables) cable.kill('SIGKILL');
    for (const name of [...this.#names, 'router']) ip('netns', 'del', this.#ns(name));
  }

  #settle(name: string, address: string): void {
    this.#addresses.set(name, address);
    ip('-n', this.#ns(name), 'addr', 'add', `${address}/24`, 'dev', 'e');
    ip('-n', this.#ns(name), 'route', 'replace', 'default', 'via', `10.99.${this.#n(name)}.1`);
  }

  #n(name: string): number {
    return this.#names.indexOf(name) + 1;
  }

  #ns(name: string): string {
    return `${this.#tag}-${name}`;
  }

  #in(name: string, words: readonly string[]): string {
    const done = spawnSync('ip', ['netns', 'exec', this.#ns(name), ...words], { encoding: 'utf8', timeout: 20_000 });
    return done.stdout;
  }
}

let count = 0;
