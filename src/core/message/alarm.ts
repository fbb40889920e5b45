import type { Texts } from './texts.ts';

const n = (v: string | number | undefined, digits: number): string => Number(v ?? Number.NaN).toFixed(digits);

/** Of each alarm: what is wrong, `-do` what to do, `-else` what happens if not. */
export const alarmTexts = {
  'alarm-kit-silent': () => 'The kit is silent.',
  'alarm-kit-silent-do': () => 'Look at its supply and cable. Reading goes on by itself once it is back.',
  'alarm-kit-silent-else': () => 'Nothing is seen and no verdict is given until then.',
  'alarm-pressure-high': (p) => `Pressure is ${n(p['value'], 2)} bar, over ${n(p['limit'], 2)} bar.`,
  'alarm-pressure-high-do': () => 'Shut the filling loop, stop heating, let water off to the drain.',
  'alarm-pressure-high-else': () => 'The relief valve opens.',
  'alarm-leak': (p) =>
    `Pressure falls by ${n(p['barPerMin'], 3)} bar/min${p['mlPerMin'] === undefined ? '' : ` (${n(p['mlPerMin'], 0)} ml/min)`}, faster than cooling explains.`,
  'alarm-leak-do': () => 'Stop the pump and look at every joint, hose and valve.',
  'alarm-leak-else': () => 'Water runs into the building.',
  'alarm-too-hot': (p) => `Water is at ${n(p['value'], 0)} °C, over ${n(p['limit'], 0)} °C.`,
  'alarm-too-hot-do': () => 'Stop heating. Keep hands off the hoses: hot water scalds in seconds.',
  'alarm-too-hot-else': () => 'Scalds; a hose may give way.',
  'alarm-no-flow': () => 'Water hardly flows.',
  'alarm-no-flow-do': () => 'Check the pump, the valves and the hoses for a kink.',
  'alarm-no-flow-else': () => 'Nothing is carried away and no verdict is given.',
  'alarm-mains-lost': () => 'The mains water has stopped.',
  'alarm-mains-lost-do': () => 'Check the stop tap and the hose. The rinse is paused and goes on by itself.',
  'alarm-mains-lost-else': () => 'The rinse does not end.',
  'alarm-filling-loop': (p) => `Pressure climbs by ${n(p['barPerMin'], 3)} bar/min with no heating behind it.`,
  'alarm-filling-loop-do': () => 'Shut the filling loop and take its hose off.',
  'alarm-filling-loop-else': () => 'Pressure reaches the relief valve, and the cleaner is thinned.',
  'alarm-chamber-full': () => 'The capture chamber is full: flow sinks and the background climbs.',
  'alarm-chamber-full-do': () => 'Empty the chamber now and say so.',
  'alarm-chamber-full-else': () => 'Dirt goes round again instead of being caught.',
  'alarm-sensor': () => 'A sensor gives no reading that can be used.',
  'alarm-sensor-do': () => 'Look at its plug and window. The reason stands beside the verdict.',
  'alarm-sensor-else': () => 'No verdict is given.',
  'alarm-window': (p) => `The reading climbs steadily with no release, ${n(p['ntuPerMin'], 1)} NTU a minute.`,
  'alarm-window-do': () => 'Wipe the window of the turbidity sensor; look at the chamber, too.',
  'alarm-window-else': () => 'Clear is told late, or dirt is taken for the film.',
  'alarm-two-open': (p) =>
    `Flow is ${n(p['flowLpm'], 1)} l/min; this emitter alone should give about ${n(p['aloneLpm'], 1)} l/min.`,
  'alarm-two-open-do': () => 'More than one emitter seems to be open: shut the others (or was the pump set faster?).',
  'alarm-two-open-else': () => 'The flow is shared and this emitter is not cleaned.',
  'alarm-never-clears': (p) => `Dirt still comes after ${n(p['passes'], 0)} passes.`,
  'alarm-never-clears-do': () => 'Let the cleaner dwell, reverse the flow, or take it off and wash it out.',
  'alarm-never-clears-else': () => 'More passes alone take long: see the forecast.',
  'alarm-chattering': (p) => `${p['alarm']} It comes and goes: told once, until it was quiet for a minute.`,
  'shelve-minutes': (p) => `An alarm can be put aside for ${p['allowed']} minutes, not ${p['found']}.`,
  'shelve-urgent': (p) => `This alarm (${p['kind']}) is urgent and cannot be put aside. Do what it says.`,
} satisfies Texts;
