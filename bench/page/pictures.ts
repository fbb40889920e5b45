/** Plain SVG pictures of the benchmark: hairlines, one accent, light and dark by the reader's own setting. */

const style = `<style>
text{font:13px system-ui,sans-serif;fill:#222}.quiet{fill:#666}.line{stroke:#d5d5d5}.bar{stroke:#b3261e;stroke-dasharray:3 3}
.ours{fill:#0b6e75;stroke:#0b6e75}.rule{fill:none;stroke:#888}.curve{fill:none;stroke-width:2}.over{fill:#b3261e;stroke:#b3261e}
@media(prefers-color-scheme:dark){text{fill:#e6e6e6}.quiet{fill:#9a9a9a}.line{stroke:#3a3a3a}.ours{fill:#4fc3cb;stroke:#4fc3cb}.bar{stroke:#ff8a80}.over{fill:#ff8a80;stroke:#ff8a80}}
</style>`;

function escape(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');
}

function svg(width: number, height: number, title: string, body: string): string {
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img"><title>${escape(title)}</title>${style}${body}</svg>\n`;
}

export interface FamilyShare {
  readonly name: string;
  /** Percent of the clears shown, or null where there were none. */
  readonly own: number | null;
  readonly withEcho: number | null;
  readonly clears: number;
}

/** Wrong clears by family: a ring without, a dot with the echo counted; worst first; a line where the bar is. */
export function familiesPicture(families: readonly FamilyShare[], limit: number): string {
  const shown = [...families].sort((a, b) => (b.withEcho ?? -1) - (a.withEcho ?? -1));
  const most = Math.max(20, ...shown.map((f) => f.withEcho ?? 0));
  const x = (percent: number): number => 190 + (520 * percent) / most;
  const height = 60 + 20 * shown.length;
  const ticks = [0, 5, 10, 20, 30, 40, 50, 60, 80, 100].filter((t) => t <= most);
  const body = [
    ...ticks.map(
      (t) =>
        `<line class="line" x1="${x(t)}" x2="${x(t)}" y1="30" y2="${height - 20}"/><text class="quiet" x="${x(t)}" y="20" text-anchor="middle">${t} %</text>`,
    ),
    `<line class="bar" x1="${x(limit)}" x2="${x(limit)}" y1="30" y2="${height - 20}"/>`,
    ...shown.map((f, i) => {
      const y = 46 + 20 * i;
      const label = `<text x="8" y="${y + 4}">${escape(f.name)}</text><text class="quiet" x="182" y="${y + 4}" text-anchor="end">${f.clears}</text>`;
      if (f.own === null || f.withEcho === null) return label;
      return `${label}<line class="line" x1="${x(f.own)}" x2="${x(f.withEcho)}" y1="${y}" y2="${y}"/><circle class="rule" cx="${x(f.own)}" cy="${y}" r="4"/><circle class="${f.withEcho > limit ? 'over' : 'ours'}" cx="${x(f.withEcho)}" cy="${y}" r="4"/>`;
    }),
    `<text class="quiet" x="8" y="${height - 4}">ring: own release; dot: with the echo counted; the number is how many clears were shown</text>`,
  ];
  return svg(730, height, 'Wrong clears by family', body.join(''));
}

export interface DelayCurve {
  readonly name: string;
  readonly isOurs: boolean;
  readonly delaysS: readonly number[];
  /** Visits that were due a clear, those without one included. */
  readonly due: number;
}

/** Share of the visits due a clear that had a right one, by seconds after the true moment. */
export function delayPicture(curves: readonly DelayCurve[]): string {
  const most = 120;
  const x = (s: number): number => 60 + (600 * Math.min(s, most)) / most;
  const y = (share: number): number => 300 - 260 * share;
  const lines = curves.map((curve) => {
    const sorted = [...curve.delaysS].sort((a, b) => a - b).filter((s) => s <= most);
    // The last of each pixel: thousands of delays draw no finer line.
    const heights = new Map(sorted.map((s, i) => [Math.round(x(s)), y((i + 1) / curve.due).toFixed(1)]));
    const points = [...heights].map(([px, py]) => `${px},${py}`);
    const end = `${x(most)},${y(sorted.length / curve.due).toFixed(1)}`;
    const colour = curve.isOurs ? 'class="curve ours" style="fill:none"' : 'class="curve rule"';
    return `<polyline ${colour} points="${[...points, end].join(' ')}"/><text class="${curve.isOurs ? '' : 'quiet'}" x="668" y="${y(sorted.length / curve.due) + 4}">${escape(curve.name)}</text>`;
  });
  const grid = [
    ...[0, 0.25, 0.5, 0.75, 1].map(
      (share) =>
        `<line class="line" x1="60" x2="660" y1="${y(share)}" y2="${y(share)}"/><text class="quiet" x="52" y="${y(share) + 4}" text-anchor="end">${100 * share} %</text>`,
    ),
    ...[0, 20, 45, 60, 90, 120].map(
      (s) => `<text class="quiet" x="${x(s)}" y="322" text-anchor="middle">${s} s</text>`,
    ),
    `<line class="bar" x1="${x(20)}" x2="${x(20)}" y1="40" y2="300"/><line class="bar" x1="${x(45)}" x2="${x(45)}" y1="40" y2="300"/>`,
    '<text class="quiet" x="60" y="24">visits with a right clear so long after the true moment, of those that were due one</text>',
  ];
  return svg(860, 336, 'How soon a right clear is shown', [...grid, ...lines].join(''));
}
