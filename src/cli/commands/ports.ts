import type { Command } from '../command.ts';

/** Where a kit may be plugged in. */
export const ports: Command = {
  name: 'ports',
  summary: 'List the serial ports of this machine, with the name that stays when the kit is plugged in elsewhere.',
  args: [],
  options: [],
  examples: ['limpid ports'],
  async run({ out }) {
    const { listPorts } = await import('../../../firmware-bridge/transport/ports.ts');
    const found = await listPorts();
    const lines = found.map((p) => (p.byId ? `${p.byId}  (${p.path})` : p.path));
    out.result(
      { ports: found.map((p) => ({ path: p.path, by_id: p.byId, by_path: p.byPath })) },
      lines.length > 0
        ? `${lines.join('\n')}\nStart with: limpid start --serial NAME`
        : 'No serial port is there. Plug the kit in, try another cable (some carry power only), then look again.',
    );
    return 0;
  },
};
