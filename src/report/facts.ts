import { nextDue } from '../core/job/stages/finish.ts';
import { typedFigure } from '../core/job/stages/stage.ts';
import { count, day, duration, type Fact, figure, missing, said } from './fact.ts';
import { dataNumber, dataText, eventsNamed } from '../core/audit/gather.ts';
import { type Gathered, sealUnfit } from './gather.ts';
import { sealGoneFact } from './seal-gone.ts';
import { quantity, unitOf, width } from './in-units.ts';
import { utcOf } from '../core/audit/wall-time.ts';
import { differenceToShown } from '../core/quantity/units.ts';

export interface LabelledFact {
  readonly label: string;
  readonly fact: Fact;
}

/** Every thing that a record must say, or say why it cannot. */
export const factNames = [
  'run',
  'site',
  'client',
  'engineer',
  'started',
  'ended',
  'localTime',
  'system',
  'emitters',
  'symptoms',
  'loopLitres',
  'surveyLitres',
  'mains',
  'waterBefore',
  'hold',
  'filledLitres',
  'volume',
  'cleaner',
  'circulation',
  'rinse',
  'waterAfter',
  'inhibitor',
  'nextCheck',
  'strength',
  'remaining',
  'solids',
  'sludge',
  'chambers',
  'reversed',
  'flowed',
  'alarms',
  'kit',
  'firmware',
  'calibration',
  'photos',
  'cautions',
  'handOver',
  'seal',
  'timeWitness',
] as const;
export type FactName = (typeof factNames)[number];
export type Facts = Readonly<Record<FactName, LabelledFact>>;

/** What is not recorded, and why. */
export interface NotMeasured {
  readonly label: string;
  readonly because: string;
}

export function facts(g: Gathered): Facts {
  return { ...who(g), ...where(g), ...work(g), ...evidence(g) };
}

/** A text that the context may carry under a name of its own. */
function noted(g: Gathered, name: string): string {
  const value = g.driven.context[name];
  return typeof value === 'string' ? value.trim() : '';
}

function orMissing(text: string, because: string): Fact {
  return text === '' ? missing(because) : said(text);
}

/** The newest event of that name that carries the text. */
function told(g: Gathered, event: string, key: string): string {
  const found = eventsNamed(g, event).findLast((e) => dataText(e.event, key) !== '');
  return found ? dataText(found.event, key) : '';
}

/** The same moment by the clock on the wall, as far as the bridge knew its zone. */
function localTime(begun: string, offsetMin: unknown): Fact {
  const beginsMs = Date.parse(begun);
  if (typeof offsetMin !== 'number' || Number.isNaN(beginsMs)) return missing('times are kept in UTC only');
  const local = new Date(beginsMs + offsetMin * 60_000).toISOString().slice(0, 16).replace('T', ' ');
  const size = Math.abs(offsetMin);
  const zone = `UTC${offsetMin < 0 ? '-' : '+'}${Math.floor(size / 60)}:${String(size % 60).padStart(2, '0')}`;
  return said(`started ${local} (${zone}, as the bridge's clock was set)`);
}

/** Names that stand in a file of their own, from there; older records hold them in the entry, and the start may too. */
function namedApart(g: Gathered, key: 'site' | 'client', because: string): Fact {
  const details = g.input.beside?.details ?? null;
  if (details === 'left-out') return missing('left out of this copy');
  return orMissing((details?.[key] ?? '').trim() || told(g, 'hand-over', key) || noted(g, key), because);
}

