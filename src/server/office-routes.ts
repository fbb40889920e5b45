import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { newPersonSchema, newShareSchema, type OfficeMe, signInSchema } from '../core/audit/page-schema.ts';
import type { Access } from './access.ts';
import type { AuditPort } from './audit-port.ts';
import { of } from './limits.ts';
import { parseOr400, Refused } from './refuse.ts';

/** Signing in, people and links. */
export function addOfficeRoutes(app: FastifyInstance, audit: AuditPort, access: Access, hasRig: boolean): void {
  app.get('/api/office/me', of('look'), (request): OfficeMe => {
    const who = access.who(request);
    const { name = null, role = null, by = '', onlyRun = null } = who ?? {};
    return { name, role, by, onlyRun, hasPeople: access.hasPeople(), hasRig };
  });
  app.post('/api/office/sign-in', of('secret'), async (request, reply) => {
    const { name, password } = parseOr400(signInSchema, request.body, 'body');
    reply.header('set-cookie', await access.signIn(name, password, request));
    return { ok: true };
  });
  app.post('/api/office/session', of('write'), (request, reply) => {
    const { link } = parseOr400(z.strictObject({ link: z.string().max(100).optional() }), request.body ?? {}, 'body');
    reply.header('set-cookie', link === undefined ? access.ofDevice(request) : access.ofLink(link, request));
    return { ok: true };
  });
  app.post('/api/office/sign-out', of('write'), (request, reply) => {
    reply.header('set-cookie', access.signOut(request));
    return { ok: true };
  });

  app.get('/api/office/people', of('look'), (request) => {
    access.need(request, 'administrator');
    return { people: access.people() };
  });
  app.post('/api/office/people', of('secret'), async (request) => {
    access.need(request, 'administrator');
    await access.addPerson(parseOr400(newPersonSchema, request.body, 'body'));
    return { people: access.people() };
  });
  app.delete('/api/office/people/:name', of('write'), (request) => {
    access.need(request, 'administrator');
    const { name } = parseOr400(z.object({ name: z.string().max(100) }), request.params, 'path');
    if (!access.removePerson(name)) throw new Refused(404, 'office-no-person', { name });
    return { people: access.people() };
  });

  const runParams = z.object({ run: z.string().min(1).max(200), id: z.string().max(40).default('') });
  app.get('/api/runs/:run/links', of('look'), (request) => {
    access.need(request, 'auditor');
    return { links: access.shares(parseOr400(runParams, request.params, 'path').run) };
  });
  app.post('/api/runs/:run/links', of('write'), (request) => {
    const who = access.need(request, 'auditor');
    const { run } = parseOr400(runParams, request.params, 'path');
    if (!audit.has(run)) throw new Refused(404, 'office-no-run', { run: run.slice(0, 128) });
    const { days } = parseOr400(newShareSchema, request.body ?? {}, 'body');
    const { token, ...share } = access.addShare(run, who.name, days);
    // After the number sign: it is not sent to any server, nor kept in any log.
    return { ...share, madeBy: who.name, link: `/audit.html#run=${encodeURIComponent(run)}&link=${token}` };
  });
  app.delete('/api/runs/:run/links/:id', of('write'), (request) => {
    access.need(request, 'auditor');
    const { run, id } = parseOr400(runParams, request.params, 'path');
    if (!access.removeShare(run, id)) throw new Refused(404, 'office-no-link');
    return { links: access.shares(run) };
  });
}
