import { monitorEventLoopDelay } from 'node:perf_hooks';
import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { HealthPort, Measure } from '../server/health.ts';
import type { RunView } from '../server/protocol.ts';
import type { OutboxLink } from './outbox-link.ts';

export interface BridgeFigures {
  readonly view: () => RunView;
  readonly wire: () => LinkCounters;
  readonly outbox: OutboxLink | null;
  /** Resident memory, bytes. */
  readonly memory: () => number;
}

/** A bridge's figures for whoever watches it: the wire, the ages, the way to the firm, the load of the process. */
export function bridgeHealth({ view, wire, outbox, memory }: BridgeFigures): HealthPort {
  const delay = monitorEventLoopDelay({ resolution: 20 });
  delay.enable();
  return {
    measures(): Measure[] {
      const { links } = view();
      const counted = Object.entries(wire()).map(
        ([name, value]): Measure => ({
          name: 'limpid_wire',
          help: 'What came over the wire from the kit, by kind.',
          kind: 'counter',
          value,
          labels: { what: name },
        }),
      );
      const ages = links.flatMap(({ id, ageS }): Measure[] =>
        ageS === null
          ? []
          : [
              {
                name: 'limpid_link_age_seconds',
                help: 'Age of the newest news of each link.',
                kind: 'gauge',
                value: ageS,
                labels: { link: id },
              },
            ],
      );
      const now = (name: string, help: string, value: number): Measure => ({ name, help, kind: 'gauge', value });
      return [
        ...counted,
        ...ages,
        now(
          'limpid_store_ok',
          'Whether the record can be written (1) or not (0).',
          storeTrouble(view()).length === 0 ? 1 : 0,
        ),
        ...(outbox
          ? [
              now(
                'limpid_outbox_joined',
                "Whether the firm's broker is joined (1) or not (0).",
                outbox.state.joined ? 1 : 0,
              ),
              now('limpid_outbox_waiting', 'Entries of the record that the firm has not said to have.', outbox.waiting),
            ]
          : []),
        now('limpid_loop_delay_seconds', 'Longest delay of the event loop since the last look.', longest(delay)),
        now('limpid_memory_bytes', 'Resident memory of the process.', memory()),
      ];
    },
    // A kit that is away is no fault of the bridge; a record that cannot be written is.
    problems: () => storeTrouble(view()),
  };
}

function longest(delay: ReturnType<typeof monitorEventLoopDelay>): number {
  const ns = delay.max;
  delay.reset();
  return Number.isFinite(ns) ? ns / 1e9 : 0;
}

function storeTrouble(view: RunView): string[] {
  return view.links.filter((link) => link.id === 'bridge' && link.state === 'trouble').map((link) => link.text);
}
