import { type Message, say } from '../message/message.ts';
import { figureList, figuresOf, type RunFigures } from './figures.ts';
import {
  countOpen,
  type Finding,
  type NotApplicable,
  severities,
  type Severity,
  type SeverityCounts,
} from './finding.ts';
import { gather, type Gathered } from './gather.ts';
import type { RunRecord } from './record.ts';
import type { Evidence, Rule } from './rule.ts';
import { rules } from './rules.ts';
import { type AuditSettings, defaultAuditSettings, type OwnRule } from './settings.ts';
import { type VisitSummary, visitSummaries } from './visit-summary.ts';

/** A rule as it was held to a run. */
export interface HeldRule {
  readonly id: string;
  readonly severity: Severity;
  readonly limits: Readonly<Record<string, number>>;
}

/** What an audit says of a run. */
export interface Audit {
  readonly v: 1;
  /** The gravest first, then in the order of time. */
  readonly findings: readonly Finding[];
  readonly notApplicable: readonly NotApplicable[];
  /** The whole grade: how many of each severity. */
  readonly counts: SeverityCounts;
  /** Rules with their limits, so that it can be done again. */
  readonly rules: readonly HeldRule[];
  readonly figures: RunFigures;
  readonly visits: readonly VisitSummary[];
}

/** Holds a run to the rules. Pure; the same record and settings give the same findings in the same order. */
export function audit(record: RunRecord, settings: AuditSettings = defaultAuditSettings): Audit {
  return auditGathered(gather(record), settings);
}

/** The same for a run that was gathered already. */
export function auditGathered(run: Gathered, settings: AuditSettings = defaultAuditSettings): Audit {
  const visits = visitSummaries(run);
  const figures = figuresOf(run, visits);
  const findings: Finding[] = [];
  const notApplicable: NotApplicable[] = [];
  const held: HeldRule[] = [];
  for (const one of rules) {
    const tuned = settings.rules[one.id];
    if (tuned?.on === false) continue;
    const limits = limitsOf(one, tuned?.thresholds ?? {});
    held.push({ id: one.id, severity: tuned?.severity ?? one.severity, limits });
    const judged = one.judge(run, limits);
    if (judged.applies) findings.push(...judged.found.map((e) => findingOf(one, tuned?.severity, e, run.endS)));
    else notApplicable.push({ id: one.id, title: one.title, because: say(judged.because) });
  }
  for (const own of settings.own) {
    held.push({ id: own.id, severity: own.severity, limits: { value: own.value } });
    const value = figures[own.figure] ?? null;
    if (value !== null) findings.push(...ownFindings(own, value));
    else notApplicable.push({ id: own.id, title: own.title, because: noFigure(own) });
  }
  const ordered = findings.toSorted(gravestFirst);
  return { v: 1, findings: ordered, notApplicable, counts: countOpen(ordered), rules: held, figures, visits };
}

function limitsOf(one: Rule, tuned: Readonly<Record<string, number>>): Record<string, number> {
  return Object.fromEntries(Object.entries(one.thresholds).map(([name, t]) => [name, tuned[name] ?? t.default]));
}

function findingOf(one: Rule, tuned: Severity | undefined, e: Evidence, endS: number): Finding {
  const within = (s: number): number => Math.min(Math.max(0, s), endS);
  const said: Message = { code: `audit.${one.id}`, params: e.params };
  return {
    id: one.id,
    key: e.subject === '' ? one.id : `${one.id}:${e.subject}`,
    severity: tuned ?? e.severity ?? one.severity,
    title: one.title,
    text: say(said),
    why: one.why,
    source: one.source,
    spans: e.spans.map(([fromS, toS]) => [within(fromS), within(toS)] as const).toSorted((a, b) => a[0] - b[0]),
    figures: Object.fromEntries(Object.entries(e.figures).filter(([, value]) => Number.isFinite(value))),
    emitter: e.emitter ?? '',
    stage: e.stage ?? '',
  };
}

const holds: Readonly<Record<OwnRule['op'], (value: number, limit: number) => boolean>> = {
  '<': (value, limit) => value < limit,
  '<=': (value, limit) => value <= limit,
  '>': (value, limit) => value > limit,
  '>=': (value, limit) => value >= limit,
};

function ownFindings(own: OwnRule, value: number): Finding[] {
  if (!holds[own.op](value, own.value)) return [];
  const { title, unit } = figureList[own.figure] ?? { title: own.figure, unit: '' };
  const params = { title, value, unit, op: own.op, limit: own.value };
  return [
    {
      id: own.id,
      key: own.id,
      severity: own.severity,
      title: own.title,
      text: say({ code: 'audit.own', params }),
      why: own.why,
      source: own.source,
      spans: [],
      figures: { [own.figure]: value },
      emitter: '',
      stage: '',
    },
  ];
}

function noFigure({ figure }: OwnRule): string {
  const title = figureList[figure]?.title ?? figure;
  return say({ code: 'audit.because-no-figure', params: { figure: title } });
}

function gravestFirst(a: Finding, b: Finding): number {
  const weight = severities.indexOf(a.severity) - severities.indexOf(b.severity);
  return weight !== 0 ? weight : (a.spans[0]?.[0] ?? 0) - (b.spans[0]?.[0] ?? 0);
}
