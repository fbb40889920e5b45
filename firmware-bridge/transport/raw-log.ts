import { appendFile, mkdir, readFile, rename, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { TimedBytes } from './replay.ts';
import type { TransportProblem } from './transport.ts';

const newest = 'raw.log';
const older = 'raw.1.log';
/** Gathered for this many bytes before they are handed to the disk. */
const batchBytes = 16 * 1024;

/**
 * Every byte of a link with the bridge's time of its arrival: to see what a kit really said, and to replay it. Two files
 * that take turns hold at most `mostBytes` together; the oldest bytes go first. Each line is a time in seconds, TAB, and
 * the bytes as a JSON string (one letter per byte), so that it can be searched with plain tools.
 */
export class RawLog {
  readonly #folder: string;
  readonly #halfBytes: number;
  #waiting = '';
  #size: number | null = null;
  #work: Promise<void> = Promise.resolve();
  #problem: TransportProblem | null = null;

  constructor(folder: string, mostBytes = 64 * 1024 * 1024) {
    this.#folder = folder;
    this.#halfBytes = mostBytes / 2;
  }

  /** Why nothing is written any more (disk full, folder gone), or null. The link itself goes on. */
  get problem(): TransportProblem | null {
    return this.#problem;
  }

  write(chunk: Uint8Array, atS: number): void {
    if (this.#problem !== null) return;
    this.#waiting += `${atS.toFixed(6)}\t${JSON.stringify(Buffer.from(chunk).toString('latin1'))}\n`;
    if (this.#waiting.length >= batchBytes) this.#hand();
  }

  /** All that was written so far is with the system when this resolves. */
  flush(): Promise<void> {
    this.#hand();
    return this.#work;
  }

  #hand(): void {
    const text = this.#waiting;
    this.#waiting = '';
    if (text === '') return;
    this.#work = this.#work.then(() => this.#append(text));
  }

  async #append(text: string): Promise<void> {
    const file = join(this.#folder, newest);
    try {
      if (this.#size === null) {
        await mkdir(this.#folder, { recursive: true });
        this.#size = await sizeOf(file);
      }
      const bytes = Buffer.from(text, 'utf8');
      if (this.#size + bytes.length > this.#halfBytes && this.#size > 0) {
        await rename(file, join(this.#folder, older));
        this.#size = 0;
      }
      await appendFile(file, bytes);
      this.#size += bytes.length;
    } catch (error) {
      const what = error instanceof Error ? error.message : String(error);
      this.#problem = { code: 'transport-raw-log', params: { folder: this.#folder, what } };
    }
  }
}

async function sizeOf(file: string): Promise<number> {
  try {
    return (await stat(file)).size;
  } catch {
    return 0;
  }
}

const line = /^(\d+\.\d{6})\t(".*")$/;

/** The bytes of a raw log in their order. A line that a power cut left half-written is passed over. */
export async function* readRawLog(folder: string): AsyncGenerator<TimedBytes> {
  for (const name of [older, newest]) {
    for (const text of (await textOf(join(folder, name))).split('\n')) {
      const found = line.exec(text);
      if (found) yield { atS: Number(found[1]), bytes: latin1(found[2] ?? '""') };
    }
  }
}

function latin1(json: string): Uint8Array {
  const text: unknown = JSON.parse(json);
  return Buffer.from(String(text), 'latin1');
}

async function textOf(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8');
  } catch {
    return '';
  }
}
