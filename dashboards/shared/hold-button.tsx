import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from './words/language.ts';

/**
 * A button for wet gloves: acts on release, not when the finger has slid off or wiped, not on a drop of water, not twice in
 * 300 ms. With `hold` it acts after 1.5 s of holding, shown by a filling bar; from the keyboard or a screen reader, where
 * nobody can hold, it asks to be pressed a second time.
 */
export interface HoldButtonProps {
  readonly children: ComponentChildren;
  readonly className: string;
  readonly hold: boolean;
  readonly onAct: () => void;
  readonly label: string;
  /** Key that presses it, for whoever cannot see it. */
  readonly shortcut?: string;
}

const holdMs = 1500;
const againMs = 300;
const dropMs = 30;
const wipePx = 60;
const confirmMs = 5000;

interface Down {
  readonly id: number;
  readonly atMs: number;
  readonly x: number;
  readonly y: number;
}

export function HoldButton(props: HoldButtonProps) {
  const [holding, setHolding] = useState(false);
  const [asking, setAsking] = useState(false);
  const down = useRef<Down | null>(null);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  const actedMs = useRef(Number.NEGATIVE_INFINITY);

  const act = () => {
    if (performance.now() - actedMs.current < againMs) return;
    actedMs.current = performance.now();
    setAsking(false);
    props.onAct();
  };
  const release = () => {
    down.current = null;
    clearTimeout(timer.current);
    setHolding(false);
  };
  useEffect(() => () => clearTimeout(timer.current), []);

  return (
    <button
      type="button"
      class={`${props.className}${holding ? ' is-holding' : ''}`}
      aria-keyshortcuts={props.shortcut}
      aria-label={asking ? t('Press again to confirm: {what}', { what: props.label }) : props.label}
      onPointerDown={(event) => {
        if (event.button !== 0 || down.current !== null) return;
        down.current = { id: event.pointerId, atMs: performance.now(), x: event.clientX, y: event.clientY };
        if (!props.hold) return;
        setHolding(true);
        timer.current = setTimeout(() => {
          release();
          act();
        }, holdMs);
      }}
      onPointerMove={(event) => {
        const from = down.current;
        if (from !== null && Math.hypot(event.clientX - from.x, event.clientY - from.y) > wipePx) release();
      }}
      onPointerUp={(event) => {
        const from = down.current;
        release();
        if (from === null || from.id !== event.pointerId || props.hold) return;
        const drop = event.pointerType === 'touch' && performance.now() - from.atMs < dropMs;
        if (!drop) act();
      }}
      onPointerLeave={release}
      onPointerCancel={release}
      onContextMenu={(event) => event.preventDefault()}
      onClick={(event) => {
        // Only clicks without a pointer: keyboard, screen reader, switch.
        if (event.detail !== 0) return;
        if (!props.hold || asking) return act();
        setAsking(true);
        setTimeout(() => setAsking(false), confirmMs);
      }}
    >
      {asking ? <span>{t('Press again to confirm')}</span> : props.children}
      {props.hold && <span class="hold-fill" aria-hidden="true" />}
    </button>
  );
}
