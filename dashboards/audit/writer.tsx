import { typed } from './form.ts';
import { keepName, me, typedName } from './model.ts';

/** Asked only where nobody signed in: a comment carries a name. */
export function NameField() {
  if (me.value?.by === 'person') return null;
  return (
    <label>
      Your name
      <input name="by" required maxLength={200} value={typedName.value} autocomplete="name" />
    </label>
  );
}

export function writerName(form: HTMLFormElement): string {
  const by = typed(form, 'by');
  if (by !== '') keepName(by);
  return by;
}
