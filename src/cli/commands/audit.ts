import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Across, Group } from '../../core/audit/across.ts';
import type { Audit } from '../../core/audit/audit.ts';
import type { KitDrift } from '../../core/audit/drift.ts';
import type { AuditSettings } from '../../core/audit/settings.ts';
import type { RunSummary } from '../../core/audit/summary.ts';
import { say } from '../../core/message/message.ts';
import { Problem } from '../../core/message/problem.ts';
import type { AuditInput } from '../../run/audit-input.ts';
import { type Command, dataOption, type Input, textOption, WrongUse } from '../command.ts';
import { dataFolder, withStore } from '../with-store.ts';

/** What an auditor should look at. */
export const audit: Command = {
  name: 'audit',
  summary: 'Hold a run to the rules of the job: what an auditor should look at, with where and why.',
  args: [{ name: 'subject', about: 'folder of a recording, or id of a run; with --across a folder that holds many' }],
  options: [
    { flags: '--rules <file>', about: 'JSON file of a firm’s own rules and limits' },
    { flags: '--across', about: 'every recording in the folder: figures side by side, and kits that drift' },
    { flags: '--by <what>', about: 'with --across: month (default), engineer, rig or emitter-type' },
    dataOption,
  ],
  examples: [
    'limpid audit old-run',
    'limpid audit old-run --rules our-rules.json --json',
    'limpid audit run-20260102-0304',
    'limpid audit recordings --across --by engineer',
  ],
  async run(input) {
    const folder = input.args[0] ?? '';
    const settings = await settingsOf(input);
    return input.options['across'] === true
      ? await auditMany(input, folder, settings)
      : await auditOne(input, folder, settings);
  },
};

async function settingsOf({ options }: Input): Promise<AuditSettings | undefined> {
  const file = textOption(options, 'rules');
  if (file === undefined) return undefined;
  if (!existsSync(file)) throw new WrongUse(`There is no file ${file} (--rules).`);
  const { readAuditSettings } = await import('../../core/audit/read-settings.ts');
  try {
    return readAuditSettings(readFileSync(file, 'utf8'), file);
  } catch (error) {
    if (error instanceof Problem) throw new WrongUse(error.message);
    throw error;
  }
}

async function auditOne(input: Input, subject: string, settings: AuditSettings | undefined): Promise<number> {
  const { audit: hold } = await import('../../core/audit/audit.ts');
  const { record, remarks } = await readSubject(input, subject);
  for (const remark of remarks) input.out.say(say(remark));
  const result = hold(record, settings);
  const { findings, counts, notApplicable, rules, figures, v } = result;
  input.out.result(
    { v, run: record.head.runId, counts, findings, notApplicable, rules, figures },
    inWords(record.head.runId, result),
  );
  return 0;
}

async function readSubject({ options }: Input, subject: string): Promise<AuditInput> {
  const { auditOfRecording } = await import('../../run/audit-input.ts');
  if (existsSync(join(subject, 'recording.csv'))) return auditOfRecording(subject);
  const data = dataFolder(options);
  if (!existsSync(data)) throw new Problem('report-no-subject', { subject });
  const { reportOfRun } = await import('../../run/report-input.ts');
  let found: AuditInput | null = null;
  await withStore(options, (store) => {
    const run = store.openRun(subject);
    if (run) found = { record: reportOfRun(run, { data }, new Date().toISOString()), remarks: [] };
    return 0;
  });
  if (found === null) throw new Problem('report-no-subject', { subject });
  return found;
}

function countsInWords({ serious, warning, note }: Audit['counts']): string {
  return `${serious} serious, ${warning} ${warning === 1 ? 'warning' : 'warnings'}, ${note} ${note === 1 ? 'note' : 'notes'}`;
}

function inWords(runId: string, { findings, counts, notApplicable }: Audit): string {
  const lines = findings.map((f) => {
    const where = f.spans.length > 0 ? ` At ${f.spans.map(spanInWords).slice(0, 4).join(', ')}.` : '';
    return `${f.severity.padEnd(8)} ${f.title}. ${f.text}${where}`;
  });
  const untold = notApplicable.map((n) => `  ${n.id}: ${n.because}`);
  return [
    `${runId}: ${countsInWords(counts)}.`,
    ...lines,
    ...(untold.length > 0 ? ['Not to be judged here:', ...untold] : []),
  ].join('\n');
}

