import { Problem } from '../core/message/problem.ts';
import { canonical } from '../core/seal/canonical.ts';
import { genesisHash, linkHash } from '../core/seal/chain.ts';
import { decodeChunk } from './chunk.ts';
import { readLink, samplesKept, samplesKeptSchema, sha256 } from './rows.ts';
import type { Statements } from './statements.ts';
import type { RunHead, StoredEvent } from './store.ts';

/**
 * Put links that were chained elsewhere on a run, inside the caller's transaction, each with the samples that it closes.
 * Stops at the first whose samples are not there yet. Returns the links that the run has then. Throws Problem: a link
 * that does not follow, samples of another hash.
 */
export function grow(
  sql: Statements,
  run: number,
  head: RunHead,
  links: readonly StoredEvent[],
  chunkOf: (chunk: number) => Uint8Array | null,
): number {
  const { runId } = head;
  const last = sql.lastEvent.rows(run).map((row) => readLink(runId, row))[0];
  let count = last ? last.index + 1 : 0;
  let hash = last?.hash ?? genesisHash(head, sha256);
  for (const link of links) {
    if (link.index < count) continue;
    if (link.index > count) return count;
    const broken = (kind: string): Problem => new Problem('hub-chain-differs', { runId, index: link.index, kind });
    if (linkHash(link, sha256) !== link.hash) throw broken('its own hash does not fit');
    if (link.prevHash !== hash) throw broken('it was chained to another');
    if (link.event.event === samplesKept && !addChunk(sql, run, head, link, chunkOf)) return count;
    sql.addEvent.run(run, link.index, link.id, link.event.timeS, canonical(link));
    count += 1;
    hash = link.hash;
  }
  return count;
}

function addChunk(
  sql: Statements,
  run: number,
  head: RunHead,
  link: StoredEvent,
  chunkOf: (chunk: number) => Uint8Array | null,
): boolean {
  const kept = samplesKeptSchema.safeParse(link.event.data).data;
  const { chunk = 0, fromS = 0, toS = 0, count = 0 } = kept ?? {};
  const differ = (detail: string): Problem =>
    new Problem('store-samples-differ', { runId: head.runId, fromS, toS, detail });
  if (!kept) throw differ(`entry ${link.index} does not say which`);
  const body = chunkOf(chunk);
  if (!body) return false;
  if (sha256(body) !== kept.sha256) throw differ('their hash is another');
  let found = 0;
  try {
    found = decodeChunk(body).length;
  } catch (error) {
    throw differ(error instanceof Error ? error.message : 'they cannot be read');
  }
  if (found !== count) throw differ(`${count} were chained, ${found} found`);
  sql.addChunk.run(run, chunk, fromS, toS, count, body);
  return true;
}
