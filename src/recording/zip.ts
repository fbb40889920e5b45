import { causeOf } from '../core/message/cause.ts';
import { closeSync, fstatSync, mkdirSync, openSync, readdirSync, readFileSync, readSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { crc32, inflateRawSync } from 'node:zlib';
import { Zip, ZipDeflate, ZipPassThrough } from 'fflate';
import { Problem } from '../core/message/problem.ts';
import { isFile } from './text-file.ts';

/**
 * A recording as one zip file (PKWARE APPNOTE 6.3.10; method 8 is RFC 1951), and back. What comes in is not trusted:
 * names lead nowhere but into the folder, nothing is written that was not counted first, and every file is held against
 * its check sum.
 */
export interface ZipLimits {
  readonly maxFiles: number;
  /** Of all files together, unpacked. */
  readonly maxBytes: number;
  /** Unpacked over packed, for a file of over a megabyte. Deflate itself cannot pass 1032. */
  readonly maxRatio: number;
}
export const zipLimits: ZipLimits = { maxFiles: 2000, maxBytes: 1 << 30, maxRatio: 200 };

interface Entry {
  readonly name: string;
  readonly method: number;
  readonly packed: number;
  readonly size: number;
  readonly crc: number;
  /** Of its local header. */
  readonly at: number;
}

const endMark = 0x06054b50;
const entryMark = 0x02014b50;
const localMark = 0x04034b50;

/** Random access to the bytes of a file, so that a large archive is never held whole. */
interface Bytes {
  readonly size: number;
  read(at: number, count: number): Buffer;
}

function broken(file: string, detail: string): Problem {
  return new Problem('recording-zip-broken', { file, detail });
}

function bytesOf(handle: number, file: string): Bytes {
  const { size } = fstatSync(handle);
  return {
    size,
    read(at, count) {
      if (at < 0 || count < 0 || at + count > size) throw broken(file, 'it points outside itself');
      const buffer = Buffer.alloc(count);
      let got = 0;
      while (got < count) {
        const n = readSync(handle, buffer, got, count - got, at + got);
        if (n === 0) throw broken(file, 'it ends too soon');
        got += n;
      }
      return buffer;
    },
  };
}

/** The list at the end of the archive. Throws Problem. */
function entriesOf(bytes: Bytes, file: string, limits: ZipLimits): Entry[] {
  const tail = bytes.read(Math.max(0, bytes.size - 65_557), Math.min(bytes.size, 65_557));
  let end = tail.length - 22;
  while (end >= 0 && (tail.readUInt32LE(end) !== endMark || tail.readUInt16LE(end + 20) !== tail.length - end - 22))
    end -= 1;
  if (end < 0) throw new Problem('recording-no-zip', { file });
  const count = tail.readUInt16LE(end + 10);
  const size = tail.readUInt32LE(end + 12);
  const at = tail.readUInt32LE(end + 16);
  if (count === 0xffff || at === 0xffffffff) throw broken(file, 'it is of the kind for over 4 GB');
  if (count > limits.maxFiles)
    throw new Problem('recording-zip-too-large', {
      file,
      found: `${count} files`,
      expected: `${limits.maxFiles} files`,
    });
  const list = bytes.read(at, size);
  const entries: Entry[] = [];
  let next = 0;
  for (let i = 0; i < count; i++) {
    if (next + 46 > list.length || list.readUInt32LE(next) !== entryMark) throw broken(file, 'its list is cut');
    const nameLength = list.readUInt16LE(next + 28);
    const isSecret = (list.readUInt16LE(next + 8) & 1) === 1;
    const mode = list.readUInt32LE(next + 38) >>> 16;
    const name = decodeName(list.subarray(next + 46, next + 46 + nameLength), file);
    if (isSecret) throw broken(file, `${name} is locked by a password`);
    if ((mode & 0o170000) === 0o120000) throw new Problem('recording-zip-path', { file, found: `${name} (a link)` });
    entries.push({
      name,
      method: list.readUInt16LE(next + 10),
      crc: list.readUInt32LE(next + 16),
      packed: list.readUInt32LE(next + 20),
      size: list.readUInt32LE(next + 24),
      at: list.readUInt32LE(next + 42),
    });
    next += 46 + nameLength + list.readUInt16LE(next + 30) + list.readUInt16LE(next + 32);
  }
  return entries;
}

function decodeName(bytes: Uint8Array, file: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    throw new Problem('recording-zip-path', { file, found: 'a name that is not UTF-8' }, { cause: error });
  }
}

