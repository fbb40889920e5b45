/**
 * Resets a board by its control line (DTR down, up): boards with a USB adapter mostly do. The port may be in use by us
 * meanwhile. False: this port has no such line (a pseudo-terminal, some adapters), or it may not be opened.
 */
export async function pulseReset(path: string, baudRate: number): Promise<boolean> {
  const { SerialPort } = await import('serialport');
  const port = new SerialPort({ path, baudRate, autoOpen: false, lock: false, hupcl: false });
  port.on('error', () => undefined);
  try {
    await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
    const set = (dtr: boolean): Promise<void> =>
      new Promise((resolve, reject) => port.set({ dtr, rts: dtr }, (error) => (error ? reject(error) : resolve())));
    await set(false);
    await new Promise((resolve) => setTimeout(resolve, 120));
    await set(true);
    return true;
  } catch {
    return false;
  } finally {
    if (port.isOpen) await new Promise<void>((resolve) => port.close(() => resolve()));
  }
}