function spanInWords([fromS, toS]: readonly [number, number]): string {
  const [from, to] = [Math.round(fromS), Math.round(toS)];
  return from === to ? `${from} s` : `${from}-${to} s`;
}

const ways = ['month', 'engineer', 'rig', 'emitter-type'] as const;

interface Refused {
  readonly folder: string;
  readonly code: string;
  readonly text: string;
}

async function auditMany(
  { options, out }: Input,
  folder: string,
  settings: AuditSettings | undefined,
): Promise<number> {
  const asked = textOption(options, 'by') ?? 'month';
  const by = ways.find((w) => w === asked);
  if (!by) throw new WrongUse(`--by is one of ${ways.join(', ')}; got "${asked}".`);
  const { across } = await import('../../core/audit/across.ts');
  const { kitDrifts } = await import('../../core/audit/drift.ts');
  const { summaries, refused } = await summariesIn(folder, settings, out.say);
  for (const { text } of refused) out.say(text);
  if (summaries.length === 0) throw new Problem('audit.no-recording', { folder });
  const found = across(summaries, by);
  const drifts = kitDrifts(summaries);
  out.result({ v: 1, across: found, drifts, runs: summaries, refused }, acrossInWords(found, drifts));
  return 0;
}

async function summariesIn(
  folder: string,
  settings: AuditSettings | undefined,
  tell: (line: string) => void,
): Promise<{ summaries: RunSummary[]; refused: Refused[] }> {
  const { auditOfRecording } = await import('../../run/audit-input.ts');
  const { auditGathered } = await import('../../core/audit/audit.ts');
  const { gather } = await import('../../core/audit/gather.ts');
  const { summarise } = await import('../../core/audit/summary.ts');
  const found = statSync(folder, { throwIfNoEntry: false });
  if (!found) throw new Problem('recording-no-folder', { folder });
  if (!found.isDirectory()) throw new Problem('recording-not-a-folder', { folder });
  const names = readdirSync(folder, { withFileTypes: true })
    .filter((e) => e.isDirectory() && existsSync(join(folder, e.name, 'recording.csv')))
    .map((e) => e.name)
    .sort();
  const summaries: RunSummary[] = [];
  const refused: Refused[] = [];
  for (const [i, name] of names.entries()) {
    tell(`${i + 1} of ${names.length}: ${name}`);
    try {
      const run = gather(auditOfRecording(join(folder, name)).record);
      const summary = summarise(run, auditGathered(run, settings));
      // Recordings from elsewhere seldom say who they are; their folder does.
      summaries.push(run.input.head.context.run_id === undefined ? { ...summary, runId: name } : summary);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      refused.push({ folder: name, code: error.code, text: error.message });
    }
  }
  return { summaries, refused };
}

function acrossInWords(found: Across, drifts: readonly KitDrift[]): string {
  const shifted = drifts.filter((d) => d.shift !== null);
  return [
    `${counted(found.runs, 'run')} by ${found.by}.`,
    ...found.groups.map(groupInWords),
    ...(shifted.length === 0 ? ['No kit drifts, as far as these runs show.'] : shifted.map(driftInWords)),
  ].join('\n');
}

const counted = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

function groupInWords(group: Group): string {
  const time = group.measures['clearAfterS'];
  const passes = group.measures['passes'];
  const water = group.measures['waterUsedL'];
  return [
    `${group.key || '(not said)'}: ${counted(group.runs, 'run')}, ${counted(group.visits, 'visit')}, ${group.cleared} left clear`,
    ...(time
      ? [`time to clear ${time.median.toFixed(0)} s (middle half ${time.q1.toFixed(0)}-${time.q3.toFixed(0)})`]
      : []),
    ...(passes ? [counted(passes.median, 'pass', 'passes')] : []),
    ...(water ? [`${water.median.toFixed(0)} l of water`] : []),
    `${counted(group.overrides, 'override')}, ${counted(group.falseStarts, 'false start')}`,
  ].join('; ');
}

function driftInWords({ rig, title, unit, shift }: KitDrift): string {
  if (!shift) return '';
  const by = `${shift.by > 0 ? '+' : ''}${shift.by.toPrecision(2)}${unit === '' ? '' : ` ${unit}`}`;
  return `Kit ${rig}: "${title}" moved by ${by} from run ${shift.fromRunId} on (sure at ${shift.saidRunId}). Look at its sensor and its calibration.`;
}
