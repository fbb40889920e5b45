/** Where a command writes: results on stdout, everything else on stderr. */
export interface Output {
  /** True when the result is JSON, alone on stdout. */
  readonly isJson: boolean;
  /** The result: the JSON value with `--json`, else the text. */
  readonly result: (value: unknown, text: string) => void;
  /** Progress and remarks, on stderr. */
  readonly say: (line: string) => void;
}

export function createOutput(isJson: boolean, stdout: NodeJS.WritableStream, stderr: NodeJS.WritableStream): Output {
  return {
    isJson,
    result: (value, text) => {
      stdout.write(`${isJson ? JSON.stringify(value) : text.trimEnd()}\n`);
    },
    say: (line) => {
      stderr.write(`${line}\n`);
    },
  };
}