function who(g: Gathered): Pick<Facts, 'run' | 'site' | 'client' | 'engineer' | 'started' | 'ended' | 'localTime'> {
  const { head } = g.input;
  const { context } = g.driven;
  const wall = g.active.findLast((e) => e.wallAt !== '')?.wallAt ?? '';
  const begun = head.startedAt || String(context.started_at ?? '');
  return {
    run: { label: 'Run', fact: said(head.runId) },
    site: { label: 'Where', fact: namedApart(g, 'site', 'no address was given') },
    client: { label: 'Client', fact: namedApart(g, 'client', 'no name was given') },
    engineer: {
      label: 'Engineer',
      fact: orMissing(
        told(g, 'hand-over', 'engineer') || told(g, 'seal', 'by') || noted(g, 'engineer'),
        'nobody gave a name',
      ),
    },
    started: {
      label: 'Started',
      fact: begun
        ? utcOf(begun)
          ? said(day(begun))
          : missing(`what the recording says is no date: "${begun}"`)
        : missing('the recording does not say when'),
    },
    ended: {
      label: 'Length',
      fact: said(`${duration(g.endS)} on the run's clock${wall ? `, last entry ${day(wall)}` : ''}`),
    },
    localTime: { label: 'Local time', fact: localTime(begun, context['utc_offset_min']) },
  };
}

function where(g: Gathered): Pick<Facts, 'system' | 'emitters' | 'symptoms' | 'loopLitres' | 'surveyLitres' | 'mains'> {
  const { context } = g.driven;
  const litres = context.emitters.reduce((sum, e) => sum + e.volume_l, 0);
  const surveyed = g.driven.job.surveyTold;
  const { turbidity_ntu, conductivity_us_cm } = context.mains;
  return {
    system: {
      label: 'System',
      fact: context.system ? said(context.system) : missing('sealed or open-vented not said'),
    },
    emitters: {
      label: 'Emitters',
      fact: said(`${context.emitters.length}, holding about ${quantity(g, litres, 'volume')} (estimate)`),
    },
    symptoms: { label: 'What troubled it', fact: orMissing(noted(g, 'symptoms'), 'no symptom was noted') },
    loopLitres: {
      label: 'Once round the loop',
      fact: said(`about ${quantity(g, context.loop_volume_l, 'volume')} (estimate, 10-20 % off)`),
    },
    surveyLitres: {
      label: 'Survey',
      fact: surveyed
        ? said('made in this run; listed below')
        : missing('no survey in this run: litres as given at its start'),
    },
    mains: {
      label: 'Mains water, tested or given',
      fact: said(`${figure(turbidity_ntu, 'NTU')}, ${figure(conductivity_us_cm, 'µS/cm')}`),
    },
  };
}

function stageFact(g: Gathered, stage: string, label: string): LabelledFact {
  const stays = g.stays.filter((s) => s.stage === stage);
  const spent = stays.reduce((sum, s) => sum + s.toS - s.fromS, 0);
  return { label, fact: stays.length > 0 ? said(duration(spent)) : missing('this stage was not entered') };
}

function sampleFact(g: Gathered, water: 'before' | 'after', label: string): LabelledFact {
  const n = Object.keys(g.driven.worked.tests[water]).length;
  return {
    label,
    fact: n > 0 ? said(`${count(n, 'figure')}, listed below`) : missing('no water was tested'),
  };
}

function doseFact(g: Gathered, what: string, label: string): LabelledFact {
  const doses = eventsNamed(g, 'dose').filter((e) => dataText(e.event, 'what') === what);
  if (doses.length === 0) return { label, fact: missing(`no ${what} was recorded as added`) };
  const litres = doses.reduce((sum, e) => sum + (dataNumber(e.event, 'litres') ?? 0), 0);
  const all = doses.every((e) => dataNumber(e.event, 'litres') !== null);
  return { label, fact: all ? said(`${quantity(g, litres, 'volume')} added`) : said('added, litres not typed in') };
}

function holdFact(g: Gathered): Fact {
  if (g.driven.job.hold === null) return missing('no pressure hold was made');
  const { hold } = g.driven.worked;
  if (hold === null || !hold.ok) return missing('too little pressure was measured during the hold');
  const { lastedS, barPerMin, mlPerMin, verdict } = hold.value;
  const unit = unitOf(g, 'pressure');
  const rate = (value: number): string => differenceToShown(value, unit).toFixed(unit === 'bar' ? 4 : 3);
  const slope = `${rate(barPerMin.value)} ${unit}/min of fall, give or take ${rate(2 * barPerMin.u)}, temperature allowed for`;
  const leak = mlPerMin ? `, about ${figure(mlPerMin.value, 'ml/min')}` : '';
  return said(`${holdWords[verdict]} in ${duration(lastedS)}: ${slope}${leak}`);
}

