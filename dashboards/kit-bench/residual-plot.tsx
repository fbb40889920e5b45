import type { BenchCertificate } from '../../src/core/job/bench-schema.ts';

const width = 640;
const left = 74;
const right = 14;
const curveTop = 28;
const curveHeight = 230;
const offTop = 316;
const offHeight = 110;
const height = offTop + offHeight + 46;

interface Scale {
  readonly lo: number;
  readonly hi: number;
}

function scaleOf(values: readonly number[]): Scale {
  const [lo, hi] = [Math.min(...values), Math.max(...values)];
  const margin = hi > lo ? 0.06 * (hi - lo) : 1;
  return { lo: lo - margin, hi: hi + margin };
}

function ticks({ lo, hi }: Scale, count: number): number[] {
  const rough = (hi - lo) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= rough) ?? rough;
  const out: number[] = [];
  for (let k = Math.ceil(lo / step); k * step <= hi; k += 1) out.push(k * step);
  return out;
}

const text = (value: number): string => String(Number(value.toPrecision(3))).replace('-', '\u2212');

/** The curve through the standards with twice its uncertainty, and under it how far each standard lies off. */
export function ResidualPlot({
  certificate: c,
  rawTitle,
}: {
  readonly certificate: BenchCertificate;
  readonly rawTitle: string;
}) {
  const xs = scaleOf(c.curve.map((p) => p.raw));
  const ys = scaleOf([...c.curve.map((p) => p.value), ...c.points.map((p) => p.value)]);
  const most = Math.max(1e-9, ...c.points.map((p) => Math.abs(p.residual) + 2 * p.u));
  const off: Scale = { lo: -1.15 * most, hi: 1.15 * most };
  const x = (raw: number): number => left + ((raw - xs.lo) / (xs.hi - xs.lo)) * (width - left - right);
  const y = (value: number): number => curveTop + curveHeight - ((value - ys.lo) / (ys.hi - ys.lo)) * curveHeight;
  const r = (value: number): number => offTop + offHeight - ((value - off.lo) / (off.hi - off.lo)) * offHeight;
  const line = c.curve.map((p) => `${x(p.raw).toFixed(1)},${y(p.value).toFixed(1)}`).join(' ');
  const band = [
    ...c.curve.map((p) => `${x(p.raw).toFixed(1)},${y(p.value + 2 * p.u).toFixed(1)}`),
    ...c.curve.toReversed().map((p) => `${x(p.raw).toFixed(1)},${y(p.value - 2 * p.u).toFixed(1)}`),
  ].join(' ');
  return (
    <svg class="residuals" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={c.text}>
      <clipPath id="curve-room">
        <rect x={left} y={curveTop} width={width - left - right} height={curveHeight} />
      </clipPath>
      {ticks(ys, 5).map((v) => (
        <g key={`y${v}`}>
          <line class="hair" x1={left} x2={width - right} y1={y(v)} y2={y(v)} />
          <text x={left - 8} y={y(v) + 5} text-anchor="end">
            {text(v)}
          </text>
        </g>
      ))}
      <g clip-path="url(#curve-room)">
        <polygon class="band-u" points={band} />
        <polyline class="curve" points={line} />
      </g>
      {c.points.map((p, i) => (
        <circle class="point" cx={x(p.raw)} cy={y(p.value)} r="5" key={`p${i}`} />
      ))}
      <text class="title" x={left} y={curveTop - 10}>
        {c.unit} by the standards; band: twice the uncertainty of the curve
      </text>
      {ticks(off, 3).map((v) => (
        <g key={`r${v}`}>
          <line class={v === 0 ? 'zero' : 'hair'} x1={left} x2={width - right} y1={r(v)} y2={r(v)} />
          <text x={left - 8} y={r(v) + 5} text-anchor="end">
            {text(v)}
          </text>
        </g>
      ))}
      {c.points.map((p, i) => (
        <g key={`o${i}`}>
          <line class="whisker" x1={x(p.raw)} x2={x(p.raw)} y1={r(p.residual - 2 * p.u)} y2={r(p.residual + 2 * p.u)} />
          <circle class="point" cx={x(p.raw)} cy={r(p.residual)} r="5" />
        </g>
      ))}
      <text class="title" x={left} y={offTop - 10}>
        Off the curve, {c.unit}; whisker: twice the uncertainty of the standard
      </text>
      {ticks(xs, 6).map((v) => (
        <text x={x(v)} y={offTop + offHeight + 20} text-anchor="middle" key={`x${v}`}>
          {text(v)}
        </text>
      ))}
      <text class="title" x={width - right} y={offTop + offHeight + 40} text-anchor="end">
        {rawTitle}
      </text>
    </svg>
  );
}
