// Build the bundles that are committed with the Python package: no Node is needed to use it.
// Given a folder, all go there, for the comparison with what is committed.
import { build } from "esbuild";
import { copyFile, mkdir } from "node:fs/promises";

const package_ = "../src/neutralpoint";
const report = process.argv[2] ?? `${package_}/report/static`;
const workbench = process.argv[2] ?? `${package_}/app/static`;

const bundle = (entry, outfile) =>
  build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    minify: true,
    charset: "ascii",
    format: "iife",
    target: ["es2020"],
    legalComments: "inline",
  });

await mkdir(report, { recursive: true });
await mkdir(workbench, { recursive: true });
await bundle("src/report.ts", `${report}/report.js`);
await copyFile("node_modules/uplot/dist/uPlot.min.css", `${report}/uplot.css`);
for (const name of ["sheet.css", "alone.css"]) await copyFile(`style/${name}`, `${report}/${name}`);
await bundle("src/workbench.ts", `${workbench}/workbench.js`);
await bundle("src/cases.ts", `${workbench}/cases.js`);
await bundle("style/workbench.css", `${workbench}/workbench.css`);
