import { z } from 'zod';
import { Problem } from '../core/message/problem.ts';
import type { Inbox } from '../hub/collector.ts';
import type { WaitingParts } from '../hub/keeper.ts';
import type { Part } from '../hub/part.ts';
import { wholeRecord } from '../hub/whole-record.ts';
import type { Arrivals } from '../store/arrivals.ts';

/** The data do not fit; anything else is the machine's fault, and the data are tried again. */
export function isOfTheData(error: unknown): error is Problem {
  return (
    error instanceof Problem &&
    /^(hub-|store-(samples-differ|run-exists|event-invalid)|recording-|seal-)/.test(error.code)
  );
}

/** The store of arrivals as the collector sees it. */
export function inboxOf(arrivals: Arrivals): Inbox {
  return {
    put(rig: string, part: Part) {
      switch (part.kind) {
        case 'events':
          return arrivals.putLinks(rig, part.runId, part.head, part.links);
        case 'samples':
          return arrivals.putChunk(rig, part.runId, part);
        case 'record':
          return arrivals.putPiece(rig, part.runId, part);
      }
    },
    quarantine(rig, topic, why, payload) {
      const runId = z.string().safeParse(why.params['runId']).data ?? '';
      arrivals.setAside(rig, runId, topic, why, payload);
    },
  };
}

/** The store of arrivals as the keeper sees it. */
export function waitingParts(arrivals: Arrivals): WaitingParts {
  const asked = new Map<string, Set<number>>();
  return {
    runsWithNews: () => arrivals.runsWithNews(),
    head: (runId) => arrivals.head(runId),
    links: (runId, from, limit) => arrivals.links(runId, from, limit),
    chunk(runId, chunk) {
      const body = arrivals.chunk(runId, chunk);
      if (body) asked.set(runId, (asked.get(runId) ?? new Set()).add(chunk));
      return body;
    },
    placed(runId, links) {
      arrivals.placed(runId, links, [...(asked.get(runId) ?? [])]);
      asked.delete(runId);
    },
    record: (runId) => wholeRecord(arrivals.pieces(runId)),
    recordDone: (runId, state) => arrivals.recordDone(runId, state),
    looked: (runId) => arrivals.looked(runId),
    quarantineRun(runId, rig, why) {
      asked.delete(runId);
      arrivals.dropWaiting(runId);
      arrivals.setAside(rig, runId, '', why, new Uint8Array());
    },
  };
}
