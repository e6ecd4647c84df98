// Bundles feeds/pages/charts/season.js with the parts of Plot and d3 that it draws with, and
// gathers their licences: node make.mjs OUTPUT.js LICENCES.txt
import {readFileSync, readdirSync, writeFileSync} from "node:fs";
import {dirname, join, relative, sep} from "node:path";
import {fileURLToPath} from "node:url";
import {build} from "esbuild";
import {without, withoutD3} from "./without.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const modules = join(here, "node_modules");
const plot = join(modules, "@observablehq", "plot", "src");
const entry = join(here, "..", "..", "feeds", "pages", "charts", "season.js");
const [output, licences] = process.argv.slice(2);

const lean = {
  name: "lean",
  setup(b) {
    b.onResolve({filter: /^plot\//}, ({path}) => ({path: join(plot, path.slice("plot/".length)), sideEffects: false}));
    b.onResolve({filter: /^d3-geo$/}, ({path}) => ({path, namespace: "without", sideEffects: false}));
    b.onLoad({filter: /.*/, namespace: "without"}, ({path}) => ({contents: withoutD3[path]}));
    b.onLoad({filter: /\.js$/}, ({path}) => {
      const name = relative(plot, path).split(sep).join("/");
      return Object.hasOwn(without, name) ? {contents: without[name], resolveDir: dirname(path), loader: "js"} : undefined;
    });
  },
};

const result = await build({
  entryPoints: [entry], outfile: output, bundle: true, minify: true, format: "iife", target: ["es2022"], charset: "utf8",
  legalComments: "none", nodePaths: [modules], absWorkingDir: here, metafile: true, plugins: [lean], logLevel: "warning",
});

// The packages of which something is in the bundle.
const [made] = Object.values(result.metafile.outputs);
const parts = Object.entries(made.inputs).filter(([, part]) => part.bytesInOutput > 0)
  .map(([file]) => file.match(/node_modules\/((?:@[^/]+\/)?[^/]+)\//)?.[1]).filter(Boolean);
const texts = new Map(); // by licence text, the packages under it
for (const name of [...new Set(parts)].sort()) {
  const {version, license} = JSON.parse(readFileSync(join(modules, name, "package.json"), "utf8"));
  const file = readdirSync(join(modules, name)).find((f) => /^licen[cs]e/i.test(f));
  if (!file) throw new Error(`${name} has no licence file`);
  const text = readFileSync(join(modules, name, file), "utf8").trim();
  texts.set(text, [...(texts.get(text) ?? []), `${name} ${version} (${license})`]);
}
let all = "charts.js holds parts of the following packages.\n";
for (const [text, names] of texts) all += `\n${"-".repeat(72)}\n${names.join("\n")}\n\n${text}\n`;
writeFileSync(licences, all);
if (process.env.CHARTS_PARTS) {
  const sizes = {};
  for (const [file, part] of Object.entries(made.inputs)) sizes[file] = part.bytesInOutput;
  console.log(Object.entries(sizes).sort((a, b) => b[1] - a[1]).slice(0, 40).map((p) => p.join(" ")).join("\n"));
}
