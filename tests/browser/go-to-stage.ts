import type { Page } from 'playwright-core';

/** Straight to a stage, with all that stands before it confirmed and a reason given. */
export async function goToStage(page: Page, stage: string): Promise<void> {
  await page.evaluate(async (name) => {
    const post = async (body: Record<string, unknown>) => {
      const id = `${String(body['event'])}-${Math.random().toString(36).slice(2)}-${Date.now()}`;
      const headers = { 'content-type': 'application/json' };
      await fetch('/api/events', { method: 'POST', headers, body: JSON.stringify({ id, ...body }) });
    };
    const view = await (await fetch('/api/view')).json();
    if (view.stage === name) return;
    const point = view.timeLine.find((p: { name: string }) => p.name === name);
    for (const caution of point?.cautions ?? []) await post({ event: 'caution-read', note: caution.id });
    await post({ event: `stage:${name}`, note: '1' });
  }, stage);
}