const holdWords = {
  leak: 'A leak shows',
  rising: 'Pressure climbs: water comes in',
  'none-seen': 'No leak seen',
  'too-uncertain': 'Too uncertain to tell',
} as const;

type Work = 'waterBefore' | 'hold' | 'filledLitres' | 'cleaner' | 'circulation' | 'rinse' | 'waterAfter' | 'inhibitor';

type Outcome =
  | 'volume'
  | 'nextCheck'
  | 'solids'
  | 'sludge'
  | 'chambers'
  | 'reversed'
  | 'flowed'
  | 'strength'
  | 'remaining';

function work(g: Gathered): Pick<Facts, Work | Outcome> {
  const { filled, volume } = g.driven.worked;
  const emptied = eventsNamed(g, 'chamber-emptied').length;
  const reversed = eventsNamed(g, 'flow-reverse').length;
  const flowed = g.visits.map((v) => v.litres);
  // Readings are missing in a visit: more may have gone by.
  const least = g.visits.some((v) => v.isLeast) ? 'at least ' : '';
  const litres = flowed.reduce<number>((sum, l) => sum + (l ?? 0), 0);
  const solids = g.visits.flatMap((v) => (v.solidsG ? [v.solidsG] : []));
  const grams = solids.reduce((sum, s) => sum + s.value, 0);
  // One factor stands behind all of them, so their uncertainties add up.
  const u = solids.reduce((sum, s) => sum + s.u, 0);
  const inhibitor = doseFact(g, 'inhibitor', 'Inhibitor');
  const { job } = g.driven;
  const next = nextDue(job, g.input.head.startedAt);
  const months = typedFigure(job, 'check-months');
  const isProtected = 'said' in inhibitor.fact;
  return {
    waterBefore: sampleFact(g, 'before', 'Water tests before'),
    hold: { label: 'Pressure hold', fact: holdFact(g) },
    filledLitres: {
      label: 'Filled',
      fact:
        filled === null
          ? missing('no litres were metered or typed in')
          : said(`${quantity(g, filled.value, 'volume')}, give or take ${width(g, 2 * filled.u, 'volume')}`),
    },
    volume: {
      label: 'Water in the system',
      fact: volume
        ? said(`${quantity(g, volume.litres.value, 'volume')}, give or take ${width(g, 2 * volume.litres.u, 'volume')}`)
        : missing('neither a survey nor a fill says how much'),
    },
    cleaner: doseFact(g, 'cleaner', 'Cleaner'),
    circulation: stageFact(g, 'circulate', 'Hot circulation'),
    rinse: stageFact(g, 'rinse', 'Cold rinse'),
    waterAfter: sampleFact(g, 'after', 'Water tests after'),
    inhibitor,
    nextCheck: {
      label: 'Next check due',
      fact:
        isProtected && next.ok
          ? said(
              `${next.value} (${months === null ? 'a year on: common practice' : `${count(months, 'month')} on, as agreed`})`,
            )
          : missing(isProtected ? 'the run has no date' : 'it counts from the day on which inhibitor is added'),
    },
    solids: {
      label: 'Solids carried (estimate)',
      fact:
        solids.length === 0
          ? missing('it takes turbidity and flow')
          : said(`${least}${figure(grams, 'g')}, give or take ${figure(u, 'g')}: from turbidity, by a rule of thumb`),
    },
    sludge: { label: 'Sludge weighed', fact: sludgeFact(g) },
    strength: { label: 'Strength of the inhibitor, tested', fact: strengthFact(g) },
    remaining: { label: 'Cleaner left', fact: remainingFact(g) },
    reversed: {
      label: 'Flow reversed',
      fact: reversed > 0 ? said(count(reversed, 'time')) : missing('no reversal was marked'),
    },
    chambers: {
      label: 'Chambers emptied',
      fact: emptied > 0 ? said(count(emptied, 'time')) : missing('no emptying was marked'),
    },
    flowed: {
      label: 'Water through the sensor at emitters',
      fact: flowed.some((l) => l !== null)
        ? said(`${least}${quantity(g, litres, 'volume')}`)
        : missing('flow was not measured'),
    },
  };
}

