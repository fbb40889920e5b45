import type { FastifyRequest } from 'fastify';

/** By https no other name of this host and no page by http can set or read it (RFC 6265bis section 4.1.3.2). */
const cookieName = (request: FastifyRequest): string => (request.protocol === 'https' ? '__Host-limpid' : 'limpid');

/** The one cookie of ours in a request: `s.<token>` of a session, `d.<token>` of a device, `l.<token>` of a link. */
export function cookieOf(request: FastifyRequest): { kind: string; token: string } | null {
  const name = cookieName(request);
  for (const part of (request.headers.cookie ?? '').split(';')) {
    const found = /^\s*([\w-]+)=([sdl])\.([\w-]{20,100})\s*$/.exec(part);
    if (found?.[1] === name) return { kind: found[2] ?? '', token: found[3] ?? '' };
  }
  return null;
}

export function setCookie(request: FastifyRequest, value: string, maxAgeS: number): string {
  const flags = `Path=/; HttpOnly; SameSite=Strict; Max-Age=${maxAgeS}`;
  return `${cookieName(request)}=${value}; ${flags}${request.protocol === 'https' ? '; Secure' : ''}`;
}

/** How a paired device is known where it can send no header: links, pictures, streams. */
export const setDevice = (request: FastifyRequest, token: string): string =>
  setCookie(request, `d.${token}`, 365 * 24 * 3600);

/** What a device brings to show that it is paired, for reading; to write it must send the header itself. */
export function bearerOf(request: FastifyRequest): string | undefined {
  const cookie = cookieOf(request);
  return cookie?.kind === 'd' ? `Bearer ${cookie.token}` : request.headers.authorization;
}
