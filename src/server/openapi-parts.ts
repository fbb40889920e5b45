import { z } from 'zod';
import { refusalSchema } from './protocol.ts';

/** Pieces of the description of the HTTP interface, made from the very schemas that check it. */
export const json = (schema: z.ZodType, io: 'input' | 'output' = 'output') => ({
  'application/json': { schema: z.toJSONSchema(schema, { io, target: 'draft-2020-12' }) },
});
export const answer = (description: string, schema: z.ZodType) => ({ description, content: json(schema) });
export const refusal = answer('Refused: what is wrong, where, and what to do', refusalSchema);
export const number = (name: string, description: string) => ({
  name,
  in: 'query',
  required: false,
  description,
  schema: { type: 'number' },
});
