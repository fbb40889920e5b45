// Runs the tests: `short` (npm test) or `long` (npm run test:long). Says which real peers are missing, by name;
// with LIMPID_PEERS=required a missing peer is an error. Ends with one plain line of counts.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync } from 'node:fs';

const kind = process.argv[2] === 'long' ? 'long' : 'short';
const rest = process.argv.slice(3);

const peers = [
  ['socat', 'pseudo-terminal pairs for the serial path', 'apt-get install socat'],
  ['chromium', 'the page in a real browser', 'apt-get install chromium fonts-dejavu-core'],
  ['mosquitto', 'a real MQTT broker', 'apt-get install mosquitto'],
  ['avr-g++', "the kit's firmware in a simulated chip", 'apt-get install make gcc-avr avr-libc binutils-avr'],
  ['g++', "the firmware's core on this machine", 'apt-get install make g++'],
  ['pdftotext', 'the text of the report, read back', 'apt-get install poppler-utils'],
  ['influxd', 'a real time-series server', 'apt-get install influxdb'],
  ['victoria-metrics', 'another one, that can be a cluster', 'apt-get install victoria-metrics'],
  ['faketime', 'the bridge by a wrong wall clock', 'apt-get install faketime'],
  ['ip', 'networks of their own that fail (as root)', 'apt-get install iproute2'],
  ['mkfs.ext4', 'small disks that fill up and fail (as root)', 'apt-get install e2fsprogs mount'],
  ['Rscript', 'a statistics package as a reference', 'apt-get install r-base-core r-cran-strucchange'],
];
const has = (name) => spawnSync('sh', ['-c', `command -v ${name}`]).status === 0;
const missing = peers.filter(([name]) => !has(name));
for (const [name, what, how] of missing)
  console.log(`Peer missing: ${name} (${what}). Its tests are skipped. To have it: ${how}`);
if (missing.length > 0 && process.env.LIMPID_PEERS === 'required') {
  console.log(`LIMPID_PEERS=required, but missing: ${missing.map(([name]) => name).join(', ')}`);
  process.exit(1);
}

const failed = [];

function step(words) {
  const done = spawnSync(words[0], words.slice(1), { stdio: 'inherit', env: { ...process.env, LIMPID_TESTS: kind } });
  if (done.status !== 0) failed.push(words.slice(2).join(' ').slice(0, 60));
}

mkdirSync('.cache', { recursive: true });
const report = `.cache/tests-${kind}.json`;
if (kind === 'short' && rest.length === 0) {
  step(['npx', '--no-install', 'tsc', '-b']);
  step(['npx', '--no-install', 'oxlint', '--type-aware', '-c', '.oxlintrc.json', '--deny-warnings']);
  step(['npx', '--no-install', 'biome', 'format', '.']);
}
step([
  'npx',
  '--no-install',
  'vitest',
  'run',
  '-c',
  '.config/vitest.ts',
  '--reporter=default',
  '--reporter=json',
  `--outputFile.json=${report}`,
  ...rest,
]);
if (existsSync(report)) {
  const counts = JSON.parse(readFileSync(report, 'utf8'));
  if (counts.numPassedTests === 0) process.exitCode = 1;
  console.log(
    `${counts.numPassedTests} passed, ${counts.numFailedTests} failed, ${counts.numPendingTests + counts.numTodoTests} skipped`,
  );
} else process.exitCode = 1;
// At the end, where it is read: a complaint of the first steps has long scrolled away.
if (failed.length > 0) {
  process.exitCode = 1;
  console.log(`Failed: ${failed.join('; ')}`);
}
