/** Every way in which a secret can stand in a text: as it is, in an address, in JSON, in base64 at any place, in hex. */
function shapesOf(secret: string): string[] {
  const bytes = Buffer.from(secret);
  const base64 = [0, 1, 2].flatMap((before) => {
    const text = Buffer.concat([Buffer.alloc(before), bytes])
      .toString('base64')
      .replace(/=+$/, '');
    // Letters at both ends hang on what stands around it.
    const inner = text.slice(before === 0 ? 0 : before + 1, (bytes.length + before) % 3 === 0 ? undefined : -1);
    return [inner, inner.replaceAll('+', '-').replaceAll('/', '_')];
  });
  const escaped = JSON.stringify(secret).slice(1, -1);
  return [secret, encodeURI(secret), encodeURIComponent(secret), escaped, bytes.toString('hex'), ...base64];
}

/** Names of the secrets that stand in a text. */
export function leaks(text: string, secrets: Readonly<Record<string, string>>): string[] {
  return Object.entries(secrets)
    .filter(([, secret]) => shapesOf(secret).some((shape) => text.includes(shape)))
    .map(([name]) => name);
}
