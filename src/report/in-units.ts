import { channels, type SampleKey } from '../core/quantity/channels.ts';
import { type Message, say } from '../core/message/message.ts';
import { differenceToShown, type QuantityKind, textInUnits, toShown, type UnitName } from '../core/quantity/units.ts';
import { figure } from './fact.ts';
import type { Gathered } from './gather.ts';

/** The unit in which this run is shown. */
export function unitOf(g: Gathered, kind: QuantityKind): UnitName {
  return g.driven.job.units[kind];
}

/** A figure of ours in the unit of the run, with it: `12.4 US gal`. */
export function quantity(g: Gathered, inside: number, kind: QuantityKind): string {
  return figure(toShown(inside, unitOf(g, kind)), unitOf(g, kind));
}

/** The same of a width, which has no offset. */
export function width(g: Gathered, inside: number, kind: QuantityKind): string {
  return figure(differenceToShown(inside, unitOf(g, kind)), unitOf(g, kind));
}

/** A sentence of ours, its figures in the units of the run. */
export function sentence(g: Gathered, message: Message): string {
  return textInUnits(say(message), g.driven.job.units);
}

const kindOfChannel: Partial<Record<SampleKey, QuantityKind>> = {
  flowLpm: 'flow',
  pressureBar: 'pressure',
  supplyC: 'temperature',
  returnC: 'temperature',
};

/** A reading in the unit of the run. */
export function inChannelUnit(g: Gathered, key: SampleKey, value: number | null): number | null {
  const kind = kindOfChannel[key];
  return value === null || !kind ? value : toShown(value, unitOf(g, kind));
}

export function channelUnit(g: Gathered, key: SampleKey): string {
  const kind = kindOfChannel[key];
  return kind ? unitOf(g, kind) : (channels.find((c) => c.key === key)?.unit ?? '');
}
