import { causeOf } from '../core/message/cause.ts';
import { readFileSync } from 'node:fs';
import { MappedReader } from '../../firmware-bridge/wire/mapped-reader.ts';
import { mappedTopics, readMapping } from '../../firmware-bridge/wire/mapping.ts';
import type { PackReader } from '../../firmware-bridge/wire/wire-reader.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunClock } from './clock.ts';

/** What a mapping file makes of a link. */
export interface MappedLink {
  readonly reader: PackReader;
  /** Topics that it listens to at a broker; null for a serial port. */
  readonly topics: { readonly readings: readonly string[]; readonly state: string | null } | null;
}

/**
 * Reads a mapping file for a link of this kind. Throws Problem: a file that cannot be read, what is wrong in it and
 * where, a mapping for the other kind of link.
 */
export function mappedLink(path: string, kind: 'serial' | 'broker', clock: RunClock): MappedLink {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    throw new Problem('config.file', { path, detail: causeOf(error) });
  }
  const read = readMapping(text);
  if ('problem' in read) throw new Problem(read.problem.code, { ...read.problem.params, file: path });
  const topics = mappedTopics(read.mapping);
  if (kind === 'broker' && topics === null) throw new Problem('mapping-serial', { file: path });
  if (kind === 'serial' && topics !== null) throw new Problem('mapping-topics', { file: path });
  // Seconds since 1970: later than at any start before, so that no pack has the identity of an earlier one.
  return { reader: new MappedReader(read.mapping, Math.floor(clock.wallMs() / 1000)), topics };
}
