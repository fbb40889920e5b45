import { expect, it } from 'vitest';
import { stageNames } from '../../../src/core/job/event.ts';
import { rehearse } from './rehearse.ts';

it('goes on in any stage where it was: time line, ticks, typed figures, litres, page', async () => {
  let r = await rehearse(5);
  for (const note of ['filling-loop', 'isolation', 'foul-drain']) await r.post('caution-read', '', { note });
  for (const stage of stageNames) {
    await r.post(`stage:${stage}`, '', { note: 'for the test' });
    r.clock.run(8);
    await r.post('check', '', { note: `at-${stage}` });
    r.clock.run(4);
    const before = r.run.view();
    expect(before.stage).toBe(stage);
    const figures = before.stagePage;
    const { checks } = r.run.course.state.job;
    r.close();
    r = await rehearse(5, r.folder);
    const after = r.run.view();
    expect([after.stage, after.timeLine]).toEqual([before.stage, before.timeLine]);
    expect(r.run.course.state.job.checks).toEqual(checks);
    expect(after.stagePage?.missing).toEqual(figures?.missing);
    expect(after.stagePage?.forms.length).toBe(figures?.forms.length);
  }
  expect(r.faults).toEqual([]);
  r.close();
  r.remove();
});
