import { z } from 'zod';
import { emitterContent, emitterTypes, type Content } from '../circuit/emitter.ts';
import { visitingOrder, type Proposed } from '../circuit/order.ts';
import { systemVolume } from '../circuit/system-volume.ts';
import { boreMm, findTube, runLitres } from '../circuit/tube.ts';
import { exact, sum, type Uncertain, withShare } from '../quantity/interval.ts';
import type { Refusal } from '../quantity/refusal.ts';
import type { RunContext } from './context.ts';

const id = z.string().min(1).max(64);
const materials = ['steel', 'cast-iron', 'copper', 'aluminium', 'stainless', 'plastic'] as const;

/**
 * A saved survey of one system, version 1. Pipe runs form a tree towards the rig: `towards` names the run that comes
 * next on the way back; none means that it ends at the rig. A run counted both ways (flow and return side by side) is
 * the usual case. Lengths are each way.
 */
export const surveySchema = z.object({
  v: z.literal(1),
  system: z.enum(['sealed', 'open-vented']),
  emitters: z.array(
    z.object({
      id,
      name: z.string().min(1).max(200),
      room: z.string().max(200).default(''),
      floor: z.number().int().min(-5).max(60).default(0),
      type: z.enum(emitterTypes),
      material: z.enum(materials).default('steel'),
      litres: z.number().optional(),
      lengthMm: z.number().optional(),
      heightMm: z.number().optional(),
      sections: z.number().optional(),
      innerMm: z.number().optional(),
      tubeM: z.number().optional(),
      /** The run that its outlet joins. */
      run: id.optional(),
    }),
  ),
  runs: z.array(
    z.object({
      id,
      tube: z.string().optional(),
      innerMm: z.number().optional(),
      lengthM: z.number(),
      ways: z.union([z.literal(1), z.literal(2)]).default(2),
      towards: id.optional(),
    }),
  ),
  /** What else holds water: heat source, buffer, rig and hoses. */
  others: z.array(
    z.object({ id, name: z.string().min(1).max(200), litres: z.number(), isRig: z.boolean().default(false) }),
  ),
  note: z.string().max(2000).default(''),
});
export type Survey = z.infer<typeof surveySchema>;
type Run = Survey['runs'][number];

export interface SurveyedEmitter {
  readonly id: string;
  readonly content: Content;
  /** Pipe litres from its outlet to the rig; null when no run is named. */
  readonly pathL: Uncertain | null;
}

export interface SurveyResult {
  readonly volume: Uncertain;
  readonly emitters: readonly SurveyedEmitter[];
  readonly order: readonly Proposed[];
  /** Emitters that a hard hammer breaks or dents: soft mallet only. */
  readonly softMallet: readonly string[];
}

export interface SurveyProblem {
  /** Emitter, run or other part. */
  readonly part: string;
  readonly refusal: Refusal;
}

/** Length of a run paced out or read from a plan: a tenth, one standard uncertainty. Our own estimate, no source. */
const runShare = 0.1;

/** Everything that follows from a survey, or all that is wrong with it. */
export function workOut(survey: Survey): {
  readonly result: SurveyResult | null;
  readonly problems: readonly SurveyProblem[];
} {
  const problems: SurveyProblem[] = [...doubled(survey)];
  const runs = new Map<string, { run: Run; litres: number }>();
  for (const run of survey.runs) {
    const litres = litresOf(run);
    if (typeof litres === 'number') runs.set(run.id, { run, litres });
    else problems.push({ part: run.id, refusal: litres });
  }
  const emitters: SurveyedEmitter[] = [];
  for (const e of survey.emitters) {
    const content = emitterContent(e);
    const path = e.run === undefined ? null : pathOf(e.run, runs);
    if (!content.ok) problems.push({ part: e.id, refusal: content.refusal });
    if (path && 'code' in path) problems.push({ part: e.id, refusal: path });
    else if (content.ok) emitters.push({ id: e.id, content: content.value, pathL: path });
  }
  if (survey.emitters.length === 0)
    problems.push({ part: 'survey', refusal: { code: 'survey-no-emitter', params: {} } });
  if (problems.length > 0) return { result: null, problems };
  const pipes = [...runs.values()].map(({ run, litres }) => withShare(litres * run.ways, runShare));
  const others = survey.others.map((o) => withShare(o.litres, 0.05));
  const placed = survey.emitters.map((e) => ({
    id: e.id,
    floor: e.floor,
    pathL: emitters.find((x) => x.id === e.id)?.pathL?.value ?? null,
  }));
  const result: SurveyResult = {
    volume: systemVolume([...emitters.map((e) => e.content.litres), ...pipes, ...others]),
    emitters,
    order: visitingOrder(placed),
    softMallet: survey.emitters
      .filter((e) => e.material === 'cast-iron' || e.material === 'aluminium')
      .map((e) => e.id),
  };
  return { result, problems: [] };
}

