/**
 * Cautions, each in one place and in plain words. They advise; local codes and licensed practice decide. Those that gate
 * are acknowledged by an event `caution-read` whose note names them.
 */
export const cautions = {
  licensed: {
    title: 'Licensed work',
    text: 'Work on gas, oil or sealed heat sources is for those licensed for it. Local codes come before anything said here.',
    gates: false,
  },
  asbestos: {
    title: 'Old plant rooms',
    text: 'Lagging and boards in old plant rooms can hold asbestos. Do not disturb what you do not know; have it looked at first.',
    gates: false,
  },
  pressure: {
    title: 'Pressure',
    text: 'Hoses and joints stand under pressure. Let it off before you undo any of them, and keep well below the relief valve.',
    gates: false,
  },
  backflow: {
    title: 'Backflow',
    text: 'A mains connection needs the backflow protection that the local water rules ask for.',
    gates: false,
  },
  'filling-loop': {
    title: 'Filling loop off',
    text: 'Shut the filling loop and take it off. Left open it overfills the system and joins it to the drinking water.',
    gates: true,
  },
  chemicals: {
    title: 'Chemicals',
    text: 'Read the label and its safety sheet. Gloves and goggles on. Never mix products, and keep people from the taps of the system.',
    gates: false,
  },
  scald: {
    title: 'Hot water',
    text: 'Water over 44 °C scalds in minutes, at 60 °C in seconds. Keep under the limit of the hoses, and children away.',
    gates: false,
  },
  vibration: {
    title: 'Hands',
    text: 'Shaking tools harm hands over the day: take turns, keep warm, and note the time on the trigger.',
    gates: false,
  },
  brittle: {
    title: 'Brittle and soft emitters',
    text: 'Cast iron breaks and aluminium dents: soft mallet only, and gently.',
    gates: false,
  },
  isolation: {
    title: 'Heat source isolated',
    text: 'Switch the heat source off, isolate it electrically and secure it, so that nobody can switch it on while cold water runs through.',
    gates: true,
  },
  'foul-drain': {
    title: 'To the foul drain',
    text: 'Lead the hose to a foul drain, as the local rules for discharge allow. Never to a surface drain, a soakaway or a garden.',
    gates: true,
  },
} as const;

export type CautionId = keyof typeof cautions;

export function isCaution(id: string): id is CautionId {
  return Object.hasOwn(cautions, id);
}
