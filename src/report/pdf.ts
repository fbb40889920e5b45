import { type Block, type Cell, cellWords, type Column } from './block.ts';
import { inks } from './chart/picture.ts';
import { words } from './fact.ts';
import type { Report } from './model.ts';
import { Paper, type PaperSize, type TextStyle } from './paper.ts';
import { qrPicture } from './qr.ts';

const body: TextStyle = { size: 9 };
const quiet: TextStyle = { size: 8, colour: inks.quiet };
const caption: TextStyle = { size: 9, bold: true };
const cell: TextStyle = { size: 8.5 };
const headCell: TextStyle = { size: 8, bold: true, colour: inks.quiet };

/**
 * The report on paper: PDF 1.7 with a structure tree (headings, tables with header cells, lists, figures with their
 * words), searchable text, vector charts, language and title. No claim to PDF/UA or PDF/A is made.
 */
export async function reportPdf(report: Report, size: PaperSize = 'a4'): Promise<Uint8Array> {
  const paper = new Paper(report, size);
  paper.paragraph('H1', report.title, { size: 20, bold: true }, 2);
  for (const section of report.sections) {
    if (section.ownPage) paper.page();
    else if (section.id !== 'summary') paper.need(Math.min(section.room ?? 150, 600));
    paper.within('Sect', () => {
      paper.doc.outline.addItem(section.title);
      if (section.id !== 'summary') {
        if (!section.ownPage) paper.y += 8;
        paper.paragraph('H2', section.title, { size: 15, bold: true, colour: inks.accent }, 6);
      }
      for (const block of section.blocks) drawBlock(paper, block);
    });
  }
  return await paper.finish();
}

function drawBlock(paper: Paper, block: Block): void {
  switch (block.kind) {
    case 'big':
      return paper.paragraph('P', block.text, { size: 13, colour: inks.accent }, 8);
    case 'text':
      return paper.paragraph('P', block.text, body, 8);
    case 'facts':
      return drawFacts(paper, block);
    case 'list':
      return drawList(paper, block);
    case 'table':
      return drawTable(paper, block);
    case 'picture':
      return drawPicture(paper, block);
    case 'pictures':
      return drawPictures(paper, block);
    case 'photos':
      return drawPhotos(paper, block);
    case 'code':
      return drawCode(paper, block);
  }
}

type Of<K extends Block['kind']> = Extract<Block, { kind: K }>;

/** Labels and words, two pairs beside one another. */
function drawFacts(paper: Paper, { rows }: Of<'facts'>): void {
  const half = (paper.width - 16) / 2;
  const label = 92;
  paper.within('Table', () => {
    for (let i = 0; i < rows.length; i += 2) {
      const pair = rows.slice(i, i + 2);
      const heights = pair.map(({ label: name, fact }) =>
        Math.max(paper.heightOf(name, label - 6, quiet), paper.heightOf(words(fact), half - label, body)),
      );
      const height = Math.max(...heights) + 5;
      paper.need(height);
      const { y } = paper;
      paper.rule(y, inks.soft);
      paper.within('TR', () => {
        for (const [k, { label: name, fact }] of pair.entries()) {
          const x = paper.left + k * (half + 16);
          paper.tagged('TH', () => paper.put(name, x, y + 3.5, label - 6, quiet), { scope: 'Row' });
          const style = 'said' in fact ? body : { ...body, colour: inks.quiet };
          paper.tagged('TD', () => paper.put(words(fact), x + label, y + 3, half - label, style));
        }
      });
      paper.y += height;
    }
  });
  paper.y += 8;
}

function drawList(paper: Paper, { title, items }: Of<'list'>): void {
  paper.need(40);
  paper.paragraph('H3', title, caption, 3);
  paper.within('L', () => {
    for (const item of items) {
      const height = paper.heightOf(item, paper.width - 12, body);
      paper.need(height);
      const { y } = paper;
      paper.within('LI', () => {
        paper.tagged('Lbl', () => paper.put('•', paper.left, y, 10, body));
        paper.tagged('LBody', () => paper.put(item, paper.left + 12, y, paper.width - 12, body));
      });
      paper.y += height + 2;
    }
  });
  paper.y += 8;
}

interface Grid {
  readonly paper: Paper;
  readonly columns: readonly Column[];
}

const edges = ({ paper, columns }: Grid): { x: number; w: number; end: boolean }[] => {
  let x = paper.left;
  return columns.map(({ share, end }) => {
    const box = { x, w: share * paper.width - 8, end: end ?? false };
    x += share * paper.width;
    return box;
  });
};

function rowHeight(grid: Grid, cells: readonly Cell[], style: TextStyle): number {
  const boxes = edges(grid);
  return Math.max(...cells.map((words, i) => grid.paper.heightOf(cellWords(words), boxes[i]?.w ?? 10, style))) + 5;
}

function drawRow(
  grid: Grid,
  cells: readonly Cell[],
  style: TextStyle,
  put: (i: number, draw: () => void) => void,
): void {
  const { paper } = grid;
  const { y } = paper;
  for (const [i, box] of edges(grid).entries()) {
    const words = cells[i] ?? '';
    const struck = typeof words !== 'string';
    put(i, () => paper.put(cellWords(words), box.x, y + 3, box.w, { ...style, end: box.end, struck }));
  }
}

