import { defineConfig } from 'vite';

// One build, one page per user: beside the rig, the kit's bench, and the office.
export default defineConfig({
  root: 'dashboards',
  base: './',
  logLevel: 'warn',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    modulePreload: false,
    rollupOptions: { input: { rig: 'dashboards/index.html', kit: 'dashboards/kit.html', audit: 'dashboards/audit.html' } },
  },
});
