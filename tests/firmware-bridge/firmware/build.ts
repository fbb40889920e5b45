import { execFileSync, spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';

const folder = 'firmware-bridge/firmware';

function has(command: string): boolean {
  return spawnSync('sh', ['-c', `command -v ${command}`]).status === 0;
}

/** Missing tools are skipped by name; where peers are required (CI) they are an error instead. */
function missing(commands: readonly string[], how: string): string | null {
  const absent = commands.filter((c) => !has(c));
  if (absent.length === 0) return null;
  const text = `missing: ${absent.join(', ')}. To have it: ${how}`;
  if (process.env['LIMPID_PEERS'] === 'required') throw new Error(text);
  return text;
}

export const noHost = missing(['make', 'g++'], 'apt-get install make g++');
export const noAvr = missing(['make', 'avr-g++'], 'apt-get install make gcc-avr avr-libc binutils-avr');

/** The portable core on this machine, under address and undefined-behaviour sanitizers. */
export function hostKit(words: readonly string[], input: string): string {
  execFileSync('make', ['-s', 'host'], { cwd: folder });
  return execFileSync(`${folder}/build/kit-host`, words, { input, encoding: 'utf8', maxBuffer: 256 << 20 });
}

/** The firmware of the ATmega328P-class board, as Intel HEX. */
export function avrHex(): string {
  execFileSync('make', ['-s', 'avr'], { cwd: folder });
  return readFileSync(`${folder}/build/kit.hex`, 'utf8');
}

export interface Size {
  readonly program: number;
  readonly data: number;
  /** The deepest that calls and one handler can get. */
  readonly stack: number;
}

export function avrSize(): Size {
  const text = execFileSync('make', ['-s', 'avr'], { cwd: folder, encoding: 'utf8' });
  const [program = Number.NaN, data = Number.NaN, stack = Number.NaN] = [...text.matchAll(/(\d+) bytes/g)].map((m) =>
    Number(m[1]),
  );
  return { program, data, stack };
}
