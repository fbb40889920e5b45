import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { z } from 'zod';
import type { Message } from '../core/message/message.ts';
import type { Link } from '../core/seal/chain.ts';

/**
 * What travels from a rig to the firm: `limpid/<rig>/up/events|samples|record`. A message is one line of JSON, a line
 * feed, and a body (raw DEFLATE, RFC 1951). Each is keyed by run and place, so that one that comes twice, late or out of
 * order changes nothing.
 */
export const leaves = ['events', 'samples', 'record'] as const;
export type Leaf = (typeof leaves)[number];

const runId = z.string().min(1).max(128);
const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const whole = z.int().min(0);

const eventsHead = z.strictObject({ v: z.literal(1), kind: z.literal('events'), run_id: runId, from: whole });
const samplesHead = z.strictObject({
  v: z.literal(1),
  kind: z.literal('samples'),
  run_id: runId,
  /** Below 0: samples that came late. */
  chunk: z.int(),
  /** ISO 8601 UTC, of the run: places the samples in the time series before the run's head has come. */
  started_at: z.string().max(64),
  sha256,
});
const recordHead = z.strictObject({
  v: z.literal(1),
  kind: z.literal('record'),
  run_id: runId,
  file: z.string().min(1).max(300),
  /** Bytes before this piece, and of the whole file. */
  at: whole,
  of: whole.max(2 ** 31),
  /** Of the whole file. */
  sha256,
});
const headSchema = z.discriminatedUnion('kind', [eventsHead, samplesHead, recordHead]);

export const linkSchema: z.ZodType<Link> = z.object({
  index: whole,
  id: z.string().min(1).max(128),
  event: z.unknown(),
  who: z.string().max(200),
  wallAt: z.string().max(64),
  prevHash: sha256,
  hash: sha256,
});
const eventsBody = z.object({ head: z.unknown(), links: z.array(linkSchema).min(1).max(1000) });

/** Links of a run's chain from `from` on; the run's head goes with each, it is small and makes each whole. */
export interface EventsPart {
  readonly kind: 'events';
  readonly runId: string;
  readonly from: number;
  readonly head: unknown;
  readonly links: readonly Link[];
}

/** One chunk of samples, as the store of the rig keeps it. */
export interface SamplesPart {
  readonly kind: 'samples';
  readonly runId: string;
  readonly chunk: number;
  readonly startedAt: string;
  readonly sha256: string;
  readonly body: Uint8Array;
}

/** A piece of a file of the sealed record. */
export interface RecordPart {
  readonly kind: 'record';
  readonly runId: string;
  readonly file: string;
  readonly at: number;
  readonly of: number;
  readonly sha256: string;
  readonly body: Uint8Array;
}

export type Part = EventsPart | SamplesPart | RecordPart;

/** No body of ours is larger when unpacked; what claims to be is refused unread. */
export const bodyBytes = 4 * 1024 * 1024;

/** Topic of a rig's part. */
export const upTopic = (rig: string, leaf: Leaf): string => `limpid/${rig}/up/${leaf}`;
/** Where the hub tells a rig what it has. */
export const haveTopic = (rig: string): string => `limpid/${rig}/down/have`;

/** A rig's name: a level of a topic, a name of a login, a tag of a time series. */
export const rigName = /^[A-Za-z0-9][A-Za-z0-9-]{0,62}$/;

export function readUpTopic(topic: string): { rig: string; leaf: Leaf } | null {
  const found = /^limpid\/([^/]+)\/up\/([^/]+)$/.exec(topic);
  const leaf = leaves.find((name) => name === found?.[2]);
  const rig = found?.[1];
  return rig !== undefined && leaf !== undefined && rigName.test(rig) ? { rig, leaf } : null;
}

export function encodePart(part: Part): Buffer {
  const common = { v: 1 as const, run_id: part.runId };
  switch (part.kind) {
    case 'events': {
      const head: z.infer<typeof eventsHead> = { ...common, kind: 'events', from: part.from };
      return frame(head, Buffer.from(JSON.stringify({ head: part.head, links: part.links })));
    }
    case 'samples': {
      const { chunk, startedAt, sha256: hash } = part;
      const head: z.infer<typeof samplesHead> = {
        ...common,
        kind: 'samples',
        chunk,
        started_at: startedAt,
        sha256: hash,
      };
      return frame(head, part.body);
    }
    case 'record': {
      const { file, at, of, sha256: hash } = part;
      const head: z.infer<typeof recordHead> = { ...common, kind: 'record', file, at, of, sha256: hash };
      return frame(head, part.body);
    }
  }
}

function frame(head: unknown, body: Uint8Array): Buffer {
  return Buffer.concat([Buffer.from(`${JSON.stringify(head)}\n`), deflateRawSync(body)]);
}

/** A message of a rig, or why it is none. */
export function decodePart(leaf: Leaf, payload: Uint8Array): Part | Message {
  const wrong = (detail: string): Message => ({ code: 'hub-part-unreadable', params: { leaf, detail } });
  const end = payload.subarray(0, 2048).indexOf(10);
  if (end < 0) return wrong('it has no head line');
  const parsed = headSchema.safeParse(json(payload.subarray(0, end)));
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    return wrong(`${issue?.path.join('.') || 'head'}: ${issue?.message ?? 'not as expected'}`);
  }
  const head = parsed.data;
  if (head.kind !== leaf) return wrong(`it says that it is ${head.kind}`);
  let body: Buffer;
  try {
    body = inflateRawSync(payload.subarray(end + 1), { maxOutputLength: bodyBytes });
  } catch (error) {
    return wrong(error instanceof Error ? error.message : 'its body cannot be unpacked');
  }
  switch (head.kind) {
    case 'samples':
      return {
        kind: 'samples',
        runId: head.run_id,
        chunk: head.chunk,
        startedAt: head.started_at,
        sha256: head.sha256,
        body,
      };
    case 'record':
      if (head.at + body.length > head.of) return wrong(`a piece beyond the end of ${head.file}`);
      return {
        kind: 'record',
        runId: head.run_id,
        file: head.file,
        at: head.at,
        of: head.of,
        sha256: head.sha256,
        body,
      };
    case 'events': {
      const found = eventsBody.safeParse(json(body));
      if (!found.success) return wrong(found.error.issues[0]?.message ?? 'no events in it');
      const { links } = found.data;
      if (links.some((link, i) => link.index !== head.from + i)) return wrong('its entries do not follow each other');
      return { kind: 'events', runId: head.run_id, from: head.from, head: found.data.head, links };
    }
  }
}

function json(bytes: Uint8Array): unknown {
  try {
    return JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch {
    return undefined;
  }
}

/** What the hub has of a rig's run: told after it is on the hub's disk, so that the rig can let go of the rest. */
export const haveSchema = z.object({
  v: z.literal(1),
  run_id: runId,
  /** Entries of the chain, counted from the first, that the hub holds without a gap, with their samples. */
  links: whole,
  /** The sealed record: not whole yet, kept after it was verified, or refused. */
  record: z.enum(['none', 'kept', 'refused']),
});
export type Have = z.infer<typeof haveSchema>;
