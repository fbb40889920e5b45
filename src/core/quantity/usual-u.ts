/** Standard uncertainty of a standard where none is stated, in the channel's unit. Common practice, no source: state your own. */
export function usualU(channel: string, value: number): number {
  const u = usual(channel, Math.abs(value));
  return Number(u.toPrecision(3));
}

function usual(channel: string, size: number): number {
  if (channel.startsWith('turbidity')) return Math.max(0.3, 0.03 * size);
  if (channel === 'pressure') return 0.02;
  if (channel.startsWith('t-')) return 0.2;
  return 0.02 * size;
}
