import PDFDocument from 'pdfkit';
import { type Fonts, fontsFor } from './winansi.ts';
import { hatchLines, inks, type Picture } from './chart/picture.ts';
import type { Report } from './model.ts';

export type PaperSize = 'a4' | 'letter' | 'label';
type Document = PDFKit.PDFDocument;
type Element = PDFKit.PDFStructureElement;
/** What pdfkit takes for a structure element; its own types lack the scope of a header cell. */
interface Tagging extends PDFKit.Mixins.StructureElementOptions {
  scope?: 'Row' | 'Column';
}

interface Sheet {
  readonly size: string | [number, number];
  readonly margin: number;
  readonly top: number;
  readonly foot: number;
}
const mm = 72 / 25.4;
const sheets: Readonly<Record<PaperSize, Sheet>> = {
  a4: { size: 'A4', margin: 48, top: 62, foot: 52 },
  letter: { size: 'LETTER', margin: 48, top: 62, foot: 52 },
  label: { size: [90 * mm, 60 * mm], margin: 10, top: 9, foot: 6 },
};

export interface TextStyle {
  readonly size: number;
  readonly bold?: boolean;
  readonly mono?: boolean;
  readonly colour?: string;
  readonly end?: boolean;
  readonly struck?: boolean;
}

/** Of the words behind everything, from the foot up. */
const slant = (52 / 180) * Math.PI;

/** Pages with a cursor, a grid and a structure tree; knows nothing of what the report says. */
export class Paper {
  readonly doc: Document;
  readonly width: number;
  readonly left: number;
  y: number;
  private readonly sheet: Sheet;
  private readonly fonts: Fonts;
  private readonly report: Report;
  private readonly root: Element;
  private parent: Element;

  constructor(report: Report, size: PaperSize) {
    this.report = report;
    this.sheet = sheets[size];
    this.y = this.sheet.top;
    this.fonts = fontsFor(JSON.stringify(report));
    this.doc = new PDFDocument({
      size: this.sheet.size,
      // Breaks are ours: a margin of nought keeps the library from making pages of its own.
      margin: 0,
      tagged: true,
      pdfVersion: '1.7',
      lang: report.lang,
      displayTitle: true,
      bufferPages: true,
      autoFirstPage: false,
      info: {
        Title: `${report.title} (${report.runId})`,
        Subject: [...report.marks, report.headline].join('. '),
        Creator: 'Limpid',
        Producer: 'Limpid',
        CreationDate: new Date(report.madeAt),
      },
    });
    this.root = this.doc.struct('Document');
    this.doc.addStructure(this.root);
    this.parent = this.root;
    this.page();
    this.width = this.doc.page.width - 2 * this.sheet.margin;
    this.left = this.sheet.margin;
  }

  get bottom(): number {
    return this.doc.page.height - this.sheet.foot;
  }

  page(): void {
    this.doc.addPage();
    this.y = this.sheet.top;
    this.artifact(() => this.watermark());
  }

  /** A new page unless so much height is left. */
  need(height: number): void {
    if (this.y + height > this.bottom && this.y > this.sheet.top) this.page();
  }

  /** A part of the structure with what `draw` puts into it. */
  within(tag: string, draw: () => void, options: Tagging = {}): void {
    const element = this.doc.struct(tag, options);
    this.parent.add(element);
    const outer = this.parent;
    this.parent = element;
    draw();
    this.parent = outer;
    element.end();
  }

  /** Content that belongs to one tag; must stay on one page. */
  tagged(tag: string, draw: () => void, options: Tagging = {}): void {
    const element = this.doc.struct(tag, options, draw);
    this.parent.add(element);
  }

  /** What readers aloud pass over: rules, watermarks, repeated headers. */
  artifact(draw: () => void): void {
    this.doc.markContent('Artifact', { type: 'Layout' });
    draw();
    this.doc.endMarkedContent();
  }

  private style({ size, bold, mono, colour }: TextStyle): void {
    const { fonts } = this;
    this.doc
      .font(mono ? fonts.mono : bold ? fonts.bold : fonts.regular)
      .fontSize(size)
      .fillColor(colour ?? inks.trace);
  }

  heightOf(text: string, width: number, style: TextStyle): number {
    this.style(style);
    return this.doc.heightOfString(this.fonts.shown(text) || ' ', { width, lineGap: 1 });
  }

  /** Text in a box of this width; draws nothing else. */
  put(text: string, x: number, y: number, width: number, style: TextStyle): void {
    this.style(style);
    const align = style.end ? 'right' : 'left';
    this.doc.text(this.fonts.shown(text), x, y, { width, lineGap: 1, align, strike: style.struck ?? false });
  }

  /** Text over the whole width at the cursor, which goes on below it. */
  paragraph(tag: string, text: string, style: TextStyle, gap = 4): void {
    const height = this.heightOf(text, this.width, style);
    this.need(height);
    const { y } = this;
    this.tagged(tag, () => this.put(text, this.left, y, this.width, style));
    this.y += height + gap;
  }

  rule(y: number, colour = inks.soft, width = 0.6): void {
    this.artifact(() => {
      this.doc
        .moveTo(this.left, y)
        .lineTo(this.left + this.width, y)
        .lineWidth(width)
        .undash()
        .stroke(colour);
    });
  }

