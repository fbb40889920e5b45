import { markerNames, type StageName, stageNames } from './event.ts';

/** A stage of a run, or one of the two markers that a recording carries as stages. */
export type StageId = StageName | (typeof markerNames)[number];

export interface Stage {
  readonly name: StageId;
  /** Plain words for people. */
  readonly title: string;
  /** The one thing to do now. */
  readonly doNow: string;
}

const titles: Readonly<Record<StageId, readonly [title: string, doNow: string]>> = {
  survey: ['Survey', 'List the emitters and the pipes; note what troubles the system'],
  'before-samples': ['Test the water before', 'Test mains water and system water'],
  join: ['Join the rig', 'Fit the rig and its hoses, then hold the pressure'],
  fill: ['Fill cold', 'Fill cold and vent'],
  dose: ['Add cleaner', 'Read the label and its safety sheet, then add the cleaner'],
  warm: ['Warm up', 'Heat gently; hot water scalds'],
  'half-fill': ['Half fill', 'Drop each emitter to about half full'],
  emitters: ['Emitter by emitter', 'Open one emitter, shut all others'],
  circulate: ['Circulate hot', 'Fill the emitters full, open all, keep it hot and flowing'],
  rinse: ['Rinse cold', 'Isolate the heat source; hose to the foul drain; mains in'],
  'after-samples': ['Test the water after', 'Test the system water again'],
  protect: ['Refit and protect', 'Refit the filter, add inhibitor, set the pressure, vent'],
  'hand-over': ['Hand over', 'Leave the record and the label with the client'],
  baseline: ['Baseline', 'All emitters open, pump on: let the return settle'],
  end: ['Run ended', 'Nothing more to do here'],
};

const table: ReadonlyMap<string, Stage> = new Map(
  [...stageNames, ...markerNames].map((name) => [name, { name, title: titles[name][0], doNow: titles[name][1] }]),
);

/** The stage of that name, or undefined when there is none. */
export function stageOf(name: string): Stage | undefined {
  return table.get(name);
}

/** The stage that usually follows; after the baseline come the emitters, after hand-over the end. */
export function nextStage(name: StageId | null): StageId | null {
  if (name === null) return 'survey';
  if (name === 'baseline') return 'emitters';
  if (name === 'end') return null;
  return stageNames[stageNames.indexOf(name) + 1] ?? 'end';
}

/** True when the stage comes before the work on single emitters: an emitter opened now would not be a visit. */
export function isBeforeEmitters(name: StageId | null): boolean {
  if (name === null || name === 'baseline') return true;
  return name !== 'end' && stageNames.indexOf(name) < stageNames.indexOf('emitters');
}
