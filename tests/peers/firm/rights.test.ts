import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { say } from '../../../src/core/message/message.ts';
import { machineClock } from '../../../src/run/clock.ts';
import { startHub } from '../../../src/run/hub.ts';
import { until } from '../../contracts/transport-clocks.ts';
import { hasMosquitto, mosquitto } from '../mosquitto/broker.ts';
import { rig } from './rig.ts';

const doc = readFileSync('docs/firm.md', 'utf8');
const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).reverse()) await end();
});

describe.skipIf(!hasMosquitto())('the broker settings of docs/firm.md, run', () => {
  test('let each rig write as itself alone, and the hub read them all', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'limpid-firm-rights-'));
    ends.push(() => rmSync(folder, { recursive: true, force: true }));
    const [logins, rights] = [join(folder, 'logins'), join(folder, 'rights')];
    const acl = /```acl\n([^]*?)\n *```/.exec(doc)?.[1] ?? '';
    writeFileSync(rights, `${acl.replaceAll(/^ +/gm, '')}\n`);
    for (const [i, user] of ['hub', 'van-1', 'van-2'].entries())
      spawnSync('mosquitto_passwd', ['-b', ...(i === 0 ? ['-c'] : []), logins, user, `${user}-secret`]);
    const broker = await mosquitto(['allow_anonymous false', `password_file ${logins}`, `acl_file ${rights}`]);
    ends.push(() => broker.dispose());
    const login = (user: string) => ({ user, password: `${user}-secret` });
    const firm = await startHub(
      { broker: { url: broker.url, ...login('hub') }, series: null, data: join(folder, 'firm'), name: 'one' },
      machineClock(),
      () => undefined,
    );
    ends.push(() => firm.stop());
    await until('the hub listens', () => firm.state().joined);

    const honest = rig('van-1');
    ends.push(() => honest.dispose());
    honest.record(2);
    const link = await honest.join(broker.url, login('van-1'));
    await until('the run is there', () => link.waiting === 0 && firm.store()?.openRun(honest.runId) !== null);

    // Logged in as van-2, it says that it is van-1.
    const foe = rig('van-1', 'foe');
    ends.push(() => foe.dispose());
    foe.record(1);
    const refused = await foe.join(broker.url, login('van-2'));
    await until('it is told', () => refused.state.problem !== null);
    expect(refused.state.problem?.code).toBe('outbox-not-allowed');
    expect(say(refused.state.problem ?? { code: '', params: {} })).toContain('does not let this rig write as "van-1"');
    expect(firm.store()?.openRun(foe.runId)).toBeNull();

    const nobody = rig('van-3');
    ends.push(() => nobody.dispose());
    const away = await nobody.join(broker.url, { user: 'van-3', password: 'wrong' });
    await until('the login is refused', () => away.state.problem !== null);
    expect(nobody.said.join(' ')).toMatch(/Not authorized/);
    expect(nobody.said.join(' ')).not.toContain('wrong');
  });
});
