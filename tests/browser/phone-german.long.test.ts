import { describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { hasChromium } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { ownPage } from './own-page.ts';

const page = ownPage({ viewport: { width: 412, height: 915 }, locale: 'de-DE' });

/** Boxes that their own words do not fit into; what ends in dots is cut on purpose. */
const tooWide = (): Promise<string[]> =>
  page().evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('body *')]
      .filter((e) => {
        const { display, textOverflow, webkitLineClamp } = getComputedStyle(e);
        const isCut = textOverflow === 'ellipsis' || webkitLineClamp !== 'none';
        const hasWords = [...e.childNodes].some((n) => n instanceof Text && n.data.trim() !== '');
        if (!hasWords || display === 'inline' || isCut || e.closest('.for-readers, .marks')) return false;
        // The number of a stage may stand a hair out of its rounded box.
        return e.scrollWidth > e.clientWidth + (e.classList.contains('point') ? 1 : 0);
      })
      .map((e) => `${e.className}: ${e.textContent} ${e.scrollWidth}/${e.clientWidth}`),
  );

/** Words of the big buttons that are broken somewhere within. */
const broken = (): Promise<string[]> =>
  page().evaluate(() => {
    const found: string[] = [];
    for (const label of document.querySelectorAll('.action-label')) {
      const text = label.firstChild;
      if (!(text instanceof Text)) continue;
      for (const match of text.data.matchAll(/\S+/g)) {
        // A soft hyphen says where it may break.
        if (match[0].includes('\u00ad')) continue;
        const range = document.createRange();
        range.setStart(text, match.index);
        range.setEnd(text, match.index + match[0].length);
        if ([...range.getClientRects()].filter((box) => box.width > 2).length > 1) found.push(match[0]);
      }
    }
    return found;
  });

describe.skipIf(!hasChromium)('the page in German on a phone of 412 x 915', () => {
  it.each(stageNames)(
    'lets no word stand out of its box, nor the page scroll sideways, in the stage %s',
    async (stage) => {
      await goToStage(page(), stage);
      await page().waitForSelector(stage === 'emitters' ? '.rig .plan' : `.stage[data-stage="${stage}"]`);
      await page().waitForTimeout(300);
      expect(await tooWide()).toEqual([]);
      expect(await broken()).toEqual([]);
      expect(await page().evaluate(() => document.documentElement.scrollWidth)).toBe(412);
    },
  );

  it('leaves label and hint of each button whole on a tablet held upright', async () => {
    await goToStage(page(), 'emitters');
    await page().setViewportSize({ width: 800, height: 1280 });
    const open = page().locator('.action', { hasText: /^Öffnen: / });
    await open
      .or(page().locator('.action', { hasText: 'Durchgang fertig' }))
      .first()
      .waitFor();
    if ((await open.count()) > 0) await open.click();
    await page().locator('.action', { hasText: 'Durchgang fertig' }).waitFor();
    const cut = await page().evaluate(() =>
      [...document.querySelectorAll('.action')].flatMap((action) => {
        const room = action.getBoundingClientRect();
        const parts = [...action.querySelectorAll<HTMLElement>('.action-label, .action-hint')];
        const isWhole = (e: HTMLElement) =>
          e.scrollWidth <= e.clientWidth + 1 && e.getBoundingClientRect().bottom <= room.bottom - 2;
        return parts.filter((e) => !isWhole(e)).map((e) => e.textContent);
      }),
    );
    expect(cut).toEqual([]);
    expect(await broken()).toEqual([]);
    await page().setViewportSize({ width: 412, height: 915 });
  });

  it('lets none do so with an emitter open and a pass to take back', async () => {
    await goToStage(page(), 'emitters');
    await page()
      .locator('.action', { hasText: /^(Öffnen|Schließen): / })
      .click({ trial: true });
    const open = page().locator('.action', { hasText: /^Öffnen: / });
    if ((await open.count()) > 0) await open.click();
    await page().locator('.action', { hasText: 'Durchgang fertig' }).click();
    await page()
      .locator('.undo', { hasText: /^Zurücknehmen: Durchgang: / })
      .waitFor();
    expect(await tooWide()).toEqual([]);
    expect(await broken()).toEqual([]);
  });
});
