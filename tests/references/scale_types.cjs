// Writes what the scale dictionary of the npm package @tonaljs/scale-type (MIT) knows to tonaljs-scale-types.json.
//
// Run once, in an empty folder, with Node 20 or later; the result is committed and the Rust tests read it:
//   npm init -y && npm install @tonaljs/scale-type@4.9.3
//   node .../tests/references/scale_types.cjs > .../tests/references/tonaljs-scale-types.json
//
// The package's manifest names an entry file that it does not ship (dist/index.js), so the shipped dist/index.cjs is
// copied to that name first, here and in the packages it depends on.
const fs = require("node:fs");
const path = require("node:path");

const scope = path.join(process.cwd(), "node_modules", "@tonaljs");
for (const name of fs.readdirSync(scope)) {
  const shipped = path.join(scope, name, "dist", "index.cjs");
  const wanted = path.join(scope, name, "dist", "index.js");
  if (fs.existsSync(shipped) && !fs.existsSync(wanted)) fs.copyFileSync(shipped, wanted);
}

const folder = path.join(scope, "scale-type");
const { version } = JSON.parse(fs.readFileSync(path.join(folder, "package.json"), "utf8"));
const module_ = require(folder);
const scales = (module_.default ?? module_).all().map(({ name, aliases, chroma, intervals }) => ({
  name,
  aliases,
  chroma,
  intervals,
}));
const source = { package: "@tonaljs/scale-type", version, date: new Date().toISOString().slice(0, 10) };
const rows = scales.map((scale) => `    ${JSON.stringify(scale)}`).join(",\n");
process.stdout.write(`{\n  "source": ${JSON.stringify(source)},\n  "scales": [\n${rows}\n  ]\n}\n`);
