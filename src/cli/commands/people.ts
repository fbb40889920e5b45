import { newPersonSchema, roleNames } from '../../core/audit/page-schema.ts';
import type { Store } from '../../store/store.ts';
import { type Command, dataOption, type Input, textOption, WrongUse } from '../command.ts';
import { askHidden } from '../prompt.ts';
import { withStore } from '../with-store.ts';

/** Accounts of the office's page. */
export const people: Command = {
  name: 'people',
  summary: 'Say who may sign in to the office’s page: list them, add one, take one away.',
  args: [
    { name: 'what', about: 'add or remove; nothing lists them', optional: true },
    { name: 'name', about: 'whom', optional: true },
  ],
  options: [{ flags: '--role <role>', about: `with add: ${roleNames.join(', ')} (default: engineer)` }, dataOption],
  examples: ['limpid people', 'limpid people add "A. Auditor" --role auditor', 'limpid people remove "A. Auditor"'],
  async run(input) {
    const [what = '', name = ''] = input.args;
    if (what !== '' && what !== 'add' && what !== 'remove')
      throw new WrongUse(`limpid people knows add and remove; got "${what}".`);
    if (what !== '' && name.trim() === '') throw new WrongUse(`Whom? limpid people ${what} NAME`);
    return await withStore(input.options, (store) => act(input, store, what, name.trim()), true);
  },
};

async function act({ options, out }: Input, store: Store, what: string, name: string): Promise<number> {
  if (what === 'add') await add(options, store, name);
  if (what === 'remove' && !store.office.removePerson(name)) throw new WrongUse(`There is nobody by the name ${name}.`);
  const list = store.office.people().map(({ name: is, role, madeAt }) => ({ name: is, role, made_at: madeAt }));
  const lines = list.map((p) => `${p.name}  ${p.role}  since ${p.made_at.slice(0, 10)}`);
  out.result(
    { people: list },
    lines.length > 0 ? lines.join('\n') : 'Nobody has an account: this machine and paired devices see the runs.',
  );
  return 0;
}

const noPassword =
  'No password was given, and nobody was added: type it at a terminal, put it into LIMPID_PASSWORD, or pipe it in.';

async function add(options: Input['options'], store: Store, name: string): Promise<void> {
  const role = textOption(options, 'role') ?? 'engineer';
  // Never on the command line, which every user of the machine can read.
  const password = process.env['LIMPID_PASSWORD'] ?? (await askHidden('Password, ten letters or more: ', noPassword));
  const person = newPersonSchema.safeParse({ name, role, password });
  if (!person.success) {
    const issue = person.error.issues[0];
    throw new WrongUse(`${issue?.path.join('.') ?? 'person'}: ${issue?.message ?? 'not as expected'}.`);
  }
  const { hashPassword } = await import('../../server/password.ts');
  const kept = await hashPassword(person.data.password);
  store.office.putPerson({ ...person.data, password: kept, madeAt: new Date().toISOString() });
}
