import { CommanderError, Command as Parser } from 'commander';
import { Problem } from '../core/message/problem.ts';
import { type Command, type Option, WrongUse } from './command.ts';
import { commands } from './commands.ts';
import { createOutput } from './output.ts';
import { version } from './version.ts';

/** Where a command line runs: a terminal, or a test. */
export interface Surroundings {
  /** Folder of the built pages. */
  readonly webRoot: string;
  readonly stdout: NodeJS.WritableStream;
  readonly stderr: NodeJS.WritableStream;
  /** Called by a command that runs until it is stopped; resolves when the user asks for that. */
  readonly stopped: () => Promise<void>;
}

/** Runs one command line. Returns the exit code: 0 done, 1 it did not work, 2 wrong use. */
export async function main(argv: readonly string[], io: Surroundings): Promise<number> {
  let code = 0;
  const program = new Parser('limpid')
    .description('Companion beside a heating flushing rig: says when the return line runs clear, and keeps the proof.')
    .version(version)
    .exitOverride()
    .configureOutput({ writeOut: (text) => io.stdout.write(text), writeErr: (text) => io.stderr.write(text) })
    .addHelpText('after', '\nExamples:\n  limpid start\n  limpid analyse FOLDER --json\n  limpid doctor');
  for (const command of commands) {
    addCommand(program, command, io, (result) => {
      code = result;
    });
  }
  try {
    if (argv.length === 0) program.help({ error: true });
    await program.parseAsync([...argv], { from: 'user' });
    return code;
  } catch (error) {
    return codeOf(error, io.stderr);
  }
}

function addCommand(program: Parser, command: Command, io: Surroundings, done: (code: number) => void): void {
  const parser = program
    .command(command.name)
    .description(command.summary)
    .exitOverride()
    .allowExcessArguments(false)
    .addHelpText('after', `\nExamples:\n${command.examples.map((e) => `  ${e}`).join('\n')}`);
  for (const arg of command.args) parser.argument(arg.optional ? `[${arg.name}]` : `<${arg.name}>`, arg.about);
  for (const option of command.options) {
    if (option.many) parser.option<string[]>(option.flags, option.about, (value, all) => [...all, value], []);
    else if (option.flags.includes('<')) parser.option(option.flags, option.about, valueOf(option, command));
    else parser.option(option.flags, option.about);
  }
  parser.option('--json', 'the result as JSON, alone on stdout');
  parser.action(async () => {
    const { json, ...options } = parser.opts<{ json?: boolean }>();
    const out = createOutput(json === true, io.stdout, io.stderr, process.env['LIMPID_LOG'] === 'json');
    const args = command.args.map((_, i) => parser.args[i] ?? '');
    done(await command.run({ args, options, out, webRoot: io.webRoot, stopped: io.stopped }));
  });
}

/** The parser takes whatever follows for the value: an option that follows was meant as one. */
function valueOf({ flags, about }: Option, command: Command): (value: string) => string {
  const own = new Set(['--json', ...command.options.map((o) => o.flags.split(' ')[0])]);
  const [name, value] = flags.split(' ');
  return (given) => {
    if (!own.has(given)) return given;
    throw new WrongUse(
      `${name} wants ${value} after it, and ${given} is an option of its own. Give one, or leave ${name} out. ${flags}: ${about}.`,
    );
  };
}

function codeOf(error: unknown, stderr: NodeJS.WritableStream): number {
  if (error instanceof CommanderError) {
    if (error.exitCode === 0) return 0;
    if (error.code !== 'commander.help') stderr.write('See: limpid --help, limpid COMMAND --help\n');
    return 2;
  }
  if (error instanceof WrongUse) {
    stderr.write(`${error.message}\n`);
    return 2;
  }
  if (error instanceof Problem) {
    stderr.write(`${error.message}\n`);
    return error.code.startsWith('config.') ? 2 : 1;
  }
  stderr.write(
    `Limpid met a fault of its own: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
  );
  return 1;
}
