import { createReadStream, statSync } from 'node:fs';
import { Readable } from 'node:stream';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Download } from './audit-port.ts';

/** Sends a file or bytes; a part of it when the request asks for one, so that a download that broke off can go on. */
export function sendDownload(request: FastifyRequest, reply: FastifyReply, download: Download): FastifyReply {
  const { type, name, content } = download;
  const size = 'path' in content ? statSync(content.path).size : content.bytes.length;
  reply.header('content-type', type).header('accept-ranges', 'bytes');
  // A page that a run brought along never runs as one of ours.
  reply.header('content-disposition', `attachment; filename="${name.replace(/[^\w.-]+/g, '-')}"`);
  const part = partOf(request.headers.range, size);
  if (part === 'outside') return reply.code(416).header('content-range', `bytes */${size}`).send();
  const [from, to] = part ?? [0, size - 1];
  if (part) reply.code(206).header('content-range', `bytes ${from}-${to}/${size}`);
  reply.header('content-length', String(to - from + 1));
  if (request.method === 'HEAD') return reply.send();
  if ('bytes' in content) return reply.send(Buffer.from(content.bytes.subarray(from, to + 1)));
  return reply.send(size === 0 ? Readable.from([]) : createReadStream(content.path, { start: from, end: to }));
}

/** One range of bytes (RFC 9110 section 14); several at once are answered whole, which is allowed. */
export function partOf(range: string | undefined, size: number): [number, number] | 'outside' | null {
  const found = /^bytes=(\d*)-(\d*)$/.exec(range ?? '');
  if (!found || (found[1] === '' && found[2] === '')) return null;
  const [first, last] = [found[1] ?? '', found[2] ?? ''];
  const from = first === '' ? Math.max(0, size - Number(last)) : Number(first);
  const to = first === '' || last === '' ? size - 1 : Math.min(Number(last), size - 1);
  return from > to || from >= size ? 'outside' : [from, to];
}
