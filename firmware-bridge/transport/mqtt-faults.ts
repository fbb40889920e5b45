import type { PlugRefusal } from './kept-link.ts';
import type { TransportProblem } from './transport.ts';

/** A broker's address as it may be shown: without user and password. */
export function shownUrl(url: string): string {
  try {
    const { protocol, host } = new URL(url);
    return `${protocol}//${host}`;
  } catch {
    return 'the broker';
  }
}

/** The broker does not speak the version that was tried. Codes: MQTT 5 section 3.2.2.2, 3.1.1 section 3.2.2.3. */
export function isWrongVersion(error: unknown): boolean {
  const code = codeOf(error);
  return code === 1 || code === 132 || code === 'closed' || code === 'garbled';
}

/** Why a connection failed, in the words of mqtt.js or of the system, as an error that carries one of our own codes. */
export class ConnectFailure extends Error {
  readonly code: 'closed' | 'garbled' | 'timeout';

  constructor(code: 'closed' | 'garbled' | 'timeout') {
    super(code);
    this.code = code;
  }
}

function codeOf(error: unknown): unknown {
  if (typeof error !== 'object' || error === null) return undefined;
  return 'code' in error ? error.code : undefined;
}

const absentCodes: readonly unknown[] = ['ECONNREFUSED', 'EHOSTUNREACH', 'ENETUNREACH', 'ECONNRESET', 'EPIPE'];
const tls = /certificate|self-signed|TLS|SSL|ERR_TLS|wrong version number|altname/i;

/** An attempt that failed -> one of our own sentences. `url` as it may be shown. */
export function whyNotConnected(error: unknown, url: string): PlugRefusal {
  const told = (code: string, params: TransportProblem['params'] = {}, absent = false): PlugRefusal => ({
    problem: { code, params: { url, ...params } },
    absent,
  });
  const code = codeOf(error);
  const what = error instanceof Error ? error.message || String(code) : String(error);
  switch (code) {
    case 2:
    case 133:
      return told('mqtt-client-id');
    case 4:
    case 5:
    case 134:
    case 135:
      return told('mqtt-login');
    case 3:
    case 136:
    case 137:
    case 151:
      return told('mqtt-busy');
    case 138:
      return told('mqtt-banned');
    case 'closed':
    case 'garbled':
      return told('mqtt-not-mqtt');
    case 'timeout':
    case 'ETIMEDOUT':
      return told('mqtt-timeout');
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return told('mqtt-no-host', {}, true);
    default:
      if (absentCodes.includes(code)) return told('mqtt-no-broker', {}, true);
      return tls.test(what) ? told('mqtt-tls', { what }) : told('mqtt-refused', { what });
  }
}
