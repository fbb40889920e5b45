/** The three topics of a kit on a broker: `limpid/<kit>/senml|do|state`. */
export type TopicLeaf = 'senml' | 'do' | 'state';

const urnStart = 'urn:dev:';
const topicPattern = /^limpid\/([A-Za-z0-9\-:.]{1,110})\/(senml|do|state)$/;

/** A kit's name on a broker: its URN without `urn:dev:`. */
export function topicName(kit: string): string {
  return kit.startsWith(urnStart) ? kit.slice(urnStart.length) : kit;
}

/** @param kit URN, with or without `urn:dev:`; `+` for a filter that takes every kit. */
export function kitTopic(kit: string, leaf: TopicLeaf): string {
  return `limpid/${topicName(kit)}/${leaf}`;
}

/** Whose topic it is and which; null when it is none of a kit's. */
export function readTopic(topic: string): { readonly kit: string; readonly leaf: TopicLeaf } | null {
  const [, name, leaf] = topicPattern.exec(topic) ?? [];
  if (name === undefined || (leaf !== 'senml' && leaf !== 'do' && leaf !== 'state')) return null;
  return { kit: `${urnStart}${name}`, leaf };
}
