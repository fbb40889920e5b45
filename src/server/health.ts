import type { FastifyInstance } from 'fastify';
import { Counter, Gauge, Registry } from 'prom-client';
import { of } from './limits.ts';

/** One measure as data. Names and units as OpenMetrics 1.0 has them: a counter without its `_total`. */
export interface Measure {
  readonly name: string;
  readonly help: string;
  readonly kind: 'counter' | 'gauge';
  readonly value: number;
  readonly labels?: Readonly<Record<string, string>>;
}

export interface HealthPort {
  measures(): readonly Measure[];
  /** What keeps it from its work now, as sentences; empty: ready. */
  problems(): readonly string[];
}

/** `/health`: the process answers. `/ready`: it does its work (503 and why, when not). `/metrics`: OpenMetrics text. */
export function addHealthRoutes(app: FastifyInstance, port: HealthPort): void {
  app.get('/health', of('look'), () => ({ ok: true }));
  app.get('/ready', of('look'), (_request, reply) => {
    const problems = port.problems();
    return reply.code(problems.length > 0 ? 503 : 200).send({ ok: problems.length === 0, problems });
  });
  app.get('/metrics', of('look'), async (_request, reply) => {
    const { text, type } = await openMetrics(port.measures());
    return reply.header('content-type', type).send(text);
  });
}

async function openMetrics(measures: readonly Measure[]): Promise<{ text: string; type: string }> {
  const registry = new Registry<typeof Registry.OPENMETRICS_CONTENT_TYPE>();
  registry.setContentType(Registry.OPENMETRICS_CONTENT_TYPE);
  const families = new Map<string, Gauge | Counter>();
  for (const { name, help, kind, value, labels = {} } of measures) {
    let family = families.get(name);
    if (!family) {
      const settings = { name, help, labelNames: Object.keys(labels), registers: [registry] };
      family = kind === 'gauge' ? new Gauge(settings) : new Counter(settings);
      families.set(name, family);
    }
    family.inc(labels, value);
  }
  return { text: await registry.metrics(), type: registry.contentType };
}
