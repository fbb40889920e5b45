import type { ComponentChildren } from 'preact';
import type { RunPage } from '../../src/core/audit/page-schema.ts';
import type { SampleKey } from '../../src/core/quantity/channels.ts';
import { sampleKeys } from '../../src/core/quantity/sample.ts';
import type { Span } from '../shared/plot-data.ts';
import { channelOf } from './lanes.ts';
import { stay } from './place.ts';

/** @param factor over one: closer. `atS` stays where it is. */
export function zoomed(view: Span, factor: number, atS: number): Span {
  return { fromS: atS - (atS - view.fromS) / factor, toS: atS + (view.toS - atS) / factor };
}

type Act = (change: (view: Span) => Span) => void;
const middle = (view: Span): number => (view.fromS + view.toS) / 2;
const moved = (view: Span, by: number): Span => {
  const widthS = view.toS - view.fromS;
  return { fromS: view.fromS + by * widthS, toS: view.toS + by * widthS };
};

export function byKey(key: string, page: RunPage, act: Act): boolean {
  const known: Readonly<Record<string, (view: Span) => Span>> = {
    ArrowLeft: (view) => moved(view, -0.2),
    ArrowRight: (view) => moved(view, 0.2),
    '+': (view) => zoomed(view, 1.5, middle(view)),
    '=': (view) => zoomed(view, 1.5, middle(view)),
    '-': (view) => zoomed(view, 1 / 1.5, middle(view)),
    Home: () => ({ fromS: 0, toS: page.toS }),
  };
  const change = known[key];
  if (change) act(change);
  return change !== undefined;
}

interface ToolsProps {
  readonly page: RunPage;
  readonly act: Act;
  readonly keys: readonly SampleKey[];
  readonly children: ComponentChildren;
}

export function Tools({ page, act, keys, children }: ToolsProps) {
  const tool = (words: string, label: string, change: (view: Span) => Span) => (
    <button type="button" aria-label={label} title={label} onClick={() => act(change)}>
      {words}
    </button>
  );
  return (
    <div class="tools">
      {tool('←', 'Earlier', (view) => moved(view, -0.5))}
      {tool('→', 'Later', (view) => moved(view, 0.5))}
      {tool('+', 'Closer', (view) => zoomed(view, 2, middle(view)))}
      {tool('−', 'Wider', (view) => zoomed(view, 0.5, middle(view)))}
      {tool('Whole run', 'Whole run', () => ({ fromS: 0, toS: page.toS }))}
      {children}
      <details class="choose">
        <summary>Channels</summary>
        <fieldset>
          <legend class="for-readers">Channels shown</legend>
          {sampleKeys
            .filter((key) => page.channels.includes(key))
            .map((key) => (
              <label key={key}>
                <input
                  type="checkbox"
                  checked={keys.includes(key)}
                  disabled={keys.length === 1 && keys.includes(key)}
                  onChange={(event) => {
                    const next = event.currentTarget.checked ? [...keys, key] : keys.filter((k) => k !== key);
                    stay({ channels: next.length === page.channels.length ? [] : next });
                  }}
                />
                {channelOf(key)?.title}
              </label>
            ))}
        </fieldset>
      </details>
    </div>
  );
}
