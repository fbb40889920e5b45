import { defineConfig } from 'vite';

// The command line and the bridge, bundled into one file; registry packages stay outside and are loaded when needed.
export default defineConfig({
  root: '.',
  publicDir: false,
  logLevel: 'warn',
  build: {
    ssr: 'src/cli/limpid.ts',
    outDir: 'dist',
    emptyOutDir: false,
    target: 'node20',
    minify: false,
    sourcemap: true,
    rollupOptions: { output: { entryFileNames: 'limpid.js', chunkFileNames: 'chunks/[name]-[hash].js' } },
  },
});
