import { useEffect, useState } from 'preact/hooks';
import { type RoleName, roleNames } from '../../src/core/audit/page-schema.ts';
import { bridge } from './client.ts';
import { typed } from './form.ts';
import { sentence, tried } from './model.ts';
import { moment } from './words.ts';

const mayDo: Readonly<Record<RoleName, string>> = {
  engineer: 'looks and takes copies',
  auditor: 'comments, closes findings, signs off, takes runs in, gives links',
  administrator: 'does all of that, and keeps this list',
};

type Known = Awaited<ReturnType<typeof bridge.people>>['people'];

/** Accounts of the office. */
export function People() {
  const [people, setPeople] = useState<Known>([]);
  const [wrong, setWrong] = useState<string | null>(null);
  useEffect(() => {
    void tried(() => bridge.people()).then((answer) => answer && setPeople(answer.people));
  }, []);
  const change = (work: Promise<{ people: Known }>): void => {
    work.then(
      (answer) => {
        setPeople(answer.people);
        setWrong(null);
      },
      (error: unknown) => setWrong(sentence(error)),
    );
  };
  return (
    <main>
      <h2>People</h2>
      <p class="lead">
        With nobody in this list, this machine and paired devices see the runs. With one person in it, everyone else
        signs in, and a paired device only looks.
      </p>
      {wrong !== null && (
        <p class="strip-bad" role="alert">
          {wrong}
        </p>
      )}
      {people.length > 0 && (
        <table>
          <thead>
            <tr>
              <th scope="col">Name</th>
              <th scope="col">Role</th>
              <th scope="col">Since</th>
              <th scope="col">
                <span class="for-readers">Take away</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {people.map(({ name, role, madeAt }) => (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td>
                  {role}: {mayDo[role]}
                </td>
                <td>{moment(madeAt)}</td>
                <td>
                  <button type="button" onClick={() => change(bridge.removePerson(name))}>
                    Take away
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <h3>Add a person, or give a new password</h3>
      <form
        class="line-form"
        onSubmit={(event) => {
          event.preventDefault();
          const form = event.currentTarget;
          const role = roleNames.find((r) => r === typed(form, 'role')) ?? 'engineer';
          change(bridge.addPerson(typed(form, 'name'), role, typed(form, 'password')));
          form.reset();
        }}
      >
        <label>
          Name
          <input name="name" required maxLength={100} autocomplete="off" />
        </label>
        <label>
          Role
          <select name="role">
            {roleNames.map((role) => (
              <option value={role} key={role}>
                {role}
              </option>
            ))}
          </select>
        </label>
        <label>
          Password, ten letters or more
          <input name="password" type="password" required minLength={10} maxLength={200} autocomplete="new-password" />
        </label>
        <button type="submit" class="go">
          Keep
        </button>
      </form>
    </main>
  );
}
