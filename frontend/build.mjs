// Build the bundle that is committed with the Python package: no Node is needed to use it.
import { build } from "esbuild";
import { copyFile, mkdir } from "node:fs/promises";

const target = process.argv[2] ?? "../src/neutralpoint/report/static";
await mkdir(target, { recursive: true });
await build({
  entryPoints: ["src/report.ts"],
  outfile: `${target}/report.js`,
  bundle: true,
  minify: true,
  charset: "ascii",
  format: "iife",
  target: ["es2020"],
  legalComments: "inline",
});
await copyFile("node_modules/uplot/dist/uPlot.min.css", `${target}/uplot.css`);
