import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { nearest } from '../../core/message/nearest.ts';
import { type Command, type Input, numberOption, WrongUse } from '../command.ts';

/** A whole simulated run as a recording, with its truth beside it. */
export const simulate: Command = {
  name: 'simulate',
  summary: 'Write a whole simulated run as a recording, with what was truly so beside it (truth.json).',
  args: [
    { name: 'scenario', about: 'name of a scenario (--list shows them)', optional: true },
    { name: 'folder', about: 'where to write; made if absent', optional: true },
  ],
  options: [
    { flags: '--list', about: 'list the scenarios and what each is there to show' },
    { flags: '--seed <number>', about: 'which of the endless variants of the scenario (default: 1)' },
  ],
  examples: ['limpid simulate --list', 'limpid simulate ordinary one-run --seed 7', 'limpid analyse one-run'],
  run: runSimulate,
};

async function runSimulate({ args, options, out }: Input): Promise<number> {
  const { families } = await import('../../../simulators/scenarios/families.ts');
  const [name = '', folder = ''] = args;
  if (options['list'] === true || name === '') {
    if (options['list'] !== true) throw new WrongUse('Which scenario? limpid simulate --list shows them.');
    const scenarios = families.map((f) => ({ name: f.name, about: f.about }));
    out.result({ scenarios }, scenarios.map((s) => `${s.name.padEnd(22)} ${s.about}`).join('\n'));
    return 0;
  }
  const names = families.map((f) => f.name);
  if (!names.includes(name)) {
    const near = nearest(name, names);
    throw new WrongUse(
      `There is no scenario "${name}".${near ? ` Did you mean "${near}"?` : ''} There is: ${names.join(', ')}.`,
    );
  }
  if (folder === '') throw new WrongUse('Where to? Name a folder after the scenario.');
  const seed = numberOption(options, 'seed') ?? 1;
  if (!Number.isInteger(seed) || seed < 0) throw new WrongUse(`--seed is a whole number from 0; got ${seed}.`);
  const { simulateRun } = await import('../../../simulators/dataset.ts');
  const { writeRecording } = await import('../../recording/recording.ts');
  out.say(`Simulating ${name}, seed ${seed} ...`);
  const { context, samples, events, truth } = simulateRun(name, seed);
  const runId = `simulated-${name}-${seed}`;
  const title = `Simulated: ${name}, seed ${seed}`;
  writeRecording(folder, { context: { ...context, run_id: runId, title, simulated: true }, samples, events });
  writeFileSync(join(folder, 'truth.json'), `${JSON.stringify(truth)}\n`);
  const lastS = samples.at(-1)?.timeS ?? 0;
  out.result(
    { run: runId, folder, samples: samples.length, events: events.length, duration_s: lastS },
    `${samples.length} samples and ${events.length} events over ${Math.round(lastS / 60)} minutes are in ${folder}.`,
  );
  return 0;
}
