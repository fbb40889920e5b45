import type { Section } from './block.ts';
import { isSaid } from './fact.ts';
import { facts, type NotMeasured } from './facts.ts';
import { gather } from '../core/audit/gather.ts';
import { type Gathered, isByOtherKey, isChanged, type ReportInput } from './gather.ts';
import { exceptions, headline } from './exceptions.ts';
import { emitterSection } from './parts/emitters.ts';
import { kitSection } from './parts/kit.ts';
import { figuresSection } from './parts/figures.ts';
import { photosSection } from './parts/photos.ts';
import { recordSection } from './parts/record.ts';
import { stagesSection } from './parts/stages.ts';
import { summarySection } from './parts/summary.ts';
import { surveySection } from './parts/survey.ts';
import { rinseSection, waterSection } from './parts/water.ts';
import { sealSection } from './parts/seal.ts';
import { sealGone } from './seal-gone.ts';

/** What the report says, before it is laid out: the same for paper, page and label. */
export interface Report {
  readonly v: 1;
  readonly lang: 'en';
  readonly title: string;
  readonly runId: string;
  readonly madeAt: string;
  /** Said on every page: `Draft: not sealed`, `Sealed, and the seal is not here`, `The record was changed`, `Sealed by another key`, `Simulated water`. */
  readonly marks: readonly string[];
  readonly headline: string;
  readonly exceptions: readonly string[];
  readonly facts: ReturnType<typeof facts>;
  readonly notMeasured: readonly NotMeasured[];
  readonly sections: readonly Section[];
  /** JPEG or PNG by the name that the sections use. */
  readonly photos: ReadonlyMap<string, Uint8Array>;
}

function marksOf(g: Gathered): string[] {
  const { input } = g;
  const marks: string[] = [];
  const gone = sealGone(g);
  if (gone) marks.push(gone.isCutShort ? 'Draft: its sealing was cut short' : 'Sealed, and the seal is not here');
  else if (input.seal === null) marks.push('Draft: not sealed');
  if (input.seal?.state === 'broken') marks.push('The seal does not fit this record');
  else if (isByOtherKey(input)) marks.push('Sealed by another key');
  else if (isChanged(input)) marks.push('The record was changed');
  if (input.head.simulated) marks.push('Simulated water');
  return marks;
}

/** The report of a run, or of as much of a run as there is: what is not there is said with its reason. Pure. */
export function makeReport(input: ReportInput): Report {
  const g = gather(input);
  const all = facts(g);
  const notMeasured = Object.values(all).flatMap(({ label, fact }) =>
    isSaid(fact) ? [] : [{ label, because: fact.missing }],
  );
  const found = exceptions(g);
  const about = { facts: all, exceptions: found, notMeasured, headline: headline(g) };
  return {
    v: 1,
    lang: 'en',
    title: input.head.title || `Run ${input.head.runId}`,
    runId: input.head.runId,
    madeAt: input.madeAt,
    marks: marksOf(g),
    photos: input.beside?.photos ?? new Map<string, Uint8Array>(),
    ...about,
    sections: [
      summarySection(g, about),
      surveySection(g, all),
      stagesSection(g),
      emitterSection(g),
      waterSection(g, all),
      rinseSection(g),
      ...photosSection(g),
      recordSection(g, about),
      kitSection(g),
      sealSection(g),
      figuresSection(g),
    ],
  };
}
