/** Where a command writes: results on stdout, everything else on stderr. */
export interface Output {
  /** True when the result is JSON, alone on stdout. */
  readonly isJson: boolean;
  /** The result: the JSON value with `--json`, else the text. */
  readonly result: (value: unknown, text: string) => void;
  /** Progress and remarks, on stderr. */
  readonly say: (line: string) => void;
}

/** `isLogJson`: remarks as one JSON object a line, for a collector of logs. */
export function createOutput(
  isJson: boolean,
  stdout: NodeJS.WritableStream,
  stderr: NodeJS.WritableStream,
  isLogJson = false,
): Output {
  return {
    isJson,
    result: (value, text) => {
      stdout.write(`${isJson ? JSON.stringify(value) : text.trimEnd()}\n`);
    },
    say: (line) => {
      stderr.write(isLogJson ? `${JSON.stringify({ at: new Date().toISOString(), say: line })}\n` : `${line}\n`);
    },
  };
}
