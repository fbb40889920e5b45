import { expect } from 'vitest';
import type { z } from 'zod';
import type { OfficeWorld } from '../../../browser/office-world.ts';

/** Requests to the office of a world, whose answers must be good and of their shape. */
export function asking(world: () => OfficeWorld) {
  const ask = (path: string, init?: RequestInit): Promise<Response> => fetch(`${world().server.url}${path}`, init);
  async function shaped<S extends z.ZodType>(schema: S, answer: Response): Promise<z.output<S>> {
    expect(answer.status).toBe(200);
    return schema.parse(await answer.json());
  }
  return {
    ask,
    get: async <S extends z.ZodType>(schema: S, path: string) => await shaped(schema, await ask(path)),
    send: async <S extends z.ZodType>(schema: S, path: string, body: unknown) => {
      const headers = { 'content-type': 'application/json' };
      return await shaped(schema, await ask(path, { method: 'POST', headers, body: JSON.stringify(body) }));
    },
  };
}
