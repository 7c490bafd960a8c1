import { readFileSync } from "node:fs";
import { defineConfig } from "vite";

const read = (path) => readFileSync(new URL(path, import.meta.url));

/** What no module asks for: the icon, and the licences that have to travel with fonts and scripts. */
const besides = {
  name: "besides",
  generateBundle() {
    this.emitFile({ type: "asset", fileName: "mark.svg", source: read("src/mark.svg") });
    this.emitFile({ type: "asset", fileName: "three-licence.txt", source: read("node_modules/three/LICENSE") });
    for (const font of ["barlow", "barlow-condensed"]) {
      this.emitFile({
        type: "asset",
        fileName: `fonts/${font}-licence.txt`,
        source: read(`node_modules/@fontsource/${font}/LICENSE`),
      });
    }
  },
};

export default defineConfig({
  base: "/ui/",
  publicDir: false,
  plugins: [besides],
  build: {
    // The build script of the program passes a folder of its own.
    outDir: process.env.GUIDECOAT_UI_OUT ?? "dist",
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    chunkSizeWarningLimit: 600, // kB unpacked: three.js, which only pages with a panel fetch
    rollupOptions: {
      input: { guidecoat: "src/guidecoat.ts", sw: "src/sw.ts" },
      output: {
        entryFileNames: "[name].js",
        // Names that stay, as the entries' do: every part is asked for again and answered "not modified".
        chunkFileNames: "[name].js",
        assetFileNames: (asset) => (asset.names[0]?.endsWith(".woff2") ? "fonts/[name][extname]" : "[name][extname]"),
      },
    },
  },
});
