// Makes a checkout ready to run: installs what the lock file says and builds, each only when it is not up to date.
// Plain JavaScript, because it runs before anything is installed.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
process.chdir(root);

const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  console.error(
    `Limpid needs Node.js 20.19 or later; this is ${process.versions.node}. Install a newer one, then run the same command again.`,
  );
  process.exit(1);
}

function run(words, why) {
  console.error(why);
  const done = spawnSync(words, { stdio: ['ignore', 2, 2], shell: true });
  if (done.status !== 0) {
    console.error(`"${words}" did not work (see above). Mend that, then run the same command again.`);
    process.exit(1);
  }
}

function stampOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(file).update('\0').update(readFileSync(file)).update('\0');
  return hash.digest('hex');
}

function isStamped(file, stamp) {
  return existsSync(file) && readFileSync(file, 'utf8') === stamp;
}

function sources(folder, found = []) {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) sources(path, found);
    else if (/\.(ts|tsx|css|html|svg|json|webmanifest)$/.test(entry.name)) found.push(path);
  }
  return found;
}

const lockStamp = stampOf(['package-lock.json']) + process.versions.modules;
const lockFile = 'node_modules/.limpid-installed';
if (!isStamped(lockFile, lockStamp)) {
  run('npm ci --no-audit --no-fund --loglevel=error', 'Installing packages (once; about half a minute) ...');
  writeFileSync(lockFile, lockStamp);
}

if (process.argv[2] === 'build') {
  const files = ['src', 'firmware-bridge', 'dashboards', 'simulators']
    .flatMap((folder) => sources(folder))
    .sort((a, b) => (a < b ? -1 : 1));
  const buildStamp = stampOf(['package-lock.json', '.config/vite.cli.ts', ...files]);
  const buildFile = 'dist/.built';
  if (!isStamped(buildFile, buildStamp) || !existsSync('dist/limpid.js') || !existsSync('dist/web')) {
    run('npm run --silent build', 'Building (a few seconds) ...');
    mkdirSync('dist', { recursive: true });
    writeFileSync(buildFile, buildStamp);
  }
}
