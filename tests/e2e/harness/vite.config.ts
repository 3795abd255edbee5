import react from "@vitejs/plugin-react";
import { defineConfig } from "vite";
import { HARNESS_PORT } from "./address.ts";

// The policy that both hosts send. Vite's own development scripts would break it, so the tests serve a build.
const HEADERS = {
  "Cross-Origin-Opener-Policy": "same-origin",
  "Cross-Origin-Embedder-Policy": "require-corp",
  "Content-Security-Policy":
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; " +
    "worker-src 'self'; connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
};

export default defineConfig({
  root: import.meta.dirname,
  plugins: [react()],
  build: { outDir: "../../../dist/harness", emptyOutDir: true, target: "chrome120", assetsInlineLimit: 0 },
  preview: { headers: HEADERS, port: HARNESS_PORT, strictPort: true, host: "127.0.0.1" },
});
