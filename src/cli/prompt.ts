import { createInterface } from 'node:readline/promises';

/** Questions to the person at the terminal. */
export interface Prompt {
  /** The answer, trimmed; the one in brackets when nothing was typed. */
  ask(question: string, usual?: string): Promise<string>;
  close(): void;
}

/** Asks on stderr, so that stdout holds the result alone. */
export function terminalPrompt(): Prompt {
  const lines = createInterface({ input: process.stdin, output: process.stderr });
  return {
    async ask(question, usual) {
      const answer = (await lines.question(`${question}${usual === undefined ? '' : ` [${usual}]`} `)).trim();
      return answer === '' ? (usual ?? '') : answer;
    },
    close: () => lines.close(),
  };
}
