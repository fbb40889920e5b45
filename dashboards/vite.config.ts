import { defineConfig } from 'vite';

// One build, one page per user: beside the rig, the kit's bench, the office, and how a tablet gets all rights. The service
// worker keeps its plain name: a browser asks for it again by that.
export default defineConfig({
  root: 'dashboards',
  base: './',
  logLevel: 'warn',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    // Every file of a page is asked for at once, not when the one before it was read.
    modulePreload: { polyfill: false },
    rollupOptions: {
      input: {
        rig: 'dashboards/index.html',
        kit: 'dashboards/kit.html',
        audit: 'dashboards/audit.html',
        trust: 'dashboards/trust.html',
        sw: 'dashboards/service-worker.ts',
      },
      output: {
        entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js'),
      },
    },
  },
});
