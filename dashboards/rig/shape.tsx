import type { RunView } from '../../src/server/protocol.ts';

type Kind = RunView['band']['kind'];

/** One outline for each state, told apart without colour: own drawings on a 24 by 24 field. */
const outlines: Readonly<Record<Kind, string>> = {
  idle: 'M4 11h16v2H4z',
  watching: 'M12 4a8 8 0 1 1 0 16a8 8 0 1 1 0-16zm0 2.6a5.4 5.4 0 1 0 0 10.8a5.4 5.4 0 1 0 0-10.8z',
  carrying: 'M12 3L22 20H2z',
  settling: 'M2 5h4C7 14 12 17 22 18v3C9 21 3 16 2 5z',
  clear: 'M12 4a8 8 0 1 1 0 16a8 8 0 1 1 0-16z',
  done: 'M3 3h18v18H3zM10.4 17.5L19 8.4l-2-1.9l-6.7 7.1l-3.3-3.3l-2 2z',
  'cannot-tell': 'M3 3h18v18H3zM5.6 5.6v5.2L10.8 5.6zM13.4 5.6L5.6 13.4v5L18.4 5.6zM18.4 8.2L8.2 18.4h5.2l5-5z',
};

export function Shape(props: { kind: Kind; size: number }) {
  return (
    <svg class="shape" viewBox="0 0 24 24" width={props.size} height={props.size} aria-hidden="true">
      <path d={outlines[props.kind]} fill="currentColor" fill-rule="evenodd" />
    </svg>
  );
}
