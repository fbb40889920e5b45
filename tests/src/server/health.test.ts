import Fastify from 'fastify';
import { describe, expect, it } from 'vitest';
import { addHealthRoutes, type Measure } from '../../../src/server/health.ts';

const measures: Measure[] = [
  { name: 'limpid_wire', help: 'By kind.', kind: 'counter', value: 3, labels: { what: 'packs' } },
  { name: 'limpid_wire', help: 'By kind.', kind: 'counter', value: 1, labels: { what: 'gaps' } },
  { name: 'limpid_memory_bytes', help: 'Memory.', kind: 'gauge', value: 12.5 },
];

async function ask(path: string, problems: string[] = []) {
  const app = Fastify();
  addHealthRoutes(app, { measures: () => measures, problems: () => problems });
  return await app.inject(path);
}

describe('the figures of a process', () => {
  // OpenMetrics 1.0, "Overall structure" and "Counter": a family's type and help once, `_total`, and `# EOF` at the end.
  it('are text as OpenMetrics has it', async () => {
    const reply = await ask('/metrics');
    expect(reply.headers['content-type']).toContain('application/openmetrics-text; version=1.0.0');
    expect(reply.body.trim().split('\n')).toEqual([
      '# HELP limpid_wire By kind.',
      '# TYPE limpid_wire counter',
      'limpid_wire_total{what="packs"} 3',
      'limpid_wire_total{what="gaps"} 1',
      '# HELP limpid_memory_bytes Memory.',
      '# TYPE limpid_memory_bytes gauge',
      'limpid_memory_bytes 12.5',
      '# EOF',
    ]);
  });

  it('say that it lives, and whether it does its work', async () => {
    expect((await ask('/health')).json()).toEqual({ ok: true });
    expect((await ask('/ready')).statusCode).toBe(200);
    const not = await ask('/ready', ['No room left.']);
    expect(not.statusCode).toBe(503);
    expect(not.json()).toEqual({ ok: false, problems: ['No room left.'] });
  });
});