function drawTable(paper: Paper, { caption: title, columns, rows, none }: Of<'table'>): void {
  const grid = { paper, columns };
  const titles = columns.map((c) => c.title);
  const headHeight = rowHeight(grid, titles, headCell);
  if (rows.length === 0) {
    paper.need(30);
    paper.paragraph('H3', title, caption, 2);
    return paper.paragraph('P', none, body, 8);
  }
  paper.need(16 + headHeight + rowHeight(grid, rows[0] ?? [], cell));
  paper.within('Table', () => {
    paper.paragraph('Caption', title, caption, 2);
    paper.within('TR', () =>
      drawRow(grid, titles, headCell, (_, draw) => paper.tagged('TH', draw, { scope: 'Column' })),
    );
    paper.y += headHeight;
    const heights = rows.map((row) => rowHeight(grid, row, cell));
    for (const [i, row] of rows.entries()) {
      const height = heights[i] ?? 0;
      // The last row goes over to the next page in company only.
      const ahead = i === rows.length - 2 ? height + (heights[i + 1] ?? 0) : height;
      if (paper.y + ahead > paper.bottom) {
        paper.page();
        // The head again for the eye; who listens has heard it.
        paper.artifact(() => drawRow(grid, titles, headCell, (_, draw) => draw()));
        paper.y += headHeight;
      }
      paper.rule(paper.y, inks.soft);
      paper.within('TR', () =>
        drawRow(grid, row, cell, (k, draw) =>
          k === 0 && !columns[0]?.end ? paper.tagged('TH', draw, { scope: 'Row' }) : paper.tagged('TD', draw),
        ),
      );
      paper.y += height;
    }
  });
  paper.y += 10;
}

function drawPicture(paper: Paper, { caption: title, picture }: Of<'picture'>): void {
  const above = paper.heightOf(title, paper.width, caption);
  paper.need(above + picture.height + 8);
  paper.paragraph('Caption', title, caption, 4);
  const { y } = paper;
  paper.tagged('Figure', () => paper.picture(picture, paper.left, y), { alt: picture.alt });
  paper.y += picture.height + 12;
}

const pictureTitle: TextStyle = { size: 8.5, bold: true };
const pictureNote: TextStyle = { size: 7.5, colour: inks.quiet };

interface Tile {
  readonly title: string;
  readonly note: string;
  readonly tall: number;
  readonly draw: (x: number, y: number, wide: number) => void;
}

/** What is small stands two in a row, each with its title above and its sentence below. */
function drawTiles(paper: Paper, title: string, tiles: readonly Tile[]): void {
  paper.need(160);
  paper.paragraph('P', title, { ...quiet, size: 8.5 }, 6);
  const step = (paper.width + 14) / 2;
  const wide = step - 14;
  for (let i = 0; i < tiles.length; i += 2) {
    const pair = tiles.slice(i, i + 2);
    const heads = Math.max(...pair.map((p) => paper.heightOf(p.title, wide, pictureTitle)));
    const notes = Math.max(...pair.map((p) => paper.heightOf(p.note, wide, pictureNote)));
    const tall = Math.max(...pair.map((p) => p.tall));
    paper.need(heads + tall + notes + 10);
    const { y } = paper;
    for (const [k, tile] of pair.entries()) {
      const x = paper.left + k * step;
      paper.tagged('H3', () => paper.put(tile.title, x, y, wide, pictureTitle));
      tile.draw(x, y + heads + 3, wide);
      paper.tagged('P', () => paper.put(tile.note, x, y + heads + tall + 5, wide, pictureNote));
    }
    paper.y += heads + tall + notes + 16;
  }
}

function drawPictures(paper: Paper, { caption: title, items }: Of<'pictures'>): void {
  const tiles = items.map(
    ({ title: name, note, picture }): Tile => ({
      title: name,
      note,
      tall: picture.height,
      draw: (x, y) => paper.tagged('Figure', () => paper.picture(picture, x, y), { alt: picture.alt }),
    }),
  );
  drawTiles(paper, title, tiles);
}

const photoHeight = 190;

function drawPhotos(paper: Paper, { caption: title, items }: Of<'photos'>): void {
  const tiles = items.map(
    ({ title: name, note, file }): Tile => ({
      title: name,
      note,
      tall: photoHeight,
      draw: (x, y, wide) => paper.photo(file, name, x, y, wide, photoHeight),
    }),
  );
  drawTiles(paper, title, tiles);
}

function drawCode(paper: Paper, { caption: title, text }: Of<'code'>): void {
  const size = 110;
  paper.need(size + 20);
  const picture = qrPicture(text, size);
  const { y } = paper;
  paper.tagged('Figure', () => paper.picture(picture, paper.left - 8, y), { alt: picture.alt });
  const x = paper.left + size + 4;
  const wide = paper.width - size - 4;
  paper.tagged('Caption', () => paper.put(title, x, y + 10, wide, caption));
  paper.tagged('P', () => paper.put(text, x, y + 26, wide, { size: 8, mono: true }));
  paper.y += size + 8;
}
