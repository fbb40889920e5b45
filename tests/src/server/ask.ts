import { type IncomingHttpHeaders, request } from 'node:http';
import { request as secureRequest } from 'node:https';

export interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly text: string;
}

export interface Asked {
  readonly method?: string;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: string | Uint8Array;
  /** The authority of the server's certificate, by https. */
  readonly ca?: string;
  /** End once the head of the answer is there: of a stream. */
  readonly headOnly?: boolean;
}

/** Plain HTTP, because fetch does not let a test choose Host or Origin. */
export function ask(url: string, { method = 'GET', headers = {}, body, ca, headOnly }: Asked = {}): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const begin = url.startsWith('https:') ? secureRequest : request;
    const asked = begin(url, { method, headers: { ...headers }, ...(ca ? { ca } : {}) }, (answer) => {
      let text = '';
      const end = (): void => resolve({ status: answer.statusCode ?? 0, headers: answer.headers, text });
      if (headOnly && answer.statusCode === 200) {
        end();
        asked.destroy();
        return;
      }
      answer.on('data', (chunk: Buffer) => {
        text += chunk.toString();
      });
      answer.on('end', end);
      answer.on('error', reject);
    });
    asked.on('error', reject);
    asked.end(body);
  });
}
