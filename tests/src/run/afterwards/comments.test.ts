import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runPageSchema, sealViewSchema } from '../../../../src/core/audit/page-schema.ts';
import { sealedFolder } from '../../../../src/recording/sealed.ts';
import { refusalSchema } from '../../../../src/server/protocol.ts';
import { type OfficeWorld, officeWorld } from '../../../browser/office-world.ts';
import { asking } from './asking.ts';

/** Two runs, the first of them sealed. */
let world: OfficeWorld;
const [sealed, other] = ['run-20260104-0001', 'run-20260205-0002'];

beforeAll(async () => {
  world = await officeWorld({ runs: 2 });
  await world.audit.lookAtAll();
});
afterAll(() => world.stop());

const { ask, get, send } = asking(() => world);

describe('comments and sign-off', () => {
  const refusal = async (runId: string, body: object) => {
    const answer = await ask(`/api/runs/${runId}/comments`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    return { status: answer.status, ...refusalSchema.parse(await answer.json()) };
  };

  it('stand beside the record: findings close and open again, the seal stays good', async () => {
    const first = (await get(runPageSchema, `/api/runs/${sealed}`)).looked?.findings[0]?.key ?? '';
    const before = (await get(runPageSchema, `/api/runs/${sealed}`)).run.openFindings ?? 0;
    const say = (more: object) => send(runPageSchema, `/api/runs/${sealed}/comments`, { by: 'B. Auditor', ...more });
    const closed = await say({ kind: 'close', finding: first, text: '=HYPERLINK("x") was agreed' });
    expect(closed.closed).toEqual([first]);
    expect(closed.run.openFindings).toBe(before - 1);
    expect((await say({ kind: 'reopen', finding: first, text: 'not so' })).run.openFindings).toBe(before);
    expect(await refusal(sealed, { kind: 'reopen', by: 'C. Auditor', finding: first, text: 'again' })).toMatchObject({
      status: 409,
      code: 'office-open-already',
    });
    await say({ kind: 'close', finding: first, text: '=HYPERLINK("x") was agreed' });
    const twice = { by: 'C. Auditor', finding: first, text: 'closed by me, too' };
    expect(await refusal(sealed, { kind: 'close', ...twice })).toMatchObject({
      status: 409,
      code: 'office-closed-already',
      text: expect.stringMatching(/^B\. Auditor \(this machine\) closed the finding ".+" already \(2.+ UTC\): "=HYPER/),
    });
    const signed = await say({ kind: 'sign-off', text: 'Looked at.' });
    expect(signed.signedOff?.by).toBe('B. Auditor (this machine)');
    expect((await get(sealViewSchema, `/api/runs/${sealed}/seal`)).state).toBe('intact');
    expect(readFileSync(join(sealedFolder(world.data, sealed), 'comments.jsonl'), 'utf8')).toContain(
      'Signed off. Looked at.',
    );
    const csv = await (await ask(`/api/runs/${sealed}/files/findings.csv`)).text();
    expect(csv).toContain(`"'=HYPERLINK(""x"") was agreed"`);
    for (const bad of [
      { kind: 'close', finding: '', text: 'x' },
      { kind: 'comment', text: ' ' },
      { kind: 'close', finding: first, text: '' },
    ])
      expect((await refusal(sealed, { by: 'B. Auditor', ...bad })).code).toBe('bad-field');
  });

  it('carry a name: nobody closes a finding, signs off or comments without one', async () => {
    const before = await get(runPageSchema, `/api/runs/${sealed}`);
    const finding = before.looked?.findings.find((f) => !before.closed.includes(f.key))?.key ?? '';
    for (const nameless of [
      { kind: 'close', finding, text: 'seen' },
      { kind: 'close', finding, text: 'seen', by: '  ' },
      { kind: 'sign-off' },
      { kind: 'comment', text: 'seen' },
    ])
      expect(await refusal(sealed, nameless)).toMatchObject({
        status: 400,
        code: 'office-no-name',
        text: expect.stringMatching(/^Who says so\?/),
      });
    expect((await get(runPageSchema, `/api/runs/${sealed}`)).comments).toEqual(before.comments);
  });

  it('close only what was found: neither a finding to come nor one of another name', async () => {
    const before = await get(runPageSchema, `/api/runs/${sealed}`);
    for (const kind of ['close', 'reopen'])
      expect(await refusal(sealed, { kind, finding: 'leak:9', text: 'in advance', by: 'B. Auditor' })).toMatchObject({
        status: 409,
        code: 'office-no-finding',
        text: expect.stringContaining('no finding "leak:9"'),
      });
    expect((await get(runPageSchema, `/api/runs/${sealed}`)).comments).toEqual(before.comments);
  });

  it('has no findings to close before it was looked at', async () => {
    const { head } = world.store.openRun(other) ?? {};
    if (!head) throw new Error('no run');
    world.store.createRun({ ...head, runId: 'run-new' });
    const comment = { kind: 'close', finding: 'never-visited:hall', text: 'x', by: 'B. Auditor' } as const;
    expect(() => world.audit.comment('run-new', comment)).toThrow('still being looked at');
  });
});
