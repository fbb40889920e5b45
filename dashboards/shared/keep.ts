/** What this browser keeps over a reload. A private window may keep nothing: then it lasts as long as the page. */
export function kept(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

/** @param text null forgets it. */
export function keep(key: string, text: string | null): void {
  try {
    if (text === null) localStorage.removeItem(key);
    else localStorage.setItem(key, text);
  } catch {
    // Then it lasts as long as the page.
  }
}
