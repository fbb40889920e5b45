// npm run dev: the bridge with the simulated rig, restarted when its code changes, and the page with reload on save.
import { spawn } from 'node:child_process';
import { createServer } from 'vite';

const bridgePort = 8481;
const children = [
  spawn(
    'npx',
    [
      '--no-install',
      'tsx',
      'watch',
      'src/cli/limpid.ts',
      'start',
      '--port',
      String(bridgePort),
      '--data',
      '.cache/dev-data',
      ...process.argv.slice(2),
    ],
    {
      stdio: 'inherit',
    },
  ),
];

const server = await createServer({
  configFile: 'dashboards/vite.config.ts',
  server: {
    port: 8480, // The page's own Host must reach the bridge, which refuses writes from foreign pages.
    proxy: { '/api': { target: `http://127.0.0.1:${bridgePort}`, changeOrigin: false } },
  },
});
await server.listen();
server.printUrls();

process.on('SIGINT', () => {
  for (const child of children) child.kill('SIGINT');
  void server.close().finally(() => process.exit(0));
});
