import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { deTexts } from '../../../src/core/message/de/de.ts';
import { dePatterns, dePlain } from '../../../src/core/message/de/plain.ts';
import { createTeller, messageCodes, say } from '../../../src/core/message/message.ts';
import { cellText } from '../../../dashboards/shared/format.ts';
import { german } from '../../../dashboards/shared/words/de.ts';
import { setLanguage, t, told, toldView } from '../../../dashboards/shared/words/language.ts';

beforeAll(() => {
  vi.stubGlobal('document', { documentElement: {} });
});
afterEach(() => setLanguage('en'));

const holes = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map(([, name]) => name ?? '').sort();

/** Names of the figures that a sentence asks for. */
function asked(sentence: (params: Record<string, number>) => string): Set<string> {
  const names = new Set<string>();
  const params = new Proxy<Record<string, number>>(
    {},
    {
      get: (_target, name) => {
        names.add(String(name));
        return 2;
      },
    },
  );
  sentence(params);
  return names;
}

describe('the German catalogue', () => {
  it('has the figures of each phrase in their places', () => {
    for (const [english, text] of Object.entries(german))
      expect([english, holes(text)]).toEqual([english, holes(english)]);
  });

  it('says each sentence with the figures that the English one has, no more and no less', () => {
    for (const [code, sentence] of Object.entries(deTexts)) {
      expect(messageCodes).toContain(code);
      const english = asked((params) => say({ code, params }));
      expect([code, [...asked(sentence)].sort()]).toEqual([code, [...english].sort()]);
    }
  });

  it('leaves no phrase empty and none in English by oversight', () => {
    const same = [...Object.entries(german), ...Object.entries(dePlain)].filter(([english, text]) => english === text);
    for (const [english] of same) expect(['Vibration', 'Name', 'Pause', 'Inhibitor']).toContain(english);
    expect(Object.values(german).every((text) => text.trim() !== '')).toBe(true);
  });

  it('has patterns that put each of their groups into the German', () => {
    for (const [pattern, text] of dePatterns) {
      const groups = new RegExp(`${pattern.source}|`).exec('')?.length ?? 1;
      const used = new Set([...text.matchAll(/\$(\d)/g)].map(([, n]) => Number(n)));
      expect([pattern.source, used.size]).toEqual([pattern.source, groups - 1]);
    }
  });
});

describe('what is said on the page', () => {
  it('is English without a catalogue, with its figures', () => {
    expect(t('pass {number}', { number: 3 })).toBe('pass 3');
    expect(told('Fill cold')).toBe('Fill cold');
  });

  it('is said anew from its code in German, the words within it too', async () => {
    await setLanguage('de');
    const { say: sayIt, said } = createTeller();
    const text = sayIt({ code: 'stage.tick', params: { what: 'Filling loop off' } });
    expect(told(text, said)).toBe('Noch nicht abgehakt: Füllschlauch ab.');
    expect(told('of 20; stands')).toBe('von 20; steht');
    expect(told('mains 0.8')).toBe('Netz 0,8');
    expect(told('Mr. Anyone’s own words')).toBe('Mr. Anyone’s own words');
  });

  it('has a decimal comma in figures with a sign or a unit; a bare one may be the name of a room', async () => {
    await setLanguage('de');
    expect(['7.0 ± 0.7 l', '4.5 l', '< 0.5', '≤ 5.4', '0.5 ± 0.2', '8.2 to 10.0'].map((text) => told(text))).toEqual([
      '7,0 ± 0,7 l',
      '4,5 l',
      '< 0,5',
      '≤ 5,4',
      '0,5 ± 0,2',
      '8,2 bis 10,0',
    ]);
    expect(told('1.1')).toBe('1.1');
    expect(cellText('1.1')).toBe('1,1');
    expect(told('1.5 min on the tool; 40 min to the action value')).toBe(
      '1,5 min am Werkzeug; 40 min bis zum Auslösewert',
    );
    const { say: sayIt, said } = createTeller();
    const outside = sayIt({ code: 'stage.outside', params: { what: 'pH', found: '7.5', limit: '8.2 to 10.0' } });
    expect(told(outside, said)).toBe('pH liegt außerhalb der Grenze: 7,5, Grenze 8,2 bis 10,0.');
  });

  it('never touches names, codes and answers', async () => {
    await setLanguage('de');
    const view = { title: 'Survey', name: 'Flow', id: 'emitters', choices: ['steel'], steps: ['Fill cold'] };
    expect(toldView(view, {})).toEqual({ ...view, title: 'Aufnahme', steps: ['Kalt füllen'] });
    // What stands in the survey's fields is sent again as it is.
    const page = { title: 'Survey', survey: { emitters: [{ id: 'a', type: 'panel', material: 'steel' }] } };
    expect(toldView(page, {})).toEqual({ ...page, title: 'Aufnahme' });
  });

  it('leaves out what is not known when it is handed on as JSON', () => {
    const { say: sayIt, said } = createTeller();
    const text = sayIt({ code: 'clear', params: { excessNtu: 1, backgroundNtu: Number.NaN, litresSincePassL: 2 } });
    expect(said[text]?.params).toEqual({ excessNtu: 1, litresSincePassL: 2 });
  });
});