  /** A drawing with its upper left corner here. */
  picture(picture: Picture, x: number, y: number): void {
    const { doc } = this;
    for (const shape of picture.shapes) {
      if (shape.kind === 'line') this.line(shape.points, x, y, inks[shape.ink], shape.width, shape.dash);
      else if (shape.kind === 'rect') doc.rect(x + shape.x, y + shape.y, shape.w, shape.h).fill(inks[shape.ink]);
      else if (shape.kind === 'ring')
        doc
          .circle(x + shape.x, y + shape.y, shape.r)
          .lineWidth(1)
          .undash()
          .stroke(inks[shape.ink]);
      else if (shape.kind === 'hatch')
        for (const points of hatchLines(shape.x, shape.y, shape.w, shape.h)) this.line(points, x, y, inks.hair, 0.4);
      else {
        this.style({ size: shape.size, colour: inks[shape.ink] });
        const text = this.fonts.shown(shape.text);
        const wide = doc.widthOfString(text);
        const at = shape.anchor === 'start' ? 0 : shape.anchor === 'end' ? wide : wide / 2;
        doc.text(text, x + shape.x - at, y + shape.y - shape.size * 0.75, { lineBreak: false });
      }
    }
  }

  /** A photo of the report inside a box, its upper left corner there; what cannot be drawn is said in its place. */
  photo(file: string, alt: string, x: number, y: number, w: number, h: number): void {
    const bytes = this.report.photos.get(file);
    const draw = (): void => {
      try {
        if (bytes) this.doc.image(Buffer.from(bytes), x, y, { fit: [w, h] });
        else this.put('No picture is kept.', x, y + 8, w, { size: 8, colour: inks.quiet });
      } catch {
        this.put('This picture cannot be drawn on paper.', x, y + 8, w, { size: 8, colour: inks.quiet });
      }
    };
    this.tagged('Figure', draw, { alt });
  }

  private line(
    points: readonly number[],
    x: number,
    y: number,
    colour: string,
    width: number,
    dash?: readonly [number, number],
  ): void {
    const { doc } = this;
    doc.moveTo(x + (points[0] ?? 0), y + (points[1] ?? 0));
    for (let i = 2; i + 1 < points.length; i += 2) doc.lineTo(x + (points[i] ?? 0), y + (points[i + 1] ?? 0));
    doc.lineWidth(width).lineJoin('round');
    if (dash) doc.dash(dash[0], { space: dash[1] });
    else doc.undash();
    doc.stroke(colour);
  }

  /** A label has no room for them. */
  private get hasHeads(): boolean {
    return this.sheet.top > 20;
  }

  /** Large and pale behind everything, so that no copy of a page loses it. */
  private watermark(): void {
    const { doc } = this;
    const text = this.report.marks.join(' - ');
    if (text === '' || !this.hasHeads) return;
    const { width, height } = doc.page;
    const size = text.length > 24 ? 44 : 60;
    const style = { bold: true, colour: '#f2f2f2' };
    this.style({ size, ...style });
    // Three marks together are longer than the slant of the page.
    const room = 0.88 * Math.min(width / Math.cos(slant), height / Math.sin(slant));
    this.style({ size: size * Math.min(1, room / doc.widthOfString(text)), ...style });
    doc.save();
    doc.rotate((-slant * 180) / Math.PI, { origin: [width / 2, height / 2] });
    doc.text(text, width / 2 - doc.widthOfString(text) / 2, height / 2 - 24, { lineBreak: false });
    doc.restore();
  }

  /** Heads and feet of all pages, then the file. */
  async finish(): Promise<Uint8Array> {
    this.root.end();
    const { doc, report } = this;
    const { start, count } = doc.bufferedPageRange();
    for (let i = start; i < start + count && this.hasHeads; i++) {
      doc.switchToPage(i);
      doc.markContent('Artifact', { type: 'Pagination' });
      const at = doc.page.height - 34;
      this.style({ size: 8, colour: inks.quiet });
      this.put(
        `${report.runId}  ·  made ${report.madeAt.slice(0, 16).replace('T', ' ')} UTC`,
        this.left,
        at,
        this.width * 0.7,
        { size: 8, colour: inks.quiet },
      );
      this.put(`page ${i - start + 1} of ${count}`, this.left + this.width * 0.7, at, this.width * 0.3, {
        size: 8,
        colour: inks.quiet,
        end: true,
      });
      this.put('Record of a heating system clean', this.left, 34, this.width * 0.5, { size: 8, colour: inks.quiet });
      this.put(report.marks.join('  ·  '), this.left + this.width * 0.4, 34, this.width * 0.6, {
        size: 8.5,
        bold: true,
        end: true,
      });
      doc
        .moveTo(this.left, 48)
        .lineTo(this.left + this.width, 48)
        .lineWidth(0.6)
        .undash()
        .stroke(inks.hair);
      doc.endMarkedContent();
    }
    const chunks: Uint8Array[] = [];
    const whole = new Promise<Uint8Array>((resolve, reject) => {
      doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
      doc.on('end', () => resolve(Buffer.concat(chunks)));
      doc.on('error', reject);
    });
    doc.end();
    return whole;
  }
}
