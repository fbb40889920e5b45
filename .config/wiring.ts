// npm run wiring: draws docs/kit/wiring.svg and the pin table of docs/kit/README.md from docs/kit/wiring.json.
// tests/docs/kit.test.ts holds both, and the firmware's pins.hpp, against that one list.
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const wiringSchema = z.object({
  board: z.string(),
  wires: z.array(
    z.object({
      pin: z.string(),
      define: z.string().nullable(),
      bit: z.string().nullable(),
      part: z.string(),
      note: z.string(),
    }),
  ),
});
export type Wiring = z.infer<typeof wiringSchema>;

const folder = new URL('../docs/kit/', import.meta.url);

export function readWiring(): Wiring {
  return wiringSchema.parse(JSON.parse(readFileSync(new URL('wiring.json', folder), 'utf8')));
}

const escape = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

/** Black on white, wire names printed on the wires: readable on A4 without colour. Sizes in SVG units. */
export function drawWiring(wiring: Wiring): string {
  const row = 44;
  const top = 70;
  const height = top + wiring.wires.length * row + 20;
  const lines = wiring.wires.map((wire, i) => {
    const y = top + i * row + 14;
    return [
      `<line x1="190" y1="${y}" x2="420" y2="${y}" stroke="#000" stroke-width="2"/>`,
      `<circle cx="190" cy="${y}" r="4"/><circle cx="420" cy="${y}" r="4"/>`,
      `<text x="175" y="${y + 5}" text-anchor="end" font-weight="bold">${escape(wire.pin)}</text>`,
      `<text x="305" y="${y - 6}" text-anchor="middle" font-size="13">${escape(wire.bit && wire.define?.startsWith('PIN') ? wire.bit : wire.pin)}</text>`,
      `<rect x="420" y="${y - 17}" width="440" height="36" fill="none" stroke="#000"/>`,
      `<text x="430" y="${y - 2}">${escape(wire.part)}</text>`,
      `<text x="430" y="${y + 14}" font-size="12">${escape(wire.note)}</text>`,
    ].join('\n  ');
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 880 ${height}" role="img" aria-labelledby="t d" font-family="sans-serif" font-size="15">
  <title id="t">Wiring of the kit</title>
  <desc id="d">${escape(wiring.wires.map((w) => `${w.pin}: ${w.part}`).join('; '))}</desc>
  <rect width="100%" height="100%" fill="#fff"/>
  <rect x="20" y="${top - 20}" width="170" height="${wiring.wires.length * row + 10}" fill="none" stroke="#000" stroke-width="2"/>
  <text x="20" y="30" font-size="18" font-weight="bold">${escape(wiring.board)}</text>
  ${lines.join('\n  ')}
</svg>
`;
}

/** The same list as a table in text: the master for those who cannot see the drawing. */
export function pinTable(wiring: Wiring): string {
  const rows = wiring.wires.map((w) => `| ${w.pin} | ${w.part} | ${w.note} |`);
  return ['| pin | goes to | note |', '|---|---|---|', ...rows].join('\n');
}

export const tableMarks = ['<!-- pins: npm run wiring -->', '<!-- /pins -->'] as const;

export function withTable(page: string, wiring: Wiring): string {
  const [from, to] = tableMarks;
  const start = page.indexOf(from);
  const end = page.indexOf(to);
  if (start < 0 || end < start)
    throw new Error(`docs/kit/README.md has lost its marks ${from} and ${to}; put them back around the pin table.`);
  return `${page.slice(0, start + from.length)}\n${pinTable(wiring)}\n${page.slice(end)}`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const wiring = readWiring();
  writeFileSync(new URL('wiring.svg', folder), drawWiring(wiring));
  const page = new URL('README.md', folder);
  writeFileSync(page, withTable(readFileSync(page, 'utf8'), wiring));
}
