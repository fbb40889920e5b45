import { overdosed } from './dose.ts';
import { defaultLineSettings } from '../../line/settings.ts';
import { mainsLevel, mainsSettings } from '../../rinse/at-mains.ts';
import { need, type Look, type StageSpec, typedFigure, typedForm } from './stage.ts';

/** What still stands against the end where both figures are inside their limits, and what is waited for, by the reason of the verdict. */
const insideBut = new Map([
  ['rinse-seen-briefly', { gate: 'rinse-briefly', waits: 'for a few seconds more' }],
  ['rinse-water-to-come', { gate: 'rinse-water', waits: 'for this emitter\u2019s water' }],
]);

const stillToDo = ({ rinse }: Look) => insideBut.get(rinse?.reason.code ?? '');

/** Whether this run rinses to a level of its own: one that was typed, or that it was given to go by. */
function isOwn({ context, settings }: Look): boolean {
  const { rinseNtu, rinseShare } = mainsSettings(context.mains, settings);
  return rinseNtu !== defaultLineSettings.rinseNtu || rinseShare !== defaultLineSettings.rinseShare;
}

const about =
  '10 % is common practice, found in no public standard: check the local one. The larger of share and NTU counts.';

const isCoarse = ({ rinse }: Look): boolean => rinse?.reason.code === 'rinse-too-coarse';

/** A low reading of a sensor whose half step reaches over the limit: no figure to show as inside it. */
function isNoFigure(look: Look, mostNtu: number): boolean {
  const step = look.rinse?.reason.figures['stepNtu'] ?? 0;
  return isCoarse(look) || (step / 2 > mostNtu && (look.live.now.turbidityNtu ?? 0) <= mostNtu);
}

/** Whether the kit's own turbidity tells: where its steps are too coarse for the mains, what was typed counts. */
const kit = (look: Look): boolean => look.live.seen.has('turbidityNtu') && !isCoarse(look);

export const rinse: StageSpec = {
  name: 'rinse',
  steps: () => [
    'Heat source off and isolated; hose from the drain-off to the foul drain.',
    'Shut all but the furthest emitter, then let cold mains in.',
    'Open the emitters one after the other, furthest first; the return tells when the water is the mains\u2019 own.',
    'Stop when it says at mains level.',
  ],
  cautions: ['isolation', 'foul-drain', 'backflow'],
  enterAfter: ['isolation', 'foul-drain'],
  conditions: (look) => {
    const { live, context, worked } = look;
    const { mains } = context;
    const level = mainsLevel(mains, look.settings);
    const share = worked.remaining?.share;
    const waits = stillToDo(look)?.waits ?? (look.rinse?.state === 'clear' ? 'reached' : undefined);
    const forecast = waits === undefined ? worked.forecast : null;
    return [
      {
        id: 'turbidity',
        label: 'Turbidity',
        value: kit(look) && !isNoFigure(look, level.ntu) ? live.now.turbidityNtu : typedFigure(look.job, 'rinse-ntu'),
        unit: 'NTU',
        decimals: 1,
        most: level.ntu,
        note: `mains ${mains.turbidity_ntu.toFixed(1)}`,
        ...(isNoFigure(look, level.ntu) ? { words: 'cannot be told' } : {}),
      },
      {
        id: 'conductivity',
        label: 'Conductivity at 25 \u00b0C',
        value: live.now.conductivityUsCm ?? typedFigure(look.job, 'rinse-us-cm'),
        unit: '\u00b5S/cm',
        decimals: 0,
        most: level.usCm,
        note: `mains ${mains.conductivity_us_cm.toFixed(0)}`,
      },
      {
        id: 'remaining',
        label: 'Cleaner left, of its dose',
        value: share ? 100 * share.value : null,
        u: share ? 100 * share.u : null,
        unit: '%',
        decimals: 0,
        ...(share ? {} : { words: worked.remaining ? 'cannot be told' : 'not measured' }),
      },
      {
        id: 'used',
        label: 'Water used',
        value: live.rinsed?.litres.value ?? null,
        u: live.rinsed?.litres.u ?? null,
        kind: 'volume',
      },
      {
        id: 'forecast',
        label: 'Time to target',
        value: forecast ? forecast.seconds / 60 : null,
        unit: 'min',
        decimals: 0,
        ...(forecast
          ? { note: `${(forecast.fromS / 60).toFixed(0)} to ${(forecast.toS / 60).toFixed(0)} min` }
          : { words: waits ?? 'not known' }),
      },
      { id: 'flow', label: 'Flow', value: live.now.flowLpm, kind: 'flow', least: 1 },
    ];
  },
  forms: (look) => [
    ...(kit(look)
      ? []
      : [
          typedForm('rinse-ntu', {
            label: 'Turbidity',
            unit: 'NTU',
            least: 0,
            most: 20000,
            decimals: 1,
            start: 10,
          }),
        ]),
    ...(look.live.seen.has('conductivityUsCm')
      ? []
      : [
          typedForm('rinse-us-cm', {
            label: 'At 25 \u00b0C',
            unit: '\u00b5S/cm',
            least: 0,
            most: 200000,
            decimals: 0,
            start: 400,
          }),
        ]),
    typedForm('rinse-over-percent', { step: 5, decimals: 0, start: 10 }, about),
    typedForm('rinse-over-ntu', {
      step: 1,
      decimals: 1,
      start: look.settings.rinseNtu,
    }),
  ],
  warnings: (look) => overdosed(look, 'cleaner'),
  remarks: (look) => [
    ...(look.worked.tests.mains.turbidity || look.worked.tests.mains.conductivity ? [] : [need('mains-assumed')]),
    ...(look.live.seen.has('conductivityUsCm') ? [] : [need('no-conductivity-sensor')]),
    ...(look.worked.remaining?.verdict === 'cleaner-hardly-conducts' ? [need('hardly-conducts')] : []),
    isOwn(look) ? need('rinse-own') : need('rinse-practice'),
  ],
  gate: (look) => {
    if (look.rinse?.state === 'clear') return [];
    if (kit(look)) return [need(stillToDo(look)?.gate ?? 'rinse')];
    const level = mainsLevel(look.context.mains, look.settings);
    const ntu = typedFigure(look.job, 'rinse-ntu');
    const usCm = look.live.now.conductivityUsCm ?? typedFigure(look.job, 'rinse-us-cm');
    const isThere = ntu !== null && ntu <= level.ntu && usCm !== null && usCm <= level.usCm;
    return isThere ? [] : [need(isCoarse(look) ? 'rinse-coarse' : 'rinse-typed')];
  },
};
