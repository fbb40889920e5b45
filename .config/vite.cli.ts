import { defineConfig } from 'vite';

// The command line and the bridge, bundled; registry packages stay outside and are loaded when needed. Built before the
// pages, because it empties dist.
export default defineConfig({
  root: '.',
  publicDir: false,
  logLevel: 'warn',
  build: {
    ssr: 'src/cli/limpid.ts',
    outDir: 'dist',
    emptyOutDir: true,
    target: 'node20',
    minify: false,
    sourcemap: true,
    rollupOptions: { output: { entryFileNames: 'limpid.js', chunkFileNames: 'chunks/[name]-[hash].js' } },
  },
});
