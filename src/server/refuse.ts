import type { FastifyReply } from 'fastify';
import type { z } from 'zod';
import { type Message, say } from '../core/message/message.ts';

/** A refusal by this room: status for machines, code and params for the text. */
export class Refused extends Error {
  readonly status: number;
  readonly refusal: Message;
  readonly retryAfterS: number | undefined;

  constructor(status: number, code: string, params: Message['params'] = {}, retryAfterS?: number) {
    super(code);
    this.status = status;
    this.refusal = { code, params };
    this.retryAfterS = retryAfterS;
  }
}

export function sendRefusal(reply: FastifyReply, refused: Refused): FastifyReply {
  if (refused.retryAfterS !== undefined) reply.header('retry-after', String(Math.ceil(refused.retryAfterS)));
  const { code, params } = refused.refusal;
  return reply.code(refused.status).send({ code, text: say(refused.refusal), params });
}

/** Parse what a client sent, or refuse by the first thing that is wrong, with its place. Throws `Refused`. */
export function parseOr400<S extends z.ZodType>(schema: S, value: unknown, root: string): z.output<S> {
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  const where = [root, ...(issue?.path ?? []).map(String)].join('.');
  throw new Refused(400, 'bad-field', { where, what: issue?.message ?? 'not as expected' });
}
