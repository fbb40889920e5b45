/** Lets the page open while the bridge is away, where the browser allows it: secure contexts only. Again does no harm. */
export function openOffline(): void {
  if (!import.meta.env.PROD || !('serviceWorker' in navigator)) return;
  navigator.serviceWorker.register('/sw.js').catch(() => {
    // Refused (a certificate that is not trusted, a private window): the page works as on plain http.
  });
}
