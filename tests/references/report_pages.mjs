// Looks at the pages of the reports in headless Chromium: wide and narrow, light and dark, on paper; runs axe-core on each, and
// html-validate on the text. Run by hand, not in .ci/run; it needs a browser and three packages of npm:
//
//   apt-get install chromium
//   mkdir pages && cd pages && npm install playwright-core axe-core html-validate && cd ..
//   cargo run -p report --example pages -- pages
//   node tests/references/report_pages.mjs pages
//
// It writes a picture of each look and a PDF of each page beside the pages, says what it found, and ends with 1 if a page has a
// violation, is wider than its window, or if the page of one player takes more than one sheet of A4.
// Last run 2026-11-28: Chromium 156.0.8078.108, playwright-core 1.65.1, axe-core 4.14.1, html-validate 10.17.0: nothing found.

import { createRequire } from "node:module";
import { readFileSync, readdirSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const folder = resolve(process.argv[2] ?? ".");
const require = createRequire(join(folder, "any.js"));
const { chromium } = require("playwright-core");
const { HtmlValidate } = require("html-validate");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const looks = [
  ["wide-light", 1280, "light"],
  ["wide-dark", 1280, "dark"],
  ["narrow-light", 360, "light"],
  ["narrow-dark", 360, "dark"],
];
let faults = 0;
const fault = (words) => {
  faults += 1;
  console.log(words);
};

// "long-title" is about search engines, and a style in the page is what makes it need nothing else.
const validator = new HtmlValidate({ extends: ["html-validate:recommended"], rules: { "long-title": "off" } });
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
for (const name of readdirSync(folder).filter((name) => name.endsWith(".html"))) {
  const file = join(folder, name);
  const report = await validator.validateFile(file);
  for (const message of report.results.flatMap((result) => result.messages)) {
    fault(`${name}:${message.line}:${message.column} ${message.ruleId}: ${message.message}`);
  }
  for (const [look, width, colorScheme] of looks) {
    const page = await browser.newPage({ viewport: { width, height: 900 }, colorScheme });
    await page.goto(pathToFileURL(file).href);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    if (wide > width) fault(`${name} ${look}: ${wide} pixels wide`);
    await page.evaluate(() => document.querySelectorAll("details").forEach((it) => (it.open = true)));
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run());
    for (const { id, help, nodes } of violations) {
      fault(`${name} ${look}: ${id}: ${help}: ${nodes[0].html.slice(0, 200)}`);
    }
    await page.evaluate(() => document.querySelectorAll("details").forEach((it) => (it.open = false)));
    await page.screenshot({ path: join(folder, `${name}.${look}.png`), fullPage: true });
    await page.close();
  }
  const page = await browser.newPage({ colorScheme: "dark" });
  await page.goto(pathToFileURL(file).href);
  const pdf = await page.pdf({ path: join(folder, `${name}.pdf`), preferCSSPageSize: true, printBackground: true });
  // Each page of a PDF is an object of this type; the tree of pages has an s.
  const sheets = pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g).length;
  console.log(`${name}: ${sheets} ${sheets === 1 ? "sheet" : "sheets"} of A4`);
  if (sheets > 1 && name !== "class.html") fault(`${name} takes ${sheets} sheets`);
  await page.close();
}
await browser.close();
console.log(faults === 0 ? "nothing found" : `${faults} faults`);
process.exit(faults === 0 ? 0 : 1);
