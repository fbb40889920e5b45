import { describe, expect, it } from 'vitest';
import { stageNames } from '../../src/core/job/event.ts';
import { hasChromium } from './chromium.ts';
import { goToStage } from './go-to-stage.ts';
import { ownPage } from './own-page.ts';

const page = ownPage({ viewport: { width: 1280, height: 800 } });

/** Little words that no German sentence holds. */
const english = /\b(the|and|not|of|is|are|with|to|by|your?|from|this|that|done|now)\b/i;

/** Texts and names on the page that look English; what people call their rooms, and units, do not count. */
async function englishOn(): Promise<string[]> {
  const texts = await page().evaluate(async () => {
    const view = await (await fetch('/api/view')).json();
    const names: string[] = [view.title, view.runId, ...view.emitters.map((e: { name: string }) => e.name)];
    for (const list of [view.stagePage?.survey?.others ?? [], view.stagePage?.survey?.emitters ?? []])
      for (const part of list) if (typeof part.name === 'string') names.push(part.name);
    const found: string[] = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      if (node instanceof Element) {
        if (node.tagName === 'NOSCRIPT' || node.tagName === 'SCRIPT') node.textContent = '';
        for (const attribute of ['aria-label', 'title', 'alt', 'placeholder'])
          found.push(node.getAttribute(attribute) ?? '');
      } else found.push(node.textContent ?? '');
    }
    names.sort((a, b) => b.length - a.length);
    return found.map((text) => names.reduce((rest, name) => rest.replaceAll(name, '*'), text).trim());
  });
  return [...new Set(texts)].filter((text) => english.test(text));
}

describe.skipIf(!hasChromium)('the page in German', () => {
  it('is chosen on the page, kept over a reload, and told to a screen reader', async () => {
    await page().getByRole('button', { name: 'Settings' }).click();
    await page().getByLabel('Deutsch').check();
    await page().getByRole('button', { name: 'Schließen' }).click();
    await page().reload();
    await page().getByRole('button', { name: 'Einstellungen' }).waitFor();
    expect(await page().getAttribute('html', 'lang')).toBe('de');
  });

  it.each(stageNames)('leaves no English in the stage %s', async (stage) => {
    await goToStage(page(), stage);
    await page().waitForSelector(stage === 'emitters' ? '.rig .plan' : `.stage[data-stage="${stage}"]`);
    await page().waitForTimeout(300);
    expect(await englishOn()).toEqual([]);
  });

  it('says verdict, buttons and refusals in German, with a decimal comma', async () => {
    await goToStage(page(), 'emitters');
    await page().waitForSelector('.rig .plan');
    await page()
      .locator('.action', { hasText: /^Öffnen: / })
      .click();
    await page().waitForFunction(() => document.querySelector('.words')?.textContent === 'Rücklauf abwarten');
    await page().locator('.action', { hasText: 'Durchgang fertig' }).click();
    await page()
      .locator('.undo', { hasText: /^Zurücknehmen: Durchgang: / })
      .waitFor();
    await page().waitForFunction(() =>
      /\d,\d l seit dem letzten Durchgang/.test(document.querySelector('.reason')?.textContent ?? ''),
    );
    expect(await page().textContent('.small-figure')).toMatch(/^\d+,\d$/);
    expect(await englishOn()).toEqual([]);
  });

  it('goes back to English at one touch', async () => {
    await page().getByRole('button', { name: 'Einstellungen' }).click();
    await page().getByLabel('English').check();
    await page().getByRole('button', { name: 'Close' }).click();
    await page().locator('.action', { hasText: 'Pass done' }).waitFor();
    expect(await page().getAttribute('html', 'lang')).toBe('en');
  });
});
