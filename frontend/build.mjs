// Build the bundles that are committed with the Python package: no Node is needed to use it.
// Given a folder, all go there, for the comparison with what is committed.
import { build } from "esbuild";
import { mkdir, readFile, writeFile, copyFile } from "node:fs/promises";

const package_ = "../src/neutralpoint";
const report = process.argv[2] ?? `${package_}/report/static`;
const workbench = process.argv[2] ?? `${package_}/app/static`;

// The license of the plotting library goes wherever its code goes, so into every report as well.
const uplot = JSON.parse(await readFile("node_modules/uplot/package.json", "utf8"));
const license = (await readFile("node_modules/uplot/LICENSE", "utf8")).trim();
const notice = `/*! Holds uPlot ${uplot.version}.\n${license}\n*/`;

const bundle = (entry, outfile, banner = {}) =>
  build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    minify: true,
    charset: "ascii",
    format: "iife",
    target: ["es2020"],
    legalComments: "inline",
    external: ["/static/*"], // type, which the server hands out beside the sheet
    banner,
  });

await mkdir(report, { recursive: true });
await mkdir(workbench, { recursive: true });
await bundle("src/report.ts", `${report}/report.js`, { js: notice });
const style = await readFile("node_modules/uplot/dist/uPlot.min.css", "utf8");
await writeFile(`${report}/uplot.css`, `${notice}\n${style}`);
for (const name of ["sheet.css", "alone.css"]) await copyFile(`style/${name}`, `${report}/${name}`);
await bundle("src/workbench.ts", `${workbench}/workbench.js`, { js: notice });
await bundle("src/cases.ts", `${workbench}/cases.js`);
await bundle("style/workbench.css", `${workbench}/workbench.css`, { css: notice });
