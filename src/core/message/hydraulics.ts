import type { Texts } from './texts.ts';

const n = (v: string | number | undefined, digits: number): string => Number(v ?? Number.NaN).toFixed(digits);
const minutes = (s: string | number | undefined): string => `${n(Number(s ?? 0) / 60, 1)} min`;

/** Sentences of the hydraulics room, by code: what was seen, and what to do. */
export const hydraulicsTexts = {
  'flow-stopped': (p) =>
    `Flow fell from ${n(p['beforeLpm'], 1)} to ${n(p['flowLpm'], 1)} l/min. Check the pump, the valves and the hoses for a kink.`,
  'rinse-flow-stopped': (p) =>
    `Flow fell from ${n(p['beforeLpm'], 1)} to ${n(p['flowLpm'], 1)} l/min. The rinse is paused; check the mains tap and the hoses.`,
  'flow-back': (p) => `Flow is back at ${n(p['flowLpm'], 1)} l/min after ${n(p['lastedS'], 0)} s.`,
  'valve-opened': (p) =>
    `Flow rose from ${n(p['beforeLpm'], 1)} to ${n(p['afterLpm'], 1)} l/min and no tap says why. Was a valve opened or the pump set faster?`,
  'valve-shut': (p) =>
    `Flow fell from ${n(p['beforeLpm'], 1)} to ${n(p['afterLpm'], 1)} l/min and no tap says why. Was a valve shut or the pump set slower?`,
  'two-open': (p) =>
    `Flow is ${n(p['flowLpm'], 1)} l/min; this emitter alone should give about ${n(p['aloneLpm'], 1)} l/min. More than one seems to be open: shut the others (or was the pump set faster?).`,
  'one-open': (p) => `Flow is back at ${n(p['flowLpm'], 1)} l/min: this emitter alone again.`,
  leak: (p) =>
    `Pressure fell ${n(p['fallBar'], 2)} bar in ${minutes(p['overS'])}, faster than cooling explains: at least ${n(p['barPerMin'], 3)} bar/min${
      p['mlPerMin'] === undefined ? '' : ` (${n(p['mlPerMin'], 0)} ml/min)`
    }. Stop and look for a leak.`,
  'filling-loop-open': (p) =>
    `Pressure climbed ${n(p['climbBar'], 2)} bar in ${minutes(p['overS'])} and heating does not explain it. Shut the filling loop.`,
  'mains-lost': (p) =>
    `Flow fell from ${n(p['beforeLpm'], 1)} to ${n(p['flowLpm'], 1)} l/min and pressure from ${n(p['beforeBar'], 1)} to ${n(p['pressureBar'], 1)} bar: the mains are gone. The rinse is paused; check the supply.`,
  'mains-back': (p) =>
    `The mains are back after ${n(p['lastedS'], 0)} s: ${n(p['flowLpm'], 1)} l/min. The rinse goes on.`,
  'window-fouling': (p) =>
    `What stands between the pulses climbed steadily from ${n(p['beforeNtu'], 0)} to ${n(p['backgroundNtu'], 0)} NTU, ${n(p['ntuPerMin'], 1)} NTU a minute: a film on the window of the sensor, or a background that climbs (a chamber filling up); the reading cannot tell which. Wipe the window; look at the chamber.`,
  'chamber-full': (p) =>
    `Flow sank from ${n(p['beforeLpm'], 1)} to ${n(p['flowLpm'], 1)} l/min while the background climbed from ${n(p['beforeNtu'], 0)} to ${n(p['backgroundNtu'], 0)} NTU: the capture chamber is full. Empty it now.`,
} satisfies Texts;
