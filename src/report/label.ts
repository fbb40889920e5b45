import { words } from './fact.ts';
import type { Report } from './model.ts';
import { Paper } from './paper.ts';

/**
 * A label for beside the heat source, 90 x 60 mm: what was done and when, what is in the water, when to look again, and
 * where the record is known by.
 */
export async function labelPdf(report: Report): Promise<Uint8Array> {
  const { facts } = report;
  const paper = new Paper(report, 'label');
  paper.paragraph('H1', 'System water cleaned', { size: 13, bold: true }, 3);
  for (const mark of report.marks) paper.paragraph('P', mark, { size: 9, bold: true }, 2);
  const rows = [facts.started, facts.cleaner, facts.inhibitor, facts.nextCheck, facts.engineer, facts.seal, facts.run];
  for (const { label, fact } of rows) {
    const height = Math.max(9, paper.heightOf(words(fact), paper.width - 62, { size: 7.5 }));
    const { y } = paper;
    paper.tagged('P', () => {
      paper.put(label, paper.left, y, 58, { size: 7.5, colour: '#404040' });
      paper.put(words(fact), paper.left + 62, y, paper.width - 62, { size: 7.5 });
    });
    paper.y += height + 2;
  }
  return await paper.finish();
}