function sludgeFact({ driven }: Gathered): Fact {
  const { weighed } = driven.job;
  if (weighed.length === 0) return missing('no sludge was weighed');
  const grams = weighed.reduce((sum, w) => sum + w.grams, 0);
  const how = [...new Set(weighed.map((w) => w.how).filter((h) => h !== ''))].join(' and ');
  return said(`${figure(grams, 'g')}${how === '' ? '' : `, ${how}`}`);
}

function strengthFact({ driven }: Gathered): Fact {
  const percent = typedFigure(driven.job, 'inhibitor-strength');
  return percent === null ? missing('no strength test was typed in') : said(`${figure(percent, '%')} of the label's`);
}

/** What is left of the cleaner against what the inhibitor stands. */
function remainingFact({ driven }: Gathered): Fact {
  const { left, tolerated, tolerance } = driven.worked;
  const { share } = left;
  if (left.by === 'rinse') return said('rinsed to mains level: the check does not bind');
  if (share === null) return missing('it takes conductivity before the dose, mixed, and at the end of the rinse');
  const own = typedFigure(driven.job, 'tolerated-percent') !== null;
  const verdict = tolerance === 'tolerated' ? 'tolerated' : tolerance === 'too-much' ? 'TOO MUCH' : 'at the limit';
  return said(
    `${figure(100 * share.value, '%')} of its dose, give or take ${figure(200 * share.u, '%')}, by the ${left.by === 'test' ? 'water test after' : 'sensor'}: ${verdict} (at most ${figure(100 * tolerated, '%')}, ${own ? 'by the label' : 'common practice'})`,
  );
}

type Evidence =
  | 'alarms'
  | 'kit'
  | 'firmware'
  | 'calibration'
  | 'photos'
  | 'cautions'
  | 'handOver'
  | 'seal'
  | 'timeWitness';

function evidence(g: Gathered): Pick<Facts, Evidence> {
  const hello = eventsNamed(g, 'kit-hello').at(-1)?.event;
  const kit = (hello && dataText(hello, 'kit')) || (g.driven.context.kit?.id ?? '');
  const turbidity = eventsNamed(g, 'calibrated').findLast((e) => dataText(e.event, 'channel') === 'turbidity')?.event;
  const certificate = turbidity && dataText(turbidity, 'certificate');
  const read = eventsNamed(g, 'caution-read').length;
  const photos = g.driven.job.photos.length;
  const { alarms } = g.driven;
  const handOver = g.active.findLast((e) => e.event.event === 'hand-over' || e.event.event === 'stage:hand-over');
  const { seal } = g.input;
  return {
    kit: { label: 'Kit', fact: orMissing(kit, 'the kit did not say who it is') },
    firmware: {
      label: 'Firmware',
      fact: orMissing(hello ? dataText(hello, 'firmware') : '', 'the kit did not say its version'),
    },
    calibration: {
      label: 'Calibration of turbidity',
      fact: certificate
        ? said(
            `${certificate}, ${turbidity ? dataText(turbidity, 'state') : ''}, due ${turbidity ? dataText(turbidity, 'due') : ''}`,
          )
        : missing("no certificate: the kit's own values were used"),
    },
    alarms: {
      label: 'Alarms raised',
      fact: alarms.length > 0 ? said(`${alarms.length}, listed below`) : missing('none was raised'),
    },
    photos: { label: 'Photos', fact: photos > 0 ? said(`${photos}, shown below`) : missing('none were taken') },
    cautions: { label: 'Cautions read', fact: read > 0 ? said(String(read)) : missing('none were marked as read') },
    handOver: {
      label: 'Handed over',
      fact: handOver
        ? said(`at ${day(handOver.wallAt) || 'the end of the run'}`)
        : missing('the run was not handed over'),
    },
    seal: {
      label: 'Seal',
      fact: seal ? said(`${day(seal.sealedAt)}, key ${seal.fingerprint}${sealUnfit(g.input)}`) : sealGoneFact(g),
    },
    timeWitness: { label: 'Outside witness of the time', fact: missing('times are by the clock of the bridge alone') },
  };
}
