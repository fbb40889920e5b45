import { z } from 'zod';
import {
  benchAnswerSchema,
  benchCertificateSchema,
  benchCheckSchema,
  benchCommandSchema,
  benchCountedSchema,
  benchLitresSchema,
  benchMeasuredSchema,
  benchMeasureSchema,
  benchViewSchema,
  benchWorkSchema,
} from '../core/job/bench-schema.ts';
import { answer, json, refusal } from './openapi-parts.ts';

const asked = (summary: string, body: z.ZodType, told: string, schema: z.ZodType): object => ({
  post: {
    summary,
    security: [{ paired: [] }],
    requestBody: { required: true, content: json(body, 'input') },
    responses: { 200: answer(told, schema), 400: refusal, 401: refusal, 409: refusal },
  },
});

/** The bench's part of the HTTP interface; see bench-routes.ts. */
export function benchPaths(): Readonly<Record<string, object>> {
  const check = benchViewSchema.shape.check;
  return {
    '/api/bench': {
      get: {
        summary: 'Kits, raw and calibrated values, certificates',
        responses: { 200: answer('Bench', benchViewSchema) },
      },
    },
    '/api/bench/command': asked('Ask something of the kit', benchCommandSchema, 'What it answered', benchAnswerSchema),
    '/api/bench/measure': asked(
      'Read a channel for some seconds',
      benchMeasureSchema,
      'Mean and scatter',
      benchMeasuredSchema,
    ),
    '/api/bench/litres': asked(
      'Count the litres into a bucket',
      benchLitresSchema,
      'Counted so far',
      benchCountedSchema,
    ),
    '/api/bench/fit': asked(
      'What these standards come to; nothing is kept',
      benchWorkSchema,
      'Curve',
      benchCertificateSchema,
    ),
    '/api/bench/keep': asked(
      'Keep the certificate; readings go by it from now on',
      benchWorkSchema,
      'Kept',
      benchCertificateSchema,
    ),
    '/api/bench/check': asked('Begin a check of the kit against docs/wire.md', benchCheckSchema, 'Under way', check),
  };
}
