import { causeOf } from '../core/message/cause.ts';
import { accessSync, constants, existsSync, mkdtempSync, rmSync, statfsSync } from 'node:fs';
import { createServer } from 'node:net';
import { dirname, join, resolve } from 'node:path';
import { listPorts, portOwner } from '../../firmware-bridge/transport/ports.ts';
import { say } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import { defaultPort } from '../run/config.ts';
import { openStore } from '../store/open.ts';
import { type Check, fix, ok, unknown } from './check.ts';
import { isOurs } from './doctor-kit.ts';

export function nodeCheck(version: string): Check {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  const isNewEnough = major > 20 || (major === 20 && minor >= 19);
  return isNewEnough
    ? ok('node', `Node.js ${version}`)
    : fix('node', `Node.js ${version} is too old.`, 'Install Node.js 20.19 or later.');
}

export function pagesCheck(webRoot: string): Check {
  return existsSync(join(webRoot, 'index.html'))
    ? ok('pages', `The pages are built (${webRoot}).`)
    : fix('pages', `The pages are not built (${webRoot}).`, 'Run: npm run build');
}

/** The folder itself, or the nearest one above that is there. */
function nearestFolder(folder: string): string {
  let at = resolve(folder);
  while (!existsSync(at) && dirname(at) !== at) at = dirname(at);
  return at;
}

export function folderCheck(folder: string): Check {
  const at = nearestFolder(folder);
  try {
    // Rights can say yes where the disk says no (read-only mounts), so a file is tried.
    rmSync(mkdtempSync(join(at, '.limpid-try-')), { recursive: true });
    const text = at === resolve(folder) ? 'can be written' : 'will be made at the first start';
    return ok('data', `Data folder ${folder}: ${text}.`);
  } catch (error) {
    const next = 'Give the user who runs Limpid the right to write there, or choose another folder with --data.';
    return fix('data', `Data folder ${folder} cannot be written: ${causeOf(error)}`, next);
  }
}

/** A day at 10 Hz with all channels takes about 60 MB. */
const leastFreeMb = 500;

export function spaceCheck(folder: string): Check {
  try {
    const { bavail, bsize } = statfsSync(nearestFolder(folder));
    const freeMb = Math.floor((bavail * bsize) / 1e6);
    return freeMb >= leastFreeMb
      ? ok('space', `${freeMb} MB free where the records are kept.`)
      : fix('space', `Only ${freeMb} MB free where the records are kept.`, `Make room: at least ${leastFreeMb} MB.`);
  } catch (error) {
    return unknown('space', `Free room is not known: ${causeOf(error)}`, 'Look at the disk yourself.');
  }
}

/** The store, and the starts of the runs in it (milliseconds). */
export function storeCheck(folder: string): { readonly check: Check; readonly runsMs: readonly number[] } {
  const told = (check: Check, runsMs: readonly number[] = []) => ({ check, runsMs });
  if (!existsSync(folder)) return told(ok('store', 'No record is kept yet.'));
  try {
    const store = openStore(folder);
    const runsMs = store.runs().map((run) => Date.parse(run.startedAt) || 0);
    store.close();
    const count = runsMs.length;
    return told(ok('store', `The store is sound; it holds ${count} ${count === 1 ? 'run' : 'runs'}.`), runsMs);
  } catch (error) {
    if (error instanceof Problem && error.code === 'store-in-use')
      return told(
        unknown('store', 'The store is in use by a running Limpid.', 'Stop that one to have the store looked at.'),
      );
    return told(fix('store', causeOf(error), 'See the sentence before.'));
  }
}

export async function portCheck(port: number | null, host: string, usual = defaultPort): Promise<Check> {
  const asked = port ?? usual;
  const code = await tryPort(asked, host);
  if (code === null) return ok('port', `Port ${asked} is free.`);
  if (code === 'EADDRINUSE' && (await isOurs(host, asked)))
    return ok('port', `A bridge or a hub of Limpid runs on port ${asked} already.`);
  if (code === 'EADDRINUSE' && port === null)
    return unknown('port', `Port ${asked} is in use by another program.`, 'limpid start takes the next free one.');
  const why = code === 'EADDRINUSE' ? 'in use by another program' : causeOf(Object.assign(new Error(code), { code }));
  return fix('port', `Port ${asked} on ${host} cannot be used: ${why}.`, 'Choose another with --port.');
}

function tryPort(port: number, host: string): Promise<string | null> {
  return new Promise((done) => {
    const server = createServer();
    server.once('error', (error: NodeJS.ErrnoException) => done(error.code ?? error.message));
    server.listen({ port, host }, () => server.close(() => done(null)));
  });
}

export async function serialChecks(): Promise<Check[]> {
  const ports = await listPorts();
  if (ports.length === 0)
    return [unknown('serial', 'No serial port is there.', 'For a real kit: plug it in; some cables carry power only.')];
  return await Promise.all(
    ports.map(async ({ path, byId }) => {
      const name = byId ?? path;
      try {
        accessSync(path, constants.R_OK | constants.W_OK);
        return ok('serial', `Serial port ${name}. Start with: limpid start --serial ${name}`);
      } catch {
        const { group } = await portOwner(path);
        const params = { port: name, group: group ?? 'dialout' };
        return fix('serial', `Serial port ${name} may not be used.`, say({ code: 'transport-no-permission', params }));
      }
    }),
  );
}
