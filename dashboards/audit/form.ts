/** What was typed in a field of a form; '' when there is no such field. */
export function typed(form: HTMLFormElement, name: string): string {
  const value = new FormData(form).get(name);
  return typeof value === 'string' ? value : '';
}
