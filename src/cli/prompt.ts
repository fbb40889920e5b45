import { createInterface, type Interface } from 'node:readline/promises';
import { Writable } from 'node:stream';
import { WrongUse } from './command.ts';

/** Questions to the person at the terminal. */
export interface Prompt {
  /** The answer, trimmed; the one in brackets when nothing was typed. Throws WrongUse: nobody can answer. */
  ask(question: string, usual?: string): Promise<string>;
  close(): void;
}

/** Asks on stderr, so that stdout holds the result alone. */
export function terminalPrompt(): Prompt {
  const lines = createInterface({ input: process.stdin, output: process.stderr });
  return {
    async ask(question, usual) {
      const asked = `${question}${usual === undefined ? '' : ` [${usual}]`} `;
      const answer = await answerTo(lines, asked, 'There is nobody to answer: run this at a terminal.');
      return answer.trim() === '' ? (usual ?? '') : answer.trim();
    },
    close: () => lines.close(),
  };
}

/**
 * One answer that is not shown while it is typed; piped in, the first line.
 *
 * @param otherwise what to do where nobody can answer
 */
export async function askHidden(question: string, otherwise: string): Promise<string> {
  process.stderr.write(question);
  const nowhere = new Writable({ write: (_chunk, _encoding, done) => done() });
  const lines = createInterface({ input: process.stdin, output: nowhere, terminal: process.stdin.isTTY });
  try {
    return await answerTo(lines, '', otherwise);
  } finally {
    lines.close();
    process.stderr.write('\n');
  }
}

/** A question whose input has ended is answered by nobody, ever: refused. */
async function answerTo(lines: Interface, question: string, otherwise: string): Promise<string> {
  let forget = (): void => undefined;
  try {
    return await new Promise<string>((resolve, reject) => {
      const end = (): void => reject(new WrongUse(otherwise));
      // What is piped in without a line end comes as a line, and not as the answer.
      lines.once('line', resolve);
      lines.once('close', end);
      forget = () => lines.off('line', resolve).off('close', end);
      lines.question(question).then(resolve, reject);
    });
  } finally {
    forget();
  }
}