/** Names that stay inside the folder on every system. Throws Problem. */
function checkNames(entries: readonly Entry[], file: string): void {
  const seen = new Set<string>();
  for (const { name } of entries) {
    const parts = name.replace(/\/$/, '').split('/');
    const isBad = /[\p{Cc}\\:*?"<>|]/u.test(name) || name.length > 240;
    if (isBad || parts.some((p) => p === '' || p === '.' || p === '..' || /[. ]$/.test(p)))
      throw new Problem('recording-zip-path', { file, found: JSON.stringify(name.slice(0, 120)) });
    const same = name.toLowerCase();
    if (seen.has(same)) throw new Problem('recording-zip-path', { file, found: `${name}, which stands there twice` });
    seen.add(same);
  }
}

function checkSizes(entries: readonly Entry[], file: string, { maxBytes, maxRatio }: ZipLimits): void {
  const total = entries.reduce((sum, e) => sum + e.size, 0);
  if (total > maxBytes)
    throw new Problem('recording-zip-too-large', { file, found: `${total} bytes`, expected: `${maxBytes} bytes` });
  const bomb = entries.find((e) => e.size > 1 << 20 && e.size > maxRatio * Math.max(1, e.packed));
  if (bomb)
    throw new Problem('recording-zip-too-large', {
      file,
      found: `${bomb.name} at ${Math.round(bomb.size / Math.max(1, bomb.packed))} times its packed size`,
      expected: `${maxRatio} times`,
    });
}

/** One file of the archive, no larger than it was said to be. Throws Problem. */
function contentOf(bytes: Bytes, entry: Entry, file: string): Buffer {
  const { name, method, packed, size, crc, at } = entry;
  const local = bytes.read(at, 30);
  if (local.readUInt32LE(0) !== localMark) throw broken(file, `${name} is not where the list says`);
  const data = bytes.read(at + 30 + local.readUInt16LE(26) + local.readUInt16LE(28), packed);
  if (method !== 0 && method !== 8) throw broken(file, `${name} is packed in a way that is not known here (${method})`);
  let content = data;
  if (method === 8) {
    try {
      content = inflateRawSync(data, { maxOutputLength: Math.max(1, size) });
    } catch (error) {
      const detail = causeOf(error);
      throw new Problem(
        'recording-zip-broken',
        { file, detail: `${name} is not the ${size} bytes that the list says: ${detail}` },
        { cause: error },
      );
    }
  }
  if (content.length !== size) throw broken(file, `${name} holds ${content.length} bytes, not the ${size} of the list`);
  if (crc32(content) !== crc) throw broken(file, `${name} was damaged: its check sum differs`);
  return content;
}

/**
 * Unpack an archive into `folder`, made if absent. Returns the folder that holds recording.csv: the top, or the one
 * folder inside. Throws Problem: no zip, damaged, too large, a name that leads elsewhere; nothing is written before all
 * names and sizes were looked at.
 */
export function unzipRecording(path: string, folder: string, limits: ZipLimits = zipLimits): string {
  const file = basename(path);
  let handle: number;
  try {
    handle = openSync(path, 'r');
  } catch (error) {
    const detail = causeOf(error);
    throw new Problem('recording-unreadable', { file, detail }, { cause: error });
  }
  try {
    const bytes = bytesOf(handle, file);
    const entries = entriesOf(bytes, file, limits);
    checkNames(entries, file);
    checkSizes(entries, file, limits);
    mkdirSync(folder, { recursive: true });
    for (const entry of entries) {
      const target = join(folder, ...entry.name.split('/'));
      if (entry.name.endsWith('/')) {
        mkdirSync(target, { recursive: true });
        continue;
      }
      mkdirSync(dirname(target), { recursive: true });
      writeFileSync(target, contentOf(bytes, entry, file));
    }
    return topOf(folder);
  } finally {
    closeSync(handle);
  }
}

/** Some programs pack the folder, some what is in it. */
function topOf(folder: string): string {
  if (isFile(join(folder, 'recording.csv'))) return folder;
  const names = readdirSync(folder, { withFileTypes: true }).filter((e) => e.isDirectory() && e.name !== '__MACOSX');
  const only = names[0];
  return names.length === 1 && only ? join(folder, only.name) : folder;
}

/** A date that every zip can hold; the record itself says when it was made. */
const madeAt = new Date(1980, 0, 2);

/** Files of a folder, packed, in pieces. Throws what reading the folder throws. */
export function zipFolder(folder: string, write: (piece: Uint8Array) => void, inside = ''): void {
  const zip = new Zip((error, piece) => {
    if (error) throw error;
    write(piece);
  });
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => isFile(join(folder, name)) && !name.endsWith('.part'))
    .sort();
  for (const name of names) {
    const entry = new ZipDeflate(`${inside}${name.replaceAll('\\', '/')}`, { level: 6 });
    entry.mtime = madeAt;
    zip.add(entry);
    entry.push(readFileSync(join(folder, name)), true);
  }
  zip.end();
}

/** Archives put into one, as they are. */
export function zipFiles(
  files: readonly { readonly name: string; readonly path: string }[],
  write: (piece: Uint8Array) => void,
): void {
  const zip = new Zip((error, piece) => {
    if (error) throw error;
    write(piece);
  });
  for (const { name, path } of files) {
    const entry = new ZipPassThrough(name);
    entry.mtime = madeAt;
    zip.add(entry);
    entry.push(readFileSync(path), true);
  }
  zip.end();
}
