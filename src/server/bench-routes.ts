import type { FastifyInstance, FastifyRequest } from 'fastify';
import {
  benchCheckSchema,
  benchCommandSchema,
  benchLitresSchema,
  benchMeasureSchema,
  benchWorkSchema,
} from '../core/job/bench-schema.ts';
import type { Auth } from './auth.ts';
import type { BenchPort } from './bench-port.ts';
import { of } from './limits.ts';
import { parseOr400, Refused } from './refuse.ts';

/** The kit's bench: looking is open to all in the network, asking and calibrating need pairing. */
export function addBenchRoutes(app: FastifyInstance, bench: BenchPort, auth: Auth): void {
  const paired = (request: FastifyRequest): unknown => {
    if (auth.who(request.ip, request.headers.authorization) === null) throw new Refused(401, 'not-paired');
    return request.body;
  };
  app.get('/api/bench', of('look'), () => bench.view());
  app.post('/api/bench/command', of('write'), (request) =>
    bench.command(parseOr400(benchCommandSchema, paired(request), 'body')),
  );
  app.post('/api/bench/measure', of('write'), (request) => {
    const { kit, channel, seconds } = parseOr400(benchMeasureSchema, paired(request), 'body');
    return bench.measure(kit, channel, seconds);
  });
  app.post('/api/bench/litres', of('write'), (request) => {
    const { kit, action } = parseOr400(benchLitresSchema, paired(request), 'body');
    return bench.litres(kit, action);
  });
  app.post('/api/bench/fit', of('write'), (request) => bench.fit(parseOr400(benchWorkSchema, paired(request), 'body')));
  app.post('/api/bench/keep', of('write'), (request) =>
    bench.keep(parseOr400(benchWorkSchema, paired(request), 'body')),
  );
  app.post('/api/bench/check', of('write'), (request) => {
    const { kit, seconds } = parseOr400(benchCheckSchema, paired(request), 'body');
    bench.check(kit, seconds);
    return bench.view().check;
  });
}