function doubled(survey: Survey): readonly SurveyProblem[] {
  const seen = new Set<string>();
  const out: SurveyProblem[] = [];
  for (const part of [...survey.emitters, ...survey.runs, ...survey.others]) {
    if (seen.has(part.id)) out.push({ part: part.id, refusal: { code: 'survey-doubled', params: { id: part.id } } });
    seen.add(part.id);
  }
  for (const o of survey.others) {
    if (!(o.litres > 0 && o.litres <= 100000))
      out.push({
        part: o.id,
        refusal: {
          code: 'out-of-range',
          params: { what: `water in ${o.name}`, found: o.litres, low: 0, high: 100000, unit: 'l' },
        },
      });
  }
  return out;
}

function litresOf(run: Run): number | Refusal {
  let inner = run.innerMm;
  if (inner === undefined) {
    const found = findTube(run.tube ?? '');
    if (!found.ok) return found.refusal;
    inner = boreMm(found.value);
  }
  const litres = runLitres(inner, run.lengthM);
  return litres.ok ? litres.value : litres.refusal;
}

function pathOf(first: string, runs: ReadonlyMap<string, { run: Run; litres: number }>): Uncertain | Refusal {
  const walked: string[] = [];
  let litres: Uncertain = exact(0);
  for (let at: string | undefined = first; at !== undefined; ) {
    const found = runs.get(at);
    if (!found) return { code: 'survey-run-unknown', params: { run: at } };
    if (walked.includes(at)) return { code: 'survey-run-circle', params: { runs: [...walked, at].join(' > ') } };
    walked.push(at);
    litres = sum(litres, withShare(found.litres, runShare));
    at = found.run.towards;
  }
  return litres;
}

/**
 * The part of a run's context that a survey gives. An emitter without a known path leaves `path_l` out, and the mean of
 * those known serves. Once round the loop, with one emitter open: rig, flow pipe, emitter, return pipe, mean over
 * emitters, the flow pipe taken as long as the return.
 */
export function contextOf(
  survey: Survey,
  result: SurveyResult,
): Pick<RunContext, 'emitters' | 'loop_volume_l' | 'return_volume_l' | 'system'> {
  const known = result.emitters.flatMap((e) => (e.pathL ? [e.pathL.value] : []));
  const meanPath = known.length > 0 ? known.reduce((a, b) => a + b, 0) / known.length : 0;
  const meanEmitter = result.emitters.reduce((a, e) => a + e.content.litres.value, 0) / result.emitters.length;
  const rig = survey.others.filter((o) => o.isRig).reduce((a, o) => a + o.litres, 0);
  return {
    emitters: result.emitters.map((e) => ({
      id: e.id,
      name: survey.emitters.find((s) => s.id === e.id)?.name ?? e.id,
      volume_l: e.content.litres.value,
      ...(e.pathL ? { path_l: e.pathL.value } : {}),
    })),
    loop_volume_l: rig + 2 * meanPath + meanEmitter,
    return_volume_l: meanPath,
    system: survey.system,
  };
}
