import react from "@vitejs/plugin-react";
import { defineConfig } from "vite";
import project from "../package.json" with { type: "json" };

// Both hosts send these on every response too; here they make `vite` alone behave like them.
const ISOLATION = {
  "Cross-Origin-Opener-Policy": "same-origin",
  "Cross-Origin-Embedder-Policy": "require-corp",
};

export default defineConfig({
  root: import.meta.dirname,
  // Relative addresses: Electron serves the page under its own scheme, the local browser host under "/".
  base: "./",
  // For the ledger of what the window makes; the command line writes the same.
  define: { HALATION_VERSION: JSON.stringify(project.version) },
  plugins: [react()],
  worker: { format: "es", plugins: () => [] },
  build: {
    outDir: "../dist/renderer",
    emptyOutDir: true,
    target: "chrome120",
    sourcemap: true,
    // Fonts stay files: the content security policy allows fonts from the host alone.
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 6000,
  },
  server: { headers: ISOLATION },
  preview: { headers: ISOLATION },
});
