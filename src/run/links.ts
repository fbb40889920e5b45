import type { TransportState } from '../../firmware-bridge/transport/transport.ts';
import { type Message, say } from '../core/message/message.ts';
import type { LinkView } from '../server/protocol.ts';

/** What is known of the way from the sensor to here. Ages in real seconds; null when nothing ever came. */
export interface LinkState {
  readonly source: string;
  readonly transport: TransportState;
  readonly packAgeS: number | null;
  readonly turbidityAgeS: number | null;
  /** Why the record cannot be written now; null when it can. */
  readonly storeProblem: Message | null;
}

/** Older than this, a value is no longer live (seconds; a kit sends at least one pack a second). */
const staleS = 3;

/** Sensor, kit and bridge, each with its age and one plain sentence. */
export function linkViews(state: LinkState): LinkView[] {
  return [sensorLink(state), kitLink(state), bridgeLink(state)];
}

const tell = (code: string, params: Message['params'] = {}): string => say({ code: `link.${code}`, params });

function isFresh(ageS: number | null): boolean {
  return ageS !== null && ageS <= staleS;
}

function sensorLink(state: LinkState): LinkView {
  const ageS = state.turbidityAgeS;
  if (isFresh(ageS)) return { id: 'sensor', state: 'ok', text: tell('sensor-ok'), ageS };
  if (!isFresh(state.packAgeS)) return { id: 'sensor', state: 'off', text: tell('sensor-off'), ageS };
  return { id: 'sensor', state: 'trouble', text: tell(ageS === null ? 'sensor-never' : 'sensor-gone'), ageS };
}

function kitLink({ source, transport, packAgeS }: LinkState): LinkView {
  const view = (kind: LinkView['state'], text: string): LinkView => ({ id: 'kit', state: kind, text, ageS: packAgeS });
  switch (transport.kind) {
    case 'closed':
      return view('off', tell('kit-closed', { source }));
    case 'opening':
      return view('off', tell('kit-opening', { source }));
    case 'ended':
      return view('off', tell('kit-ended', { source }));
    case 'silent':
    case 'waiting':
      return view('trouble', say(transport.problem));
    case 'open':
      if (isFresh(packAgeS)) return view('ok', tell('kit-ok', { source }));
      return view('trouble', tell(packAgeS === null ? 'kit-no-pack' : 'kit-stale', { source }));
  }
}

function bridgeLink({ storeProblem }: LinkState): LinkView {
  return storeProblem === null
    ? { id: 'bridge', state: 'ok', text: tell('bridge-ok'), ageS: 0 }
    : { id: 'bridge', state: 'trouble', text: say(storeProblem), ageS: 0 };
}
