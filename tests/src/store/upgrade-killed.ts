// Opens the store of a folder and dies by SIGKILL at the given moment of its last step to the newest version.
import { migrations } from '../../../src/store/migrations/migrations.ts';
import { openStore } from '../../../src/store/open.ts';

const [folder = '', moment = ''] = process.argv.slice(2);
const die = (): boolean => process.kill(process.pid, 'SIGKILL');
const last = migrations.at(-1);
if (!last) throw new Error('no step');
let asked = 0;
const dying = {
  /** Asked for before the copy, and again once the step is done but not committed. */
  get version(): number {
    asked += 1;
    if ((moment === 'before the copy' && asked === 1) || (moment === 'before the commit' && asked === 2)) die();
    return last.version;
  },
  get sql(): string {
    if (moment === 'before the step') die();
    return last.sql;
  },
};
openStore(folder, { migrations: [...migrations.slice(0, -1), dying] }).close();
