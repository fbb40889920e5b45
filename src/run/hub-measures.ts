import type { Measure } from '../server/health.ts';
import type { HubState } from './hub.ts';

/** A hub's figures, for whoever watches it. */
export function hubMeasures(state: HubState, aside: number, memoryBytes: number): Measure[] {
  const { collected, series, waiting } = state;
  const count = (name: string, help: string, value: number): Measure => ({ name, help, kind: 'counter', value });
  const now = (name: string, help: string, value: number): Measure => ({ name, help, kind: 'gauge', value });
  return [
    now('limpid_hub_joined', 'Whether the broker is joined (1) or not (0).', state.joined ? 1 : 0),
    now('limpid_hub_keeps', 'Whether this process keeps the store (1) or only collects (0).', state.keeps ? 1 : 0),
    count('limpid_hub_messages', 'Messages taken from the broker.', collected.messages),
    count('limpid_hub_parts_kept', 'Parts of runs that were new.', collected.kept),
    count('limpid_hub_parts_known', 'Parts that came again and changed nothing.', collected.known),
    count('limpid_hub_quarantined', 'Messages set aside with a reason.', collected.quarantined),
    now('limpid_hub_aside', 'Reasons for which something is set aside.', aside),
    now('limpid_hub_waiting_links', 'Entries of chains not in their place yet.', waiting.links),
    now('limpid_hub_waiting_chunks', 'Chunks of samples not in their place yet.', waiting.unplaced),
    now('limpid_hub_unwritten_chunks', 'Chunks of samples not surely in the time series yet.', waiting.unwritten),
    ...(series
      ? [
          count('limpid_hub_series_points', 'Rows written to the time series.', series.points),
          count('limpid_hub_series_failures', 'Writes that the time series did not take.', series.failures),
        ]
      : []),
    now('limpid_hub_memory_bytes', 'Resident memory of the process.', memoryBytes),
  ];
}
