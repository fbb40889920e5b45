import { PassThrough } from 'node:stream';
import { main } from '../../../src/cli/main.ts';

export interface Ran {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** One command line, in this process, with its two outputs apart. */
export async function limpid(...argv: string[]): Promise<Ran> {
  const stdout = collect();
  const stderr = collect();
  const code = await main(argv, {
    webRoot: 'dist/web',
    stdout: stdout.stream,
    stderr: stderr.stream,
    stopped: () => Promise.resolve(),
  });
  return { code, stdout: stdout.text(), stderr: stderr.text() };
}

function collect(): { stream: PassThrough; text: () => string } {
  const stream = new PassThrough();
  let all = '';
  stream.on('data', (chunk: Buffer) => {
    all += chunk.toString();
  });
  return { stream, text: () => all };
}
