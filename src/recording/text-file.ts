import { closeSync, openSync, readFileSync, readSync, statSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { basename } from 'node:path';
import { Problem } from '../core/message/problem.ts';

const chunkBytes = 1 << 20;

export interface LineLimits {
  readonly maxBytes: number;
  readonly maxLineLength: number;
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** Is it there at all? Throws Problem when it is there and cannot be looked at. */
export function isFile(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false })?.isFile() ?? false;
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

/**
 * The lines of a UTF-8 file, one after another, without their ends (LF or CR LF) and without a byte order mark. Holds no
 * more than a piece of the file at a time. Returns the file's size and SHA-256. Throws Problem: unreadable, too large,
 * wrong encoding.
 */
export function eachLine(
  path: string,
  limits: LineLimits,
  take: (line: string, lineNumber: number, ended: boolean) => void,
): { bytes: number; sha256: string } {
  const file = basename(path);
  const hash = createHash('sha256');
  const decoder = new TextDecoder('utf-8', { fatal: true });
  const buffer = new Uint8Array(chunkBytes);
  const handle = open(path, limits.maxBytes);
  let bytes = 0;
  let lineNumber = 0;
  let rest = '';
  const decode = (part: Uint8Array, stream: boolean): string => {
    try {
      return decoder.decode(part, { stream });
    } catch (error) {
      throw new Problem(
        'recording-encoding',
        { file, line: lineNumber + 1, found: 'bytes of another' },
        { cause: error },
      );
    }
  };
  try {
    for (;;) {
      const size = read(handle, buffer, file);
      const part = buffer.subarray(0, size);
      if (bytes === 0) refuseOtherEncodings(file, part);
      bytes += size;
      hash.update(part);
      const text = rest + decode(part, size > 0);
      let from = 0;
      for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n', from)) {
        const stop = end > from && text.charCodeAt(end - 1) === 13 ? end - 1 : end;
        lineNumber += 1;
        take(text.slice(from, stop), lineNumber, true);
        from = end + 1;
      }
      rest = text.slice(from);
      if (rest.length > limits.maxLineLength) {
        const found = `line ${lineNumber + 1} with over ${rest.length} characters`;
        throw new Problem('recording-too-large', { file, found, expected: `${limits.maxLineLength} a line` });
      }
      if (size === 0) break;
    }
    if (rest !== '') take(rest, lineNumber + 1, false);
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
