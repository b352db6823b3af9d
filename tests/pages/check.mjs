// Opens pages in a real browser and checks what a reader would notice.
//
//   npm ci
//   node check.mjs PAGE.html… [--shots DIR]
//
// Prints one line a check. Exit code: 0 where all hold, 1 where one does not, 2 where the
// pages could not be opened at all. The browser is Debian's chromium; CHROMIUM names
// another one.

import { createHash } from "node:crypto";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check, inBrowser } from "./browser.mjs";

const WIDTHS = [360, 1440];
const SCHEMES = ["light", "dark"];

const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

function usage(message) {
  console.error(`${message}\nusage: node check.mjs PAGE.html… [--shots DIR]`);
  process.exit(2);
}

const pages = [];
let shots = null;
for (let i = 2; i < process.argv.length; i += 1) {
  const word = process.argv[i];
  if (word === "--shots") {
    i += 1;
    shots = process.argv[i] ?? usage("--shots needs a folder");
  } else if (word.startsWith("-")) {
    usage(`${word} is not known`);
  } else if (!existsSync(word)) {
    usage(`${word} is not there`);
  } else {
    pages.push(resolve(word));
  }
}
if (pages.length === 0) usage("no page named");
if (shots !== null) mkdirSync(shots, { recursive: true });

// What sticks out over the right edge. Whatever scrolls inside a box of its own does not.
function overflow() {
  const width = document.documentElement.clientWidth;
  const problems = [];
  if (document.documentElement.scrollWidth > width) {
    problems.push(`the page is ${document.documentElement.scrollWidth} wide, the window ${width}`);
  }
  const boxed = (node) => {
    for (let up = node.parentElement; up; up = up.parentElement) {
      if (["auto", "scroll"].includes(getComputedStyle(up).overflowX)) return true;
    }
    return false;
  };
  for (const node of document.querySelectorAll("body *")) {
    const box = node.getBoundingClientRect();
    if (box.width > 0 && (box.right > width + 1 || box.left < -1) && !boxed(node)) {
      problems.push(`<${node.tagName.toLowerCase()}> reaches from ${box.left} to ${box.right}`);
    }
  }
  for (const node of document.querySelectorAll("table, figure, dl, p")) {
    const [box, around] = [node.getBoundingClientRect(), node.parentElement.getBoundingClientRect()];
    if (box.right > around.right + 1 && !boxed(node)) {
      problems.push(`<${node.tagName.toLowerCase()}> reaches to ${box.right}, what holds it to ${around.right}`);
    }
  }
  return problems.slice(0, 5);
}

// Each picture is named and described, or hidden where words beside it say it all.
function pictures() {
  const problems = [];
  const svgs = [...document.querySelectorAll("svg")];
  for (const figure of document.querySelectorAll("figure")) {
    if (!figure.querySelector("svg")) problems.push("a figure is empty");
  }
  for (const svg of svgs) {
    const name = svg.id || svg.getAttribute("class") || "svg";
    if (svg.getAttribute("aria-hidden") === "true") {
      if (!svg.parentElement.textContent.trim()) problems.push(`${name}: hidden, with no words beside it`);
      continue;
    }
    const text = (attribute) => {
      const id = svg.getAttribute(attribute);
      return id ? (document.getElementById(id)?.textContent.trim() ?? "") : "";
    };
    if (svg.getAttribute("role") !== "img") problems.push(`${name}: no role`);
    if (svg.getAttribute("aria-label")) continue;
    if (!text("aria-labelledby")) problems.push(`${name}: no title`);
    if (!text("aria-describedby")) problems.push(`${name}: no description`);
  }
  const ids = [...document.querySelectorAll("[id]")].map((node) => node.id);
  for (const id of new Set(ids.filter((id, i) => ids.indexOf(id) !== i))) problems.push(`id ${id} stands twice`);
  return problems;
}

// Letters in pictures must come out no smaller than ten CSS pixels.
function letters() {
  const problems = [];
  for (const text of document.querySelectorAll("svg text")) {
    const svg = text.ownerSVGElement;
    const box = svg.getBoundingClientRect();
    if (box.width === 0) continue;
    const size = parseFloat(getComputedStyle(text).fontSize) * (box.width / svg.viewBox.baseVal.width);
    if (size < 10) problems.push(`${svg.id}: "${text.textContent.trim()}" is ${size.toFixed(1)} pixels high`);
  }
  return problems.slice(0, 3);
}

