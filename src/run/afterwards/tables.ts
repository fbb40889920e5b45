import type { CommentView, LookedAtRun } from '../../core/audit/page-schema.ts';
import { csvCell, csvNumber, guardText } from '../../recording/csv.ts';

/** A text from a person as a cell: a spreadsheet must not take it for a formula. */
const words = (text: string): string => csvCell(guardText(text));
const table = (rows: readonly (readonly string[])[]): string => rows.map((row) => `${row.join(',')}\r\n`).join('');

/** One row a visit. */
export function visitsCsv(looked: LookedAtRun): string {
  const header =
    'emitter,name,visit,from_s,to_s,passes,pulses,peak_ntu,clear_at_s,verdict,done,withheld,litres,solids_g,reason,at_least';
  return table([
    header.split(','),
    ...looked.visits.map((v) => {
      const peaks = v.pulses.flatMap((p) => (p.peakNtu === null ? [] : [p.peakNtu]));
      const last = v.clears.at(-1);
      const stands = last !== undefined && v.state === 'clear' ? last[0] : null;
      return [
        words(v.emitter),
        words(v.name),
        csvNumber(v.visit),
        csvNumber(v.fromS),
        csvNumber(v.toS),
        csvNumber(v.passesS.length),
        csvNumber(v.pulses.length),
        csvNumber(peaks.length > 0 ? Math.max(...peaks) : null),
        csvNumber(stands),
        v.state,
        String(v.done),
        String(v.withheld),
        csvNumber(v.litres),
        csvNumber(v.solidsG),
        words(v.reason),
        String(v.isLeast),
      ];
    }),
  ]);
}

/** One row a finding, with what became of it. */
export function findingsCsv(looked: LookedAtRun, comments: readonly CommentView[]): string {
  return table([
    'severity,id,title,text,from_s,to_s,emitter,stage,state,closed_by,closed_because,source'.split(','),
    ...looked.findings.map((f) => {
      const last = comments.findLast((c) => c.finding === f.key && (c.kind === 'close' || c.kind === 'reopen'));
      const isClosed = last?.kind === 'close';
      return [
        f.severity,
        f.id,
        words(f.title),
        words(f.text),
        csvNumber(f.spans[0]?.[0] ?? null),
        csvNumber(f.spans.at(-1)?.[1] ?? null),
        words(f.emitter),
        f.stage,
        isClosed ? 'closed' : 'open',
        words(isClosed ? last.by : ''),
        words(isClosed ? last.text : ''),
        words(f.source),
      ];
    }),
  ]);
}
