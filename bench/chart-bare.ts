/** A bare page of the chart library, as its own examples would have it: whole arrays, one chart of three lines on a log scale, four small ones of five. */
export function barePage(windowS: number, box: { readonly width: number; readonly height: number }): string {
  const script = `
const n = ${windowS * 10};
const x = new Array(n), cols = Array.from({ length: 8 }, () => new Array(n));
const at = (c, t) => c < 3 ? 9 + 300 * Math.abs(Math.sin(t / 400 + c)) ** 9 + Math.sin(t * 12.9 + c) : 10 * (c + 1) + Math.sin(t * 7.1 + c) + Math.sin(t / 90);
for (let i = 0; i < n; i++) { x[i] = i / 10; for (let c = 0; c < 8; c++) cols[c][i] = at(c, i / 10); }
const line = (stroke, width) => ({ stroke, width, points: { show: false } });
const base = (width, height, y) => ({ width, height, cursor: { show: false }, legend: { show: false }, scales: { x: { time: false }, y }, });
const big = new uPlot({ ...base(${Math.round(box.width)}, ${Math.round(box.height)}, { distr: 3, log: 10, range: [0.5, 5000] }), axes: [{}, {}], series: [{}, line('#404040', 1.5), line('#006b4f', 1.5), line('#000', 2.5)] }, [x, cols[0], cols[1], cols[2]], document.body);
const small = [[3], [4], [5, 6], [7]].map((cs) => ({ cs, u: new uPlot({ ...base(120, 66, { range: [0, 100] }), axes: [{ show: false }, { show: false }], series: [{}, ...cs.map(() => line('#0072b2', 2))] }, [x, ...cs.map((c) => cols[c])], document.body) }));
let k = n;
addEventListener('tick', () => {
  x.shift(); x.push(k / 10);
  for (let c = 0; c < 8; c++) { cols[c].shift(); cols[c].push(at(c, k / 10)); }
  k += 1;
  requestAnimationFrame(() => {
    big.setData([x, cols[0], cols[1], cols[2]]);
    if (k % 5 === 0) for (const s of small) s.u.setData([x, ...s.cs.map((c) => cols[c])]);
  });
});`;
  return `<!doctype html><meta charset="utf-8"><link rel="stylesheet" href="/uplot.css"><body><script src="/uplot.js"></script><script>${script}</script>`;
}
