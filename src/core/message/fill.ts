import type { Texts } from './texts.ts';

const n = (v: string | number | undefined, digits: number): string => Number(v ?? Number.NaN).toFixed(digits);

/** Sentences of filling and of the pressure hold, by code. */
export const fillTexts = {
  'compliance-too-short': (p) =>
    `The last of filling was seen over ${n(p['spanBar'], 2)} bar in ${p['points']} readings; ${p['leastBar']} bar are needed. Leaks are told in bar/min only.`,
  'compliance-not-rising': () =>
    'Pressure did not rise with the litres filled, so litres per bar are not known. Leaks are told in bar/min only.',
  'hold-too-short': (p) =>
    `The hold lasted ${n(p['lastedS'], 0)} s with ${p['readings']} readings of pressure; at least ${p['leastS']} s are needed. Hold on.`,
  'hold-open-vented': () =>
    'An open-vented system holds no pressure of its own, so there is no pressure hold. Look at the joints and at the level in the feed tank.',
  'hold-leak': (p) =>
    `Pressure falls ${n(p['barPerMin'], 3)} ± ${n(p['uBarPerMin'], 3)} bar/min beyond what temperature explains${
      p['mlPerMin'] === undefined ? '' : `: ${n(p['mlPerMin'], 0)} ml/min`
    }. Find the leak before going on.`,
  'hold-rising': (p) =>
    `Pressure climbs ${n(p['barPerMin'], 3)} bar/min beyond what temperature explains: water comes in. Shut the filling loop.`,
  'hold-none-seen': (p) => `No leak seen; one of ${n(p['leastSeenBarPerMin'], 3)} bar/min would have been.`,
  'hold-too-uncertain': (p) =>
    `Not sure yet: a leak under ${n(p['leastSeenBarPerMin'], 3)} bar/min would not be seen. Hold on, with the heat off.`,
} satisfies Texts;
