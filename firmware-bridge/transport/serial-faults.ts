import type { PlugRefusal } from './kept-link.ts';

/** What was found out about a port that would not open. */
export interface PortFacts {
  readonly port: string;
  readonly exists: boolean;
  /** Group that owns the port, where the system has such a thing. */
  readonly group: string | null;
  /** Ports that are there, for the remedy. */
  readonly others: readonly string[];
}

const absent = /no such file|ENOENT|file not found|ENXIO|no such device|ENODEV/i;
const forbidden = /permission denied|EACCES|EPERM|operation not permitted|access denied/i;
const busy = /cannot lock|resource temporarily unavailable|EAGAIN|EBUSY|resource busy|EWOULDBLOCK/i;

/**
 * The system's words for why a port would not open -> one of our own sentences. A system that says "access denied" for a
 * port that another program holds (Windows) has no group to join, and means: in use.
 */
export function whyNotOpen(message: string, facts: PortFacts): PlugRefusal {
  const { port } = facts;
  if (!facts.exists || absent.test(message)) {
    const others = facts.others.filter((other) => other !== port).join(', ') || 'none';
    return { problem: { code: 'transport-no-port', params: { port, others } }, absent: true };
  }
  if (forbidden.test(message) && facts.group !== null)
    return { problem: { code: 'transport-no-permission', params: { port, group: facts.group } }, absent: false };
  if (busy.test(message) || forbidden.test(message))
    return { problem: { code: 'transport-busy', params: { port } }, absent: false };
  return { problem: { code: 'transport-open', params: { port, what: message } }, absent: false };
}