// Text of a plot must stay in its picture and clear of other text.
function collisions() {
  const problems = [];
  for (const svg of document.querySelectorAll("svg.plot")) {
    const frame = svg.getBoundingClientRect();
    if (frame.width === 0) continue;
    const texts = [...svg.querySelectorAll("text")].map((node) => ({
      words: node.textContent.trim(),
      box: node.getBoundingClientRect(),
    }));
    texts.forEach(({ words, box }, i) => {
      if (box.left < frame.left - 1 || box.right > frame.right + 1) problems.push(`${svg.id}: "${words}" leaves the picture`);
      for (const other of texts.slice(i + 1)) {
        const across = Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left);
        const down = Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top);
        if (across > 1 && down > 4) problems.push(`${svg.id}: "${words}" meets "${other.words}"`);
      }
    });
  }
  return problems.slice(0, 5);
}

function paper() {
  const channel = getComputedStyle(document.body).getPropertyValue("--paper").trim();
  const value = parseInt(channel.slice(1, 3), 16);
  return Number.isFinite(value) && value > 0xe0 ? [] : [`on paper the ground is ${channel}`];
}

// Scripts that are neither data nor named by their hash in the policy of the page.
async function foreignScripts(page) {
  const { policy, scripts } = await page.evaluate(() => ({
    policy: document.querySelector('meta[http-equiv="Content-Security-Policy"]')?.content ?? "",
    scripts: [...document.scripts]
      .filter((script) => script.type !== "application/json")
      .map((script) => script.outerHTML.slice(0, 7) === "<script" && !script.src ? script.textContent : script.outerHTML),
  }));
  const problems = policy.startsWith("default-src 'none'") ? [] : [`the policy is ${policy}`];
  for (const script of scripts) {
    const hash = `'sha256-${createHash("sha256").update(script).digest("base64")}'`;
    if (!policy.includes(hash)) problems.push(`a script: ${script.slice(0, 60)}`);
  }
  return problems;
}

async function look(browser, file) {
  const name = basename(file);
  const url = pathToFileURL(file).href;
  for (const scheme of SCHEMES) {
    for (const width of WIDTHS) {
      const at = `${width} ${scheme}`;
      const context = await browser.newContext({
        viewport: { width, height: 900 },
        deviceScaleFactor: width === 360 ? 2 : 1,
        colorScheme: scheme,
      });
      const page = await context.newPage();
      const said = [];
      const asked = [];
      page.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) said.push(message.text());
      });
      page.on("pageerror", (error) => said.push(String(error)));
      page.on("request", (request) => {
        if (request.url() !== url) asked.push(request.url());
      });
      await page.goto(url, { waitUntil: "load" });
      check(name, `${at}: nothing sticks out`, await page.evaluate(overflow));
      check(name, `${at}: letters in pictures can be read`, await page.evaluate(letters));
      check(name, `${at}: letters in plots are clear of each other`, await page.evaluate(collisions));
      if (shots !== null) {
        await page.screenshot({ path: join(shots, `${name}-${width}-${scheme}.png`), fullPage: true });
      }
      // Everything that can be opened is opened, so that axe sees it too.
      await page.evaluate(() => document.querySelectorAll("details").forEach((node) => (node.open = true)));
      await page.evaluate(axe);
      const { violations, passes } = await page.evaluate(() => globalThis.axe.run(document));
      const problems = violations.flatMap((rule) =>
        rule.nodes.map((node) => `${rule.id} (${rule.impact}): ${node.target.join(" ")}: ${rule.help}`),
      );
      if (passes.length === 0) problems.push("axe found nothing to check");
      check(name, `${at}: axe-core has nothing to say (${passes.length} rules passed)`, problems.slice(0, 10));
      check(name, `${at}: nothing on the console`, said);
      check(name, `${at}: nothing asked of the network`, asked);
      if (scheme === "light" && width === 1440) {
        check(name, "every picture has its words", await page.evaluate(pictures));
        check(name, "no script but what the policy of the page names", await foreignScripts(page));
      }
      if (scheme === "dark" && width === 1440) {
        await page.emulateMedia({ media: "print", colorScheme: "dark" });
        check(name, "printed light from a dark screen", await page.evaluate(paper));
        const folder = shots ?? mkdtempSync(join(tmpdir(), "hobble-print-"));
        const pdf = join(folder, `${name}.pdf`);
        await page.pdf({ path: pdf, format: "A4", preferCSSPageSize: true, printBackground: false });
        const bytes = readFileSync(pdf);
        const sheets = (bytes.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
        const whole = bytes.subarray(0, 5).toString() === "%PDF-" && statSync(pdf).size > 10_000 && sheets > 0;
        check(name, `prints to PDF (${sheets} sheets)`, whole ? [] : ["the PDF is empty or broken"]);
        if (shots === null) rmSync(folder, { recursive: true });
      }
      await context.close();
    }
  }
}

await inBrowser(async (browser) => {
  for (const file of pages) await look(browser, file);
});
