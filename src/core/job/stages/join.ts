import { need, type Check, type Look, type StageSpec, unticked } from './stage.ts';

export const joinChecks: readonly Check[] = [
  { id: 'rig-in-line', label: 'Rig fitted in line' },
  { id: 'return-low', label: 'Return hose at the low port' },
  { id: 'hoses-tight', label: 'Hoses tight and tied down' },
  { id: 'vents-capped', label: 'Feed and vent capped for the work' },
  { id: 'joints-dry', label: 'Joints wiped, watched and dry' },
];

function checks(look: Look): readonly Check[] {
  const isLeftOut = (id: string): boolean =>
    (id === 'vents-capped' && look.job.survey.system !== 'open-vented') || (id === 'joints-dry' && !cannotHold(look));
  return joinChecks.filter(({ id }) => !isLeftOut(id));
}

const cannotHold = (look: Look): boolean =>
  look.job.survey.system === 'open-vented' || !look.live.seen.has('pressureBar');

/** A hold that is still unsure after so long shows a leak too small to matter for the job: common practice, no source. */
const longEnoughS = 600;

export const join: StageSpec = {
  name: 'join',
  steps: ({ job }) => [
    'Isolate and let the pressure off, then fit the rig: filter position, pump position or emitter tails.',
    'Run the return hose to the low port; tie the hoses down.',
    ...(job.survey.system === 'open-vented'
      ? ['Cap the feed and the vent for the time of the work.', 'Look at every joint: nothing holds pressure here.']
      : ['Bring it to about 1 bar, everything shut and cold, and hold the pressure for two minutes or more.']),
  ],
  cautions: ['pressure', 'backflow', 'licensed'],
  conditions: ({ live, worked, job }) => [
    ...(job.survey.system === 'sealed'
      ? [
          {
            id: 'pressure',
            label: 'Pressure',
            value: live.now.pressureBar,
            kind: 'pressure' as const,
            least: 0.8,
            most: 2.5,
          },
          {
            id: 'hold',
            label: 'Held for',
            value: job.hold ? (live.holdPoints.at(-1)?.timeS ?? job.hold.fromS) - job.hold.fromS : null,
            unit: 's',
            decimals: 0,
            least: 120,
            ...(job.hold ? {} : { words: 'not begun' }),
          },
          {
            id: 'leak',
            label: 'Fall not explained by cooling',
            value: worked.hold?.ok ? worked.hold.value.barPerMin.value : null,
            u: worked.hold?.ok ? worked.hold.value.barPerMin.u : null,
            kind: 'pressure' as const,
            perMin: true,
            decimals: 3,
            ...(worked.hold?.ok ? {} : { words: 'not yet' }),
            ...(worked.hold?.ok && worked.hold.value.mlPerMin
              ? {
                  note: `${worked.hold.value.mlPerMin.value.toFixed(0)} \u00b1 ${(2 * worked.hold.value.mlPerMin.u).toFixed(0)} ml/min`,
                }
              : {}),
          },
        ]
      : []),
    { id: 'return', label: 'Return temperature', value: live.now.returnC, kind: 'temperature' as const },
  ],
  checks,
  action: (look) => {
    if (cannotHold(look)) return null;
    const running = look.job.hold !== null && look.job.hold.toS === null;
    return running ? { event: 'hold-end', label: 'End the hold' } : { event: 'hold-start', label: 'Start the hold' };
  },
  remarks: (look) => {
    const { worked, job, live } = look;
    if (job.survey.system === 'open-vented') return [{ code: 'hold-open-vented', params: {} }];
    if (!live.seen.has('pressureBar')) return [need('no-pressure-sensor')];
    if (!worked.hold) return [];
    if (!worked.hold.ok) return [worked.hold.refusal];
    const { verdict, barPerMin, mlPerMin, leastSeenBarPerMin } = worked.hold.value;
    return [
      {
        code: `hold-${verdict}`,
        params: {
          barPerMin: barPerMin.value,
          uBarPerMin: barPerMin.u,
          leastSeenBarPerMin,
          ...(mlPerMin ? { mlPerMin: mlPerMin.value } : {}),
        },
      },
    ];
  },
  gate: (look) => {
    const missing = [...unticked(look, checks(look))];
    if (cannotHold(look)) return missing;
    const { hold } = look.worked;
    if (!hold?.ok) return [...missing, need('hold')];
    const { verdict, lastedS } = hold.value;
    if (verdict === 'leak') return [...missing, need('hold-leak')];
    if (verdict === 'rising') return [...missing, need('hold-rising')];
    return verdict === 'none-seen' || lastedS >= longEnoughS ? missing : [...missing, need('hold-longer')];
  },
};
