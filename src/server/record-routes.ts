import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import type { Auth } from './auth.ts';
import type { Refusal } from './port.ts';
import { parseOr400, Refused } from './refuse.ts';

export const reportQuerySchema = z.object({ paper: z.enum(['a4', 'letter']).default('a4') });
export const sealRequestSchema = z.object({
  /** Who hands over: stands on the report. */
  by: z.string().trim().min(1).max(200),
  /** Seal a run that was not handed over. */
  unfinished: z.boolean().default(false),
});
export const sealedSchema = z.object({ sealedAt: z.string(), head: z.string(), key: z.string() });

/** The record of the run under way; given by src/run. */
export interface RecordPort {
  /** The report as it stands, a draft until the run is sealed. */
  reportPdf(paper: 'a4' | 'letter'): Promise<Uint8Array>;
  /** Ends the run's record for good. `who` is the paired device or 'loopback'. */
  seal(by: string, who: string, unfinished: boolean): z.infer<typeof sealedSchema> | Refusal;
}

export function addRecordRoutes(app: FastifyInstance, record: RecordPort, auth: Auth): void {
  app.get('/api/runs/current/report.pdf', async (request, reply) => {
    const { paper } = parseOr400(reportQuerySchema, request.query, 'query');
    const pdf = await record.reportPdf(paper);
    return reply
      .header('content-type', 'application/pdf')
      .header('content-disposition', 'inline; filename="report.pdf"')
      .send(Buffer.from(pdf));
  });
  app.post('/api/runs/current/seal', (request, reply) => {
    const who = auth.who(request.ip, request.headers.authorization);
    if (who === null) throw new Refused(401, 'not-paired');
    const { by, unfinished } = parseOr400(sealRequestSchema, request.body, 'body');
    const answer = record.seal(by, who, unfinished);
    if (!('status' in answer)) return reply.send(answer);
    return reply.code(answer.status).send({ code: answer.code, text: answer.text });
  });
}
