import type { TransportState } from '../../firmware-bridge/transport/transport.ts';
import type { Message, Teller } from '../core/message/message.ts';
import type { LinkView } from '../server/protocol.ts';

/** What is known of the way from the sensor to here. Ages in real seconds; null when nothing ever came. */
export interface LinkState {
  readonly source: string;
  readonly transport: TransportState;
  readonly packAgeS: number | null;
  /** Kit whose readings make the run; null before the first. */
  readonly leading: string | null;
  /** A kit that is heard now and not used, because another one leads; null: none. */
  readonly besides: string | null;
  readonly turbidityAgeS: number | null;
  /** A sealed run takes no more readings. */
  readonly isSealed: boolean;
  /** Why the record cannot be written now; null when it can. */
  readonly storeProblem: Message | null;
  readonly say: Teller['say'];
}

/** Older than this, a value is no longer live (seconds; a kit sends at least one pack a second). */
export const staleS = 3;

/** Sensor, kit and bridge, each with its age and one plain sentence. */
export function linkViews(state: LinkState): LinkView[] {
  return [sensorLink(state), kitLink(state), bridgeLink(state)];
}

const link = (code: string, params: Message['params'] = {}): Message => ({ code: `link.${code}`, params });

function isFresh(ageS: number | null): boolean {
  return ageS !== null && ageS <= staleS;
}

function sensorLink(state: LinkState): LinkView {
  const ageS = state.turbidityAgeS;
  if (state.isSealed) return { id: 'sensor', state: 'off', text: state.say(link('sensor-sealed')), ageS };
  if (isFresh(ageS)) return { id: 'sensor', state: 'ok', text: state.say(link('sensor-ok')), ageS };
  if (!isFresh(state.packAgeS)) return { id: 'sensor', state: 'off', text: state.say(link('sensor-off')), ageS };
  return {
    id: 'sensor',
    state: 'trouble',
    text: state.say(link(ageS === null ? 'sensor-never' : 'sensor-gone')),
    ageS,
  };
}

function kitLink({ source, transport, packAgeS, leading, besides, say }: LinkState): LinkView {
  const view = (state: LinkView['state'], what: Message): LinkView => ({
    id: 'kit',
    state,
    text: say(what),
    ageS: packAgeS,
  });
  switch (transport.kind) {
    case 'closed':
      return view('off', link('kit-closed', { source }));
    case 'opening':
      return view('off', link('kit-opening', { source }));
    case 'ended':
      return view('off', link('kit-ended', { source }));
    case 'silent':
    case 'waiting':
      // A sentence within the sentence is said as well, so that a page can say both in its own language.
      if (transport.problem.why) say(transport.problem.why);
      return view('trouble', transport.problem);
    case 'open':
      if (isFresh(packAgeS)) return view('ok', link('kit-ok', { source }));
      if (besides !== null) return view('trouble', link('kit-besides', { source, kit: leading ?? '', besides }));
      return view('trouble', link(packAgeS === null ? 'kit-no-pack' : 'kit-stale', { source }));
  }
}

function bridgeLink({ storeProblem, say }: LinkState): LinkView {
  return storeProblem === null
    ? { id: 'bridge', state: 'ok', text: say(link('bridge-ok')), ageS: 0 }
    : { id: 'bridge', state: 'trouble', text: say(storeProblem), ageS: 0 };
}
