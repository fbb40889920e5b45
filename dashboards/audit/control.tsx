import type { ControlChartView } from '../../src/core/audit/across-schema.ts';
import { hashOf } from './place.ts';
import { short } from './words.ts';

const width = 1080;
const height = 190;
const left = 64;

interface ControlProps {
  readonly title: string;
  readonly unit: string;
  readonly chart: ControlChartView | null;
  readonly none: string;
  readonly isRun?: boolean;
}

/** A control chart: what is usual, its limits, and what stands outside of them. */
export function Control({ title, unit, chart, none, isRun }: ControlProps) {
  return (
    <section aria-label={title}>
      <h3>{title}</h3>
      {chart === null ? (
        <p class="quiet">{none}</p>
      ) : (
        <ControlPicture chart={chart} unit={unit} isRun={isRun ?? false} />
      )}
    </section>
  );
}

function ControlPicture({ chart, unit, isRun }: { chart: ControlChartView; unit: string; isRun: boolean }) {
  const { points, centre } = chart;
  const values = points.flatMap((p) => [p.value, p.upper, p.lower]);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = (high - low || 1) * 0.06;
  const x = (i: number): number =>
    left + 10 + (width - left - 20) * (points.length === 1 ? 0.5 : i / (points.length - 1));
  const y = (value: number): number => 10 + (height - 20) * (1 - (value - low + room) / (high - low + 2 * room));
  const steps = (of: (p: ControlChartView['points'][number]) => number): string =>
    points.map((p, i) => `${x(i).toFixed(1)},${y(of(p)).toFixed(1)}`).join(' ');
  const out = points.filter((p) => p.out);
  return (
    <>
      <svg
        class="control"
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-label={`${points.length} points about ${short(centre)} ${unit}; ${out.length} outside the limits.`}
      >
        <polyline class="control-limit" points={steps((p) => p.upper)} />
        <polyline class="control-limit" points={steps((p) => p.lower)} />
        <line class="control-centre" x1={left} x2={width - 6} y1={y(centre)} y2={y(centre)} />
        <polyline class="control-line" points={steps((p) => p.value)} />
        {points.map((p, i) =>
          p.out ? (
            <path class="control-out" key={p.key} d={`M${x(i)} ${y(p.value) - 7}l7 12h-14z`} />
          ) : (
            <circle class="control-point" key={p.key} cx={x(i)} cy={y(p.value)} r={2.5} />
          ),
        )}
        <text class="control-word" x={left - 8} y={y(centre) + 4}>
          {short(centre)}
        </text>
        <text class="control-word" x={left - 8} y={y(points[0]?.upper ?? high) + 4}>
          {short(points[0]?.upper ?? high)}
        </text>
        <text class="control-word" x={left - 8} y={y(points[0]?.lower ?? low) + 4}>
          {short(points[0]?.lower ?? low)}
        </text>
      </svg>
      <p>
        {out.length === 0 ? 'All inside the limits.' : `${out.length} outside the limits: `}
        {out.slice(0, 12).map((p, i) => (
          <span key={p.key}>
            {i > 0 ? ', ' : ''}
            {isRun ? <a href={hashOf({ runId: p.key })}>{p.key}</a> : p.key || 'not said'} ({short(p.value)})
          </span>
        ))}
      </p>
      <p class="quiet">Limits: {chart.source}.</p>
    </>
  );
}
