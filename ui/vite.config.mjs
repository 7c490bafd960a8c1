import { readFileSync } from "node:fs";
import { defineConfig } from "vite";

const read = (path) => readFileSync(new URL(path, import.meta.url));

/** What no module asks for: the icon, and the fonts' licences, which have to travel with the fonts. */
const besides = {
  name: "besides",
  generateBundle() {
    this.emitFile({ type: "asset", fileName: "mark.svg", source: read("src/mark.svg") });
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
    rollupOptions: {
      input: { guidecoat: "src/guidecoat.ts", sw: "src/sw.ts" },
      output: {
        entryFileNames: "[name].js",
        assetFileNames: (asset) => (asset.names[0]?.endsWith(".woff2") ? "fonts/[name][extname]" : "[name][extname]"),
      },
    },
  },
});
