import { causeOf } from '../../core/message/cause.ts';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { RecordingResult } from '../../core/analyse-recording.ts';
import type { RunContext } from '../../core/job/context.ts';
import type { RunRecord } from '../../core/audit/record.ts';
import { readLineSettings } from '../../core/line/read-settings.ts';
import type { Recording } from '../../recording/recording.ts';
import { type LineSettings, understood } from '../../core/line/settings.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import { type Command, textOption, WrongUse } from '../command.ts';

/** A recording through the very code that runs live. */
export const analyse: Command = {
  name: 'analyse',
  summary: 'Drive a recording through the code that runs live: visits, verdicts, pulses, rinse, notices.',
  args: [{ name: 'recording', about: 'folder that holds recording.csv and context.json' }],
  options: [
    { flags: '--hindsight', about: 'use what came later, too; without it everything said is causal' },
    { flags: '--settings <file>', about: 'JSON file of settings that differ from those that the run was judged by' },
  ],
  examples: ['limpid analyse old-run', 'limpid analyse old-run --json > verdicts.json'],
  async run({ args, options, out }) {
    const folder = args[0] ?? '';
    const file = textOption(options, 'settings');
    const asked = file === undefined ? undefined : readSettings(file);
    const { settingsOf } = await import('../../core/audit/record.ts');
    const { recordOf } = await import('../../run/audit-input.ts');
    const { recording, ...proof } = await (out.isJson ? readProved(folder) : readPlain(folder));
    for (const remark of recording.remarks) out.say(say(remark));
    const record: RunRecord = { ...recordOf(recording), ...proof };
    const { strange } = understood(record.head.settings);
    if (strange.length > 0) out.say(say({ code: 'recording-settings-strange', params: { names: strange.join(', ') } }));
    const settings = settingsOf(record, asked);
    const hindsight = options['hindsight'] === true;
    // Findings are told in JSON alone; the drive they come from tells the causal verdicts as well.
    const causal = out.isJson ? await audited({ ...record, settings }) : null;
    const result =
      causal && !hindsight
        ? causal
        : { ...(await analysed(record, hindsight, settings)), findings: causal?.findings ?? [] };
    out.result(result, inWords(result, recording.context));
    return 0;
  },
};

type Read = Partial<Pick<RunRecord, 'seal' | 'faults'>> & { readonly recording: Recording };

async function readPlain(folder: string): Promise<Read> {
  const { readRecording } = await import('../../recording/recording.ts');
  return { recording: readRecording(folder) };
}

/** With how seal and chain stand, for the findings; of one that has neither there is nothing to ask. */
async function readProved(folder: string): Promise<Read> {
  const { isFile } = await import('../../recording/text-file.ts');
  if (!['seal.json', 'chain.jsonl'].some((name) => isFile(join(folder, name)))) return await readPlain(folder);
  const { readVerified, recordingOf } = await import('../../recording/recording.ts');
  const { check, read } = readVerified(folder);
  const { seal, faults } = check;
  return { recording: recordingOf(read), seal: seal.state === 'unsigned' ? null : { state: seal.state }, faults };
}

/** Through the analysis alone. */
async function analysed(record: RunRecord, hindsight: boolean, settings: LineSettings): Promise<RecordingResult> {
  const { analyseRecording } = await import('../../core/analyse-recording.ts');
  const { head, samples, late = [], entries } = record;
  const events = entries.map(({ id, event }) => ({ ...event, id }));
  return analyseRecording(head.context, hindsight ? [...samples, ...late] : samples, events, { hindsight, settings });
}

/** The causal verdicts with what `limpid audit` finds, by one drive through the recording. */
async function audited(record: RunRecord & { settings: LineSettings }): Promise<RecordingResult> {
  const { resultOf } = await import('../../core/analyse-recording.ts');
  const { auditGathered } = await import('../../core/audit/audit.ts');
  const { gather } = await import('../../core/audit/gather.ts');
  const run = gather(record);
  const findings = auditGathered(run).findings.map(({ id, severity, title, spans, figures }) => ({
    id,
    severity,
    title,
    spans,
    figures,
  }));
  return { ...resultOf(run.driven, record.settings), findings };
}

function readSettings(path: string): Partial<LineSettings> {
  try {
    return readLineSettings(readFileSync(path, 'utf8'), path);
  } catch (error) {
    if (error instanceof Problem) throw new WrongUse(error.message);
    throw new WrongUse(`${path} (--settings) cannot be read: ${causeOf(error)}`);
  }
}

function inWords({ visits, rinse, notices }: RecordingResult, { emitters }: RunContext): string {
  const named = (id: string): string => {
    const name = emitters.find((e) => e.id === id)?.name;
    return name === undefined || name === id ? id || '(no emitter)' : `${name} (${id})`;
  };
  const lines = visits.map((v) => {
    const what = v.done
      ? `done, clear from ${v.clear_at_s} s`
      : v.clear_at_s !== null
        ? `clear from ${v.clear_at_s} s`
        : v.withheld
          ? 'cannot tell'
          : 'not clear';
    return `${named(v.emitter)}, visit ${v.visit}: ${what}; ${v.pulses.length} ${v.pulses.length === 1 ? 'pulse' : 'pulses'}. ${v.reason.text}`;
  });
  if (rinse) {
    const what = rinse.clear_at_s === null ? 'not at mains level' : `at mains level from ${rinse.clear_at_s} s`;
    lines.push(`Rinse: ${what}. ${rinse.reason.text}`);
  }
  for (const { at_s, reason } of notices) lines.push(`At ${Math.round(at_s)} s: ${reason.text}`);
  return lines.length > 0 ? lines.join('\n') : 'No visit and no rinse in this recording.';
}
