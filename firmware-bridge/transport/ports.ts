import { readdir, readFile, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';

/** A serial port that is there. */
export interface PortInfo {
  readonly path: string;
  /** Name that stays with the kit whatever socket it is put in, where the system knows one. */
  readonly byId: string | null;
  /** Name that stays with the socket. */
  readonly byPath: string | null;
}

/** USB and on-board ports; the eight or more `ttyS` that nearly every PC claims to have are left out. */
const portName = /^(ttyUSB|ttyACM|ttyAMA|rfcomm)\d+$/;

/**
 * Serial ports of this machine. On Linux read from `/dev` itself, so neither udev nor its folders need to be there; a
 * system without ports gives an empty list, never an error.
 */
export async function listPorts(dev = '/dev', platform: string = process.platform): Promise<PortInfo[]> {
  if (platform !== 'linux') return await listElsewhere();
  const byId = await links(join(dev, 'serial/by-id'));
  const byPath = await links(join(dev, 'serial/by-path'));
  const names = (await entries(dev)).filter((name) => portName.test(name)).map((name) => join(dev, name));
  const paths = new Set([...names, ...byId.keys(), ...byPath.keys()]);
  return [...paths]
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
    .map((path) => ({ path, byId: byId.get(path) ?? null, byPath: byPath.get(path) ?? null }));
}

async function listElsewhere(): Promise<PortInfo[]> {
  try {
    const { SerialPort } = await import('serialport');
    return (await SerialPort.list()).map(({ path }) => ({ path, byId: null, byPath: null }));
  } catch {
    return [];
  }
}

async function entries(folder: string): Promise<string[]> {
  try {
    return await readdir(folder);
  } catch {
    return [];
  }
}

/** Port -> link that points to it. */
async function links(folder: string): Promise<Map<string, string>> {
  const found = new Map<string, string>();
  for (const name of (await entries(folder)).sort()) {
    const link = join(folder, name);
    try {
      found.set(await realpath(link), link);
    } catch {
      // The kit was pulled out between the two looks: its link is on the way out too.
    }
  }
  return found;
}

/**
 * Keeps to one kit: once a port has been seen with a name that stays, that name is opened ever after, because the number
 * at the end of a port's own name is given anew at each plugging in, maybe to something else.
 */
export class PortMemory {
  readonly #wanted: string;
  #stable: string | null = null;

  constructor(wanted: string) {
    this.#wanted = wanted;
  }

  /** What to open now. */
  path(ports: readonly PortInfo[]): string {
    this.#stable ??= ports.find((port) => port.path === this.#wanted)?.byId ?? null;
    return this.#stable ?? this.#wanted;
  }
}

/** Does it exist, and which group owns it? For the remedy when a port may not be opened. */
export async function portOwner(
  path: string,
  groupFile = '/etc/group',
): Promise<{ exists: boolean; group: string | null }> {
  if (process.platform === 'win32') return { exists: true, group: null };
  try {
    const { gid } = await stat(path);
    return { exists: true, group: await groupName(gid, groupFile) };
  } catch {
    return { exists: false, group: null };
  }
}

async function groupName(gid: number, groupFile: string): Promise<string> {
  try {
    const line = (await readFile(groupFile, 'utf8')).split('\n').find((l) => l.split(':')[2] === String(gid));
    return line?.split(':')[0] ?? String(gid);
  } catch {
    return String(gid);
  }
}
