import { causeOf } from '../core/message/cause.ts';
import { closeSync, openSync, readFileSync, readSync, statSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { Problem } from '../core/message/problem.ts';

const chunkBytes = 1 << 20;
const lineFeed = 10;
const carriageReturn = 13;
const byteOrderMark: readonly number[] = [0xef, 0xbb, 0xbf];

export interface LineLimits {
  readonly maxBytes: number;
  readonly maxLineLength: number;
}

function reason(error: unknown): string {
  return causeOf(error);
}

/** Is it there at all, as a file? Throws Problem when it cannot be looked at. */
export function isFile(path: string): boolean {
  try {
    return statSync(path, { throwIfNoEntry: false })?.isFile() ?? false;
  } catch (error) {
    // What was given for its folder is a file: a report, a zip.
    if (error instanceof Error && 'code' in error && error.code === 'ENOTDIR') return false;
    throw new Problem('recording-unreadable', { file: path, detail: reason(error) }, { cause: error });
  }
}

/** Opens a file that is not too large. Throws Problem. */
function open(path: string, maxBytes: number): number {
  const file = basename(path);
  try {
    const { size } = statSync(path);
    if (size > maxBytes)
      throw new Problem('recording-too-large', { file, found: `${size} bytes`, expected: `${maxBytes} bytes` });
    return openSync(path, 'r');
  } catch (error) {
    if (error instanceof Problem) throw error;
    throw new Problem('recording-unreadable', { file, detail: reason(error) }, { cause: error });
  }
}

/** UTF-16 and UTF-32 betray themselves by their mark, they and binary files by zero bytes near the start. */
function refuseOtherEncodings(file: string, bytes: Uint8Array): void {
  const [a, b] = bytes;
  const found =
    (a === 0xff && b === 0xfe) || (a === 0xfe && b === 0xff)
      ? 'UTF-16'
      : bytes.subarray(0, 16).includes(0)
        ? 'zero bytes'
        : null;
  if (found) throw new Problem('recording-encoding', { file, line: 1, found });
}

/** One line of a file, still in bytes: of a long recording nearly all are plain numbers and need no text. Holds while it is taken. */
export interface Line {
  readonly bytes: Uint8Array;
  /** Its first byte, and the one after its last. */
  readonly from: number;
  readonly to: number;
  readonly number: number;
  /** Whether its end was written, too. */
  readonly isEnded: boolean;
  /** Throws Problem where its bytes are no UTF-8. */
  readonly text: string;
}

class LineAtHand implements Line {
  from = 0;
  to = 0;
  number = 0;
  isEnded = true;
  readonly bytes: Uint8Array;
  readonly #file: string;
  readonly #decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

  constructor(bytes: Uint8Array, file: string) {
    this.bytes = bytes;
    this.#file = file;
  }

  get text(): string {
    try {
      return this.#decoder.decode(this.bytes.subarray(this.from, this.to));
    } catch (error) {
      const params = { file: this.#file, line: this.number, found: 'bytes of another' };
      throw new Problem('recording-encoding', params, { cause: error });
    }
  }
}

/**
 * The lines of a UTF-8 file, one after another, without their ends (LF or CR LF) and without a byte order mark. Holds no
 * more than a piece of the file at a time. Returns the file's size and SHA-256. Throws Problem: unreadable, too large,
 * wrong encoding.
 */
export function eachLine(
  path: string,
  limits: LineLimits,
  take: (line: Line) => void,
): { bytes: number; sha256: string } {
  const file = basename(path);
  const hash = createHash('sha256');
  const buffer = new Uint8Array(limits.maxLineLength + chunkBytes);
  const line = new LineAtHand(buffer, file);
  const handle = open(path, limits.maxBytes);
  let bytes = 0;
  /** Bytes of a line whose end has not come, at the front of the buffer. */
  let kept = 0;
  try {
    for (;;) {
      const size = read(handle, buffer.subarray(kept, kept + chunkBytes), file);
      if (size === 0) break;
      const filled = buffer.subarray(0, kept + size);
      hash.update(filled.subarray(kept));
      if (bytes === 0) refuseOtherEncodings(file, filled);
      let from = bytes === 0 && byteOrderMark.every((byte, i) => byte === filled[i]) ? byteOrderMark.length : 0;
      bytes += size;
      for (let end = filled.indexOf(lineFeed, from); end >= 0; end = filled.indexOf(lineFeed, from)) {
        line.number += 1;
        line.from = from;
        line.to = end > from && filled[end - 1] === carriageReturn ? end - 1 : end;
        take(line);
        from = end + 1;
      }
      kept = filled.length - from;
      if (kept > limits.maxLineLength) {
        const found = `line ${line.number + 1} with over ${kept} characters`;
        throw new Problem('recording-too-large', { file, found, expected: `${limits.maxLineLength} a line` });
      }
      buffer.copyWithin(0, from, filled.length);
    }
    if (kept > 0) {
      line.number += 1;
      line.from = 0;
      line.to = kept;
      line.isEnded = false;
      take(line);
    }
  } finally {
    closeSync(handle);
  }
  return { bytes, sha256: hash.digest('hex') };
}

function read(handle: number, buffer: Uint8Array, file: string): number {
  try {
    return readSync(handle, buffer, 0, buffer.length, null);
  } catch (error) {
    throw new Problem('recording-unreadable', { file, detail: reason(error) }, { cause: error });
  }
}

/** A file whole, its line ends kept, without a byte order mark. Throws Problem like `eachLine`. */
export function wholeText(path: string, maxBytes: number): { text: string; bytes: number; sha256: string } {
  const file = basename(path);
  const handle = open(path, maxBytes);
  let bytes: Buffer;
  try {
    bytes = readFileSync(handle);
  } catch (error) {
    throw new Problem('recording-unreadable', { file, detail: reason(error) }, { cause: error });
  } finally {
    closeSync(handle);
  }
  refuseOtherEncodings(file, bytes);
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    return { text, bytes: bytes.length, sha256: createHash('sha256').update(bytes).digest('hex') };
  } catch (error) {
    throw new Problem('recording-encoding', { file, line: 1, found: 'bytes of another' }, { cause: error });
  }
}
