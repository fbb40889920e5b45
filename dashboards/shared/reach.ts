/**
 * How this page was reached, which decides what the browser lets it do: on plain http there is no service worker, no
 * installing and no wake lock; on https, on this machine's own address, and where the browser was told to trust the
 * address, there is.
 */
export type Reach = 'https' | 'own-machine' | 'trusted-http' | 'plain-http';

const loopback = /^(localhost|127\.\d+\.\d+\.\d+|\[::1\])$/;

export function reachOf(at: { protocol: string; hostname: string }, isSecure: boolean): Reach {
  if (at.protocol === 'https:') return isSecure ? 'https' : 'plain-http';
  if (!isSecure) return 'plain-http';
  return loopback.test(at.hostname) ? 'own-machine' : 'trusted-http';
}

export const reach: Reach = reachOf(location, isSecureContext);
