import { beforeAll, describe, expect, it, vi } from 'vitest';
import { setLanguage, told as toldText, toldView } from '../../../dashboards/shared/words/language.ts';
import { Refusals } from '../../../firmware-bridge/wire/refusals.ts';
import { request } from '../../../src/core/job/commands.ts';
import { stageNames } from '../../../src/core/job/event.ts';
import { noFigures } from '../../../src/core/job/stages/live.ts';
import { pauseReasons, reasons, stagePage, timeLine, typedView } from '../../../src/core/job/stages/page.ts';
import { typedFields } from '../../../src/core/job/stages/typed.ts';
import { deTexts } from '../../../src/core/message/de/de.ts';
import { createTeller, messageCodes, say } from '../../../src/core/message/message.ts';
import { linkViews } from '../../../src/run/links.ts';
import { context } from '../../src/core/job/job-cases.ts';
import { type Data, label, look, measured, type Step, told, vented } from '../../src/core/job/stage-cases.ts';

beforeAll(async () => {
  vi.stubGlobal('document', { documentElement: {} });
  await setLanguage('de');
});

/** What only the command line, the bench of the kit and the pages of the office say, which are in English. */
const englishAlone: readonly RegExp[] = [
  /^(audit\.|office-|hub-|outbox-)/,
  /^(segment-|table\.|recording-|settings-|report-|backup-|seal-known-keys$)/,
  /^(config\.|firmware-|kit-)/,
  /^run\.(unknown|no-data|system-unknown|port-taken|port-denied|host-unknown)$/,
];

it('every sentence that the page beside the rig can meet has its German; these rooms have none', () => {
  const without = messageCodes.filter((code) => deTexts[code] === undefined);
  expect(without.filter((code) => !englishAlone.some((room) => room.test(code)))).toEqual([]);
  for (const room of englishAlone) expect(without.some((code) => room.test(code))).toBe(true);
});

/** Little words that no German sentence holds. */
const english = /\b(the|and|not|of|is|are|with|to|by|your?|from|this|that|done|now|expected|possible|found|one)\b/i;
/** The same in German and English, and what people typed. */
const own = new Set(['Inhibitor', ...context.emitters.map((e) => e.name)]);

/** Texts of a view that come out of the catalogue as they went in, or with English words in them. */
function leftEnglish(view: unknown, said: Parameters<typeof toldView>[1]): string[] {
  const left: string[] = [];
  const answers = ['choices', 'start', 'startBy', 'quantity', 'fixed', 'last', 'csv', 'survey'];
  const skipped = new Set(['id', 'name', 'kind', 'stand', 'status', 'event', 'unit', ...answers]);
  const walk = (a: unknown, b: unknown): void => {
    if (typeof a === 'string' && typeof b === 'string') {
      if (/[a-z]{3}/i.test(a) && !own.has(a) && (a === b || english.test(b))) left.push(b);
    } else if (typeof a === 'object' && a !== null && typeof b === 'object' && b !== null) {
      const other = new Map(Object.entries(b));
      for (const [name, member] of Object.entries(a)) if (!skipped.has(name)) walk(member, other.get(name));
    }
  };
  walk(view, toldView(view, said));
  return left;
}

describe('the pages of the stages in German', () => {
  const figures = Object.keys(typedFields).map((what): Step => ['typed', '', { what, value: 30 }]);
  const work: readonly Step[] = [
    ...[label('cleaner'), label('inhibitor'), ...figures],
    ['dose', '', { what: 'cleaner', litres: 50 }],
    ['dose', '', { what: 'inhibitor', litres: 0.1 }],
    ['sample', '', { water: 'mains', turbidity: 5, conductivity: 3000, ph: 7.4 }],
    ['sample', '', { water: 'before', turbidity: 1, conductivity: 300, tube: 30, tubeMark: 'still in sight' }],
    ['sample', '', { water: 'after', ph: 11, turbidity: 17, turbidityBy: 'rig', conductivity: 305, iron: 30 }],
    ['weighed', '', { grams: 900, how: 'wet' }],
    ['limit', '', { item: 'ph', most: 9 }],
    ...[['rig-pump-off'], ['flow-reverse'], ['hold-start']].map(([name = '']): Step => [name]),
    ['check', 'fill-through-rig', { done: true }],
    ['check', 'filled-from-empty', { done: true }],
  ];
  const read = measured({ turbidityNtu: 17, conductivityUsCm: 520, flowLpm: 12, returnC: 55, pressureBar: 1.2 });

  it.each(stageNames)('leave no phrase in English, nor in part, in the stage %s', (stage) => {
    for (const begun of [context, vented])
      for (const live of [noFigures, read])
        for (const steps of [[], work])
          for (const all of [
            [...steps, [`stage:${stage}`]],
            [[`stage:${stage}`], ...steps],
          ] satisfies Step[][]) {
            const state = told(all, begun);
            const { say: sayIt, said } = createTeller();
            const page = stagePage(look(state, live, undefined, begun), sayIt);
            const choices = page?.forms.flatMap((f) => f.fields.flatMap((field) => field.choices)) ?? [];
            const words = choices.filter((c) => c !== '' && !c.includes('/') && c !== 'ph');
            const view = { page, typed: typedView(state.log), line: timeLine(state), words, reasons, pauseReasons };
            expect(leftEnglish(view, said)).toEqual([]);
          }
  });
});

