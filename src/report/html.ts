import { type Block, cellWords } from './block.ts';
import { hatchLines, inks, type Picture, type Shape } from './chart/picture.ts';
import { words } from './fact.ts';
import type { Report } from './model.ts';
import { qrPicture } from './qr.ts';

const escapes: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text from a person, as it may stand in a page. */
export function escapeHtml(text: string): string {
  // Control characters have no place in a page, nor in XML.
  return text.replace(/[^\P{Cc}\t\n\r]|[\ufffe\uffff]/gu, '').replace(/[&<>"']/g, (c) => escapes[c] ?? c);
}

const number = (value: number): string => String(Math.round(value * 100) / 100);

function polyline(points: readonly number[], ink: string, width: number, dash = ''): string {
  const pairs: string[] = [];
  for (let i = 0; i + 1 < points.length; i += 2) pairs.push(`${number(points[i] ?? 0)},${number(points[i + 1] ?? 0)}`);
  return `<polyline points="${pairs.join(' ')}" fill="none" stroke="${ink}" stroke-width="${width}"${dash}/>`;
}

function shapeSvg(shape: Shape): string {
  switch (shape.kind) {
    case 'line': {
      const dash = shape.dash ? ` stroke-dasharray="${shape.dash.join(' ')}"` : '';
      return polyline(shape.points, inks[shape.ink], shape.width, dash);
    }
    case 'rect':
      return `<rect x="${number(shape.x)}" y="${number(shape.y)}" width="${number(shape.w)}" height="${number(shape.h)}" fill="${inks[shape.ink]}"/>`;
    case 'ring':
      return `<circle cx="${number(shape.x)}" cy="${number(shape.y)}" r="${shape.r}" fill="none" stroke="${inks[shape.ink]}"/>`;
    case 'hatch':
      return hatchLines(shape.x, shape.y, shape.w, shape.h)
        .map((points) => polyline(points, inks.hair, 0.4))
        .join('');
    case 'text':
      return `<text x="${number(shape.x)}" y="${number(shape.y)}" font-size="${shape.size}" text-anchor="${shape.anchor}" fill="${inks[shape.ink]}">${escapeHtml(shape.text)}</text>`;
  }
}

/** A drawing as SVG with its words. */
export function pictureSvg(picture: Picture): string {
  const { width, height, shapes, alt } = picture;
  return `<svg role="img" aria-label="${escapeHtml(alt)}" viewBox="0 0 ${number(width)} ${number(height)}" width="${number(width)}" xmlns="http://www.w3.org/2000/svg">${shapes.map(shapeSvg).join('')}</svg>`;
}

function tableHtml({ caption, columns, rows, none }: Extract<Block, { kind: 'table' }>): string {
  if (rows.length === 0) return `<h3>${escapeHtml(caption)}</h3><p>${escapeHtml(none)}</p>`;
  const end = (i: number): string => (columns[i]?.end ? ' class="end"' : '');
  const head = columns.map(({ title }, i) => `<th scope="col"${end(i)}>${escapeHtml(title)}</th>`).join('');
  const lines = rows.map((row) => {
    const cells = row.map((cell, i) => {
      const words = escapeHtml(cellWords(cell));
      const shown = typeof cell === 'string' ? words : `<s>${words}</s>`;
      return i === 0 && !columns[0]?.end ? `<th scope="row">${shown}</th>` : `<td${end(i)}>${shown}</td>`;
    });
    return `<tr>${cells.join('')}</tr>`;
  });
  return `<div class="wide"><table><caption>${escapeHtml(caption)}</caption><thead><tr>${head}</tr></thead><tbody>${lines.join('')}</tbody></table></div>`;
}

function blockHtml(block: Block, photos: Report['photos']): string {
  switch (block.kind) {
    case 'big':
      return `<p class="big">${escapeHtml(block.text)}</p>`;
    case 'text':
      return `<p>${escapeHtml(block.text)}</p>`;
    case 'facts': {
      const pairs = block.rows.map(
        ({ label, fact }) =>
          `<div><dt>${escapeHtml(label)}</dt><dd${'said' in fact ? '' : ' class="missing"'}>${escapeHtml(words(fact))}</dd></div>`,
      );
      return `<dl>${pairs.join('')}</dl>`;
    }
    case 'list':
      return `<h3>${escapeHtml(block.title)}</h3><ul>${block.items.map((i) => `<li>${escapeHtml(i)}</li>`).join('')}</ul>`;
    case 'table':
      return tableHtml(block);
    case 'picture':
      return `<figure><figcaption>${escapeHtml(block.caption)}</figcaption>${pictureSvg(block.picture)}</figure>`;
    case 'pictures': {
      const figures = block.items.map(
        ({ title, note, picture }) =>
          `<figure><h3>${escapeHtml(title)}</h3>${pictureSvg(picture)}<figcaption>${escapeHtml(note)}</figcaption></figure>`,
      );
      return `<p>${escapeHtml(block.caption)}</p><div class="pair">${figures.join('')}</div>`;
    }
    case 'photos': {
      const figures = block.items.map(({ title, note, file }) => {
        const bytes = photos.get(file);
        const type = file.endsWith('.png') ? 'image/png' : 'image/jpeg';
        const picture = bytes
          ? `<img src="data:${type};base64,${Buffer.from(bytes).toString('base64')}" alt="${escapeHtml(title)}">`
          : '';
        return `<figure><h3>${escapeHtml(title)}</h3>${picture}<figcaption>${escapeHtml(note)}</figcaption></figure>`;
      });
      return `<p>${escapeHtml(block.caption)}</p><div class="pair">${figures.join('')}</div>`;
    }
    case 'code':
      return `<figure class="code">${pictureSvg(qrPicture(block.text, 150))}<figcaption>${escapeHtml(block.caption)}: <code>${escapeHtml(block.text)}</code></figcaption></figure>`;
  }
}

const style = `:root{color-scheme:light}body{margin:0 auto;padding:1.5rem;max-width:50rem;font:16px/1.45 system-ui,"Segoe UI",Roboto,"Noto Sans",sans-serif;font-variant-numeric:tabular-nums;color:#000;background:#fff}
h1{font-size:1.9rem;margin:.2em 0}h2{color:#0b4f7a;margin:2rem 0 .5rem;border-top:1px solid #767676;padding-top:.7rem}h3{font-size:1rem;margin:1.2rem 0 .3rem}
.big{font-size:1.25rem;color:#0b4f7a}.mark{font-weight:700;border:2px solid #000;padding:.3rem .6rem;display:inline-block;margin:0 .5rem .5rem 0}
dl{display:grid;grid-template-columns:repeat(auto-fit,minmax(20rem,1fr));gap:0 1.5rem}dl div{display:flex;gap:.8rem;border-top:1px solid #d9e2e8;padding:.25rem 0}dt{flex:0 0 9rem;color:#404040}dd{margin:0;overflow-wrap:anywhere;min-width:0}.missing{color:#404040}
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;margin:1rem 0;font-size:.92rem}caption{text-align:left;font-weight:700}th,td{text-align:left;vertical-align:top;padding:.25rem .6rem .25rem 0;border-bottom:1px solid #d9e2e8;font-weight:400}thead th{color:#404040;font-weight:700}.end{text-align:right}
figure{margin:1rem 0}figcaption{color:#404040;font-size:.9rem}svg{width:100%;height:auto;font-family:inherit}.code svg{width:150px}.pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(18rem,1fr));gap:1rem}.pair figure{margin:0}.pair img{max-width:100%;max-height:22rem}.pair figcaption{overflow-wrap:anywhere}code{overflow-wrap:anywhere}td:last-child:not(.end){overflow-wrap:anywhere;min-width:8rem}.each{display:none}
@page{margin:14mm}@media print{body{padding:0;max-width:none}h2,h3,caption,thead{break-after:avoid}tbody tr:first-child{break-before:avoid}figure,tr,dl div{break-inside:avoid}.wide{overflow:visible}
.each{display:grid;place-items:center;position:fixed;inset:0;z-index:-1;margin:0;transform:rotate(-55deg);font-size:4.2rem;font-weight:700;text-align:center;color:#e9e9e9;-webkit-print-color-adjust:exact;print-color-adjust:exact}}`;

/** The report as one page that needs nothing else: no script, no font, no picture from anywhere. */
export function reportHtml(report: Report): string {
  const marks = report.marks.map((m) => `<span class="mark">${escapeHtml(m)}</span>`).join('');
  // On paper it must stand on each page, not on the first alone.
  const each =
    marks === '' ? '' : `<p class="each" aria-hidden="true">${escapeHtml(report.marks.join(' \u00b7 '))}</p>`;
  const sections = report.sections.map(
    ({ id, title, blocks }) =>
      `<section aria-labelledby="${id}"><h2 id="${id}">${escapeHtml(title)}</h2>${blocks.map((b) => blockHtml(b, report.photos)).join('\n')}</section>`,
  );
  return `<!doctype html>
<html lang="${report.lang}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width,initial-scale=1">
<meta http-equiv="content-security-policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>${escapeHtml(`${report.title} (${report.runId})`)}</title>
<style>${style}</style>
</head>
<body>
<main>
<h1>${escapeHtml(report.title)}</h1>
${marks}
${each}
${sections.join('\n')}
</main>
<footer><p>${escapeHtml(report.runId)}, made ${escapeHtml(report.madeAt)}</p></footer>
</body>
</html>
`;
}
