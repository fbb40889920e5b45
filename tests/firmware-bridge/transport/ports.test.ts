import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { listPorts, PortMemory, portOwner } from '../../../firmware-bridge/transport/ports.ts';

let dev = '';
beforeEach(async () => {
  dev = await mkdtemp(join(tmpdir(), 'limpid-dev-'));
});
afterEach(() => rm(dev, { recursive: true, force: true }));

async function port(name: string, id?: string, path?: string): Promise<void> {
  await writeFile(join(dev, name), '');
  for (const [folder, link] of [
    ['by-id', id],
    ['by-path', path],
  ] as const) {
    if (link === undefined) continue;
    await mkdir(join(dev, 'serial', folder), { recursive: true });
    await symlink(`../../${name}`, join(dev, 'serial', folder, link));
  }
}

test('no ports, or no such folder, is an empty list', async () => {
  expect(await listPorts(dev, 'linux')).toEqual([]);
  expect(await listPorts(join(dev, 'none'), 'linux')).toEqual([]);
});

test('ports are listed with the names that stay, in the order of their numbers', async () => {
  await port('ttyUSB10');
  await port('ttyUSB2', 'usb-kit-one', 'pci-0-usb-1');
  await port('ttyS0');
  await port('tty7');
  expect(await listPorts(dev, 'linux')).toEqual([
    {
      path: join(dev, 'ttyUSB2'),
      byId: join(dev, 'serial/by-id/usb-kit-one'),
      byPath: join(dev, 'serial/by-path/pci-0-usb-1'),
    },
    { path: join(dev, 'ttyUSB10'), byId: null, byPath: null },
  ]);
});

test('a name that leads nowhere, because the kit is being pulled out, is passed over', async () => {
  await mkdir(join(dev, 'serial/by-id'), { recursive: true });
  await symlink('../../ttyUSB0', join(dev, 'serial/by-id/usb-gone'));
  expect(await listPorts(dev, 'linux')).toEqual([]);
});

test('a kit is followed by its staying name when its number changes, and no other is taken in its place', () => {
  const memory = new PortMemory('/dev/ttyUSB0');
  const kit = { path: '/dev/ttyUSB0', byId: '/dev/serial/by-id/usb-kit', byPath: null };
  expect(memory.path([])).toBe('/dev/ttyUSB0');
  expect(memory.path([kit])).toBe(kit.byId);
  expect(memory.path([{ ...kit, path: '/dev/ttyUSB3' }])).toBe(kit.byId);
  expect(memory.path([{ path: '/dev/ttyUSB0', byId: '/dev/serial/by-id/usb-other', byPath: null }])).toBe(kit.byId);
});

test('the owner of a port is named by its group, or by its number where the group has no name', async () => {
  await port('ttyUSB0');
  await writeFile(join(dev, 'group'), `root:x:0:\nwires:x:${process.getgid?.() ?? 0}:someone\n`);
  const gid = process.getgid?.() ?? 0;
  expect(await portOwner(join(dev, 'ttyUSB0'), join(dev, 'group'))).toEqual({
    exists: true,
    group: gid === 0 ? 'root' : 'wires',
  });
  expect(await portOwner(join(dev, 'ttyUSB0'), join(dev, 'none'))).toEqual({ exists: true, group: String(gid) });
  expect(await portOwner(join(dev, 'ttyUSB1'))).toEqual({ exists: false, group: null });
});
