/** How much a finding weighs: `serious` can leave dirt or no protection behind; `note` is only worth knowing. */
export const severities = ['serious', 'warning', 'note'] as const;
export type Severity = (typeof severities)[number];

/** Seconds of the run's clock, from and to. */
export type Span = readonly [fromS: number, toS: number];

/** One remark of an audit, with its evidence. */
export interface Finding {
  /** The rule that found it. */
  readonly id: string;
  /** Tells the findings of one run apart, and stays the same when the audit is made again: sign-off hangs on it. */
  readonly key: string;
  readonly severity: Severity;
  readonly title: string;
  /** One sentence with figures: what was found here. */
  readonly text: string;
  /** Why it matters. */
  readonly why: string;
  /** Where the rule comes from, or "common practice, no source". */
  readonly source: string;
  /** Where in the run to look; within the run, in the order of time. Empty: the run as a whole. */
  readonly spans: readonly Span[];
  /** Units in the names. */
  readonly figures: Readonly<Record<string, number>>;
  /** Emitter that it is about, '' for none. */
  readonly emitter: string;
  /** Stage that it is about, '' for none. */
  readonly stage: string;
}

/** A rule that could not be held to this run, and why: no sensor, stage skipped with a reason, not recorded. */
export interface NotApplicable {
  readonly id: string;
  readonly title: string;
  readonly because: string;
}

export type SeverityCounts = Readonly<Record<Severity, number>>;

/** The only grade of a run: how many findings of each severity stand. `closed`: keys that were signed off. */
export function countOpen(findings: readonly Finding[], closed: ReadonlySet<string> = new Set()): SeverityCounts {
  const open = findings.filter((f) => !closed.has(f.key));
  const of = (severity: Severity): number => open.filter((f) => f.severity === severity).length;
  return { serious: of('serious'), warning: of('warning'), note: of('note') };
}