describe('a refusal in German', () => {
  const asking = { who: 'tablet', timeS: 1e4, undoForS: 10, missing: ['Sign the hand-over.', 'Hold the pressure.'] };
  const refusal = (event: string, data: Data = {}, note = '', steps: readonly Step[] = []): string => {
    const answer = request(told(steps), { event, emitter: '', note, data }, asking);
    if (answer.ok) return '';
    const { say: sayIt, said } = createTeller();
    sayIt({ code: 'stage.signed', params: {} });
    sayIt({ code: 'stage.hold', params: {} });
    const text = sayIt(answer.refusal);
    return toldText(text, said);
  };

  it.each<[string, Data, string?]>([
    ['dose', { what: 'cleaner', litres: 5000 }],
    ['typed', { what: 'fill-bar', value: 50 }],
    ['sample', { water: 'mains' }],
    ['sample', { water: 'mains', ph: 20 }],
    ['limit', { item: 'gold' }],
    ['limit', { item: 'ph', most: 20 }],
    ['limit', { item: 'iron', least: 9, most: 3 }],
    ['label', { what: 'cleaner', amount: 90, unit: 'l/100 l' }],
    ['label', { what: 'cleaner', amount: 0.002, unit: '%' }],
    ['survey-table', { csv: '' }],
    ['survey-table', { csv: 'kind,id,id\n' }],
    ['survey-table', { csv: 'kind,id,litres\nemitter,a,much\n' }],
    ['survey-table', { csv: 'kind,id,type\nsystem,,odd\n' }],
    ['survey-table', { csv: 'kind,id,type\nemitter,a,panel\n' }],
    ['survey-table', { csv: 'kind,id,litres\nemitter,a,4,5\n' }],
    ['survey-row', { kind: 'emitter', id: 'a', name: 'A', type: 'column' }],
    ['limit-table', { csv: 'item,most\nph,many\n' }],
    ['limit-table', { csv: 'item,most\nph,20\n' }],
    ['limit-table', { csv: 'item,most\nph,9\nph,8\n' }],
    ['corrected', { corrects: 'nothing' }],
    ['undo', {}],
  ])('of %s %j holds no English', (event, data, note) => {
    const text = refusal(event, data, note);
    expect(text).not.toBe('');
    expect(english.test(text) ? text : '').toBe('');
  });

  it('says what a stage still misses as the page does', () => {
    const text = refusal('stage:warm', {}, '', [['stage:join']]);
    expect(text).toMatch(/^Warum .*Die Übergabe unterschreiben\./);
  });
});

describe('trouble on the wire in German', () => {
  it('is German with the reason that stands within it', () => {
    const refusals = new Refusals();
    const line = new TextEncoder().encode('hello there');
    refusals.add({ code: 'wire-cut', params: { bytes: 11, start: '"hello"' } }, line);
    const worst = refusals.worst();
    if (!worst) throw new Error('none');
    const params = { port: '/dev/test', baud: 115200, bytes: 4000, ...worst.params };
    const { say: sayIt, said } = createTeller();
    const [, kit] = linkViews({
      source: '/dev/test',
      transport: { kind: 'silent', problem: { code: 'transport-no-pack', params, why: worst.of } },
      packAgeS: null,
      leading: null,
      besides: null,
      turbidityAgeS: null,
      isSealed: false,
      storeProblem: null,
      say: sayIt,
    });
    expect(kit?.text).toBe(say({ code: 'transport-no-pack', params }));
    const german = toldText(kit?.text ?? '', said);
    expect(german).toMatch(/^\/dev\/test gibt Text.*Am häufigsten: Eine Zeile war abgeschnitten .*„hello there“\.$/);
    expect(german.replaceAll(/"hello"|hello there/g, '')).not.toMatch(english);
  });

  it('is German where the disk is full', () => {
    const message = { code: 'store-not-writable', params: { file: 'x.sqlite', detail: 'the disk is full' } };
    expect(toldText('x', { x: message })).toContain('(die Platte ist voll)');
  });
});
