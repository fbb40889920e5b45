import { Problem } from '../core/message/problem.ts';
import type { Sample } from '../core/quantity/sample.ts';
import { canonical } from '../core/seal/canonical.ts';
import { verifyChain } from '../core/seal/verify.ts';
import { encodeChunk } from './chunk.ts';
import { samplesKept, samplesKeptSchema, sha256 } from './rows.ts';
import type { Statements } from './statements.ts';
import type { RunHead, StoredEvent } from './store.ts';

const tailSamples = 1000;

/** Fill a new run with links chained elsewhere and their samples, inside the caller's transaction. Throws Problem. */
export function restore(
  sql: Statements,
  run: number,
  head: RunHead,
  links: readonly StoredEvent[],
  all: { readonly samples: Iterable<Sample>; readonly late: Iterable<Sample> },
): void {
  const { runId } = head;
  const verdict = verifyChain(head, links, sha256);
  const fault = verdict.intact ? undefined : verdict.faults[0];
  if (fault) throw new Problem('store-chain-broken', { runId, kind: fault.kind, index: fault.index });
  const take = taker(all.samples);
  const takeLate = taker(all.late);
  let inTime = 0;
  let late = -1;
  for (const link of links) {
    sql.addEvent.run(run, link.index, link.id, link.event.timeS, canonical(link));
    if (link.event.event !== samplesKept) continue;
    const kept = samplesKeptSchema.safeParse(link.event.data).data;
    const { fromS = 0, toS = 0, count = 0 } = kept ?? {};
    const differ = (detail: string): Problem => new Problem('store-samples-differ', { runId, fromS, toS, detail });
    if (!kept || (kept.chunk !== inTime && kept.chunk !== late)) throw differ(`entry ${link.index} does not say which`);
    const { chunk } = kept;
    const group = chunk < 0 ? takeLate(count) : take(count);
    if (chunk < 0) late -= 1;
    else inTime += 1;
    if (group.length < count) throw differ(`${count} were chained, ${group.length} found`);
    const body = encodeChunk(group);
    if (sha256(body) !== kept.sha256) throw differ('their hash is another');
    sql.addChunk.run(run, chunk, fromS, toS, count, body);
  }
  if (takeLate(1).length > 0)
    throw new Problem('store-samples-differ', { runId, fromS: 0, toS: 0, detail: 'some late ones are not chained' });
  for (let part = take(tailSamples); part.length > 0; part = take(tailSamples)) sql.addTail.run(run, encodeChunk(part));
}

/** Gives the next so many, fewer at the end. */
function taker(samples: Iterable<Sample>): (count: number) => Sample[] {
  const rest = samples[Symbol.iterator]();
  return (count) => {
    const taken: Sample[] = [];
    while (taken.length < count) {
      const next = rest.next();
      if (next.done) break;
      taken.push(next.value);
    }
    return taken;
  };
}
