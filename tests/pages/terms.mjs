// Changes the terms of a claim on its page, and compares what the page says with what the program answers
// to a file with these terms.
//
//   node terms.mjs PAGE.html QUESTION.toml DATA HOBBLE COUNT
//
// QUESTION.toml is the claim's file. Every value of each term alone, then COUNT settings in which all are
// drawn. Prints one line a check. Exit code: 0 where all hold, 1 where one does not.

import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check, inBrowser } from "./browser.mjs";

const [file, question, data, hobble, count] = process.argv.slice(2);
if (count === undefined) {
  console.error("usage: node terms.mjs PAGE.html QUESTION.toml DATA HOBBLE COUNT");
  process.exit(2);
}
const name = basename(file);
const folder = mkdtempSync(join(tmpdir(), "terms-"));
const FIELDS = ["k", "within", "phase", "band", "attacked", "defended"];

// The file's text with other terms.
function withTerms(terms) {
  const kept = readFileSync(question, "utf8")
    .split("\n")
    .filter((line) => !FIELDS.some((field) => new RegExp(`^${field}\\s*=`).test(line)));
  const lines = Object.entries(terms).map(([field, value]) => `${field} = ${JSON.stringify(value)}`);
  return `${[...kept, ...lines].join("\n")}\n`;
}

function asked(terms) {
  const path = join(folder, "asked.toml");
  writeFileSync(path, withTerms(terms));
  return JSON.parse(execFileSync(hobble, ["ask", path, "--data", data, "--format", "json"], { encoding: "utf8", maxBuffer: 1e9 }));
}

// A number rounded from its exact decimals, one in the middle to the even digit, as Rust writes it.
function fixed(number, digits) {
  const [whole, fraction = ""] = exact(Math.abs(number));
  const padded = fraction.padEnd(digits + 1, "0");
  const rest = padded.slice(digits).replace(/0+$/, "");
  let kept = BigInt(whole + padded.slice(0, digits));
  if (rest > "5" || (rest === "5" && kept % 2n === 1n)) kept += 1n;
  const text = String(kept).padStart(digits + 1, "0");
  const [left, right] = [text.slice(0, text.length - digits), text.slice(text.length - digits)];
  const sign = number < 0 && kept !== 0n ? "-" : "";
  return `${sign}${left}${digits > 0 ? `.${right}` : ""}`;
}

// All decimals of a number below 2^53.
function exact(number) {
  const whole = Math.floor(number);
  let part = number - whole;
  let digits = "";
  // Multiplied by two it stays exact, so that the fraction is a whole number of 2^-n.
  let [top, power] = [0n, 0n];
  while (part !== 0) {
    part *= 2;
    const bit = Math.floor(part);
    top = top * 2n + BigInt(bit);
    power += 1n;
    part -= bit;
  }
  if (power > 0n) digits = String(top * 5n ** power).padStart(Number(power), "0");
  return [String(whole), digits];
}

const grouped = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, ",");
function signed(number, digits) {
  const text = fixed(Math.abs(number), digits);
  return /[1-9]/.test(text) ? `${number < 0 ? "\u2212" : "+"}${text}` : text;
}
function shown(estimate, times, digitsOf, words) {
  const { value, jackknife } = estimate;
  const digits = digitsOf(jackknife ? (jackknife.high - jackknife.low) * times : null);
  const put = (number) => words(number * times, digits);
  return [value === null ? "none" : put(value), jackknife ? `${put(jackknife.low)} to ${put(jackknife.high)}` : "none"];
}
const inPercent = (number, digits) => `${fixed(number, digits)}%`;
const percentDigits = (width) => (width === null ? 1 : width < 0.1 ? 3 : width < 1 ? 2 : 1);
const ratioDigits = (width) => (width !== null && width < 0.1 ? 3 : 2);

function times({ value, jackknife }) {
  const digits = ratioDigits(jackknife ? jackknife.high - jackknife.low : null);
  const put = (number) => fixed(number, digits);
  return jackknife ? `${put(value)} (${put(jackknife.low)} to ${put(jackknife.high)})` : put(value);
}

// What the page is to say.
function expected(answer) {
  const own = answer.comparison.find((row) => row.varied === "within" && row.within === answer.claim.within);
  return {
    verdict: answer.verdict,
    rungs: answer.evidence.map(({ standing, estimate }) => [estimate === null ? "none" : times(estimate), standing]),
    held: shown(own.held_rate, 100, percentDigits, inPercent),
    free: shown(own.free_rate, 100, percentDigits, inPercent),
    ratio: shown(own.ratio, 1, ratioDigits, fixed),
    difference: shown(own.difference, 100, percentDigits, signed),
    numbers: [grouped(own.compared_held), grouped(own.compared_free)],
  };
}

const read = (page) =>
  page.locator("section.other-terms").evaluate((section) => {
    const text = (part) => section.querySelector(`[data-part="${part}"]`).textContent;
    const both = (part) => [text(part), text(`${part}-interval`)];
    return {
      verdict: text("verdict"),
      rungs: ["association", "twins", "decision", "guards", "confirmation"].map((rung) => [text(`rung-${rung}`), text(`stands-${rung}`)]),
      held: both("held"),
      free: both("free"),
      ratio: both("ratio"),
      difference: both("difference"),
      numbers: [text("held-number"), text("free-number")],
    };
  });

let seed = 20261128;
const drawn = (values) => {
  seed = (seed * 48271) % 2147483647;
  return values[seed % values.length];
};

await inBrowser(async (browser) => {
  const context = await browser.newContext();
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(String(error)));
  await page.goto(pathToFileURL(resolve(file)).href);
  await page.locator("section.other-terms").waitFor();
  const options = (id) => page.locator(`#terms-${id} option`).allTextContents();
  const words = {
    k: (await options("k")).map((text) => [text, Number(text)]),
    within: (await options("within")).map((text) => [text, parseInt(text, 10)]),
    phase: (await options("phase")).map((text) => [text, text === "all" ? [] : text.split(" or ")]),
    band: (await options("band")).map((text) => [text, text === "all" ? [] : text.split(" or ")]),
    attacked: (await options("attacked")).map((text) => [text, text.startsWith("no, ") ? "any" : text]),
    defended: (await options("defended")).map((text) => [text, text]),
  };
  const first = Object.fromEntries(
    await Promise.all(FIELDS.map(async (field) => [field, await page.locator(`#terms-${field}`).evaluate((menu) => menu.selectedOptions[0].textContent)])),
  );
  const valueOf = (field, text) => words[field].find(([one]) => one === text)[1];

  async function problems(setting) {
    for (const field of FIELDS) await page.locator(`#terms-${field}`).selectOption({ label: setting[field] });
    const terms = Object.fromEntries(FIELDS.map((field) => [field, valueOf(field, setting[field])]));
    const [got, wanted] = [JSON.stringify(await read(page)), JSON.stringify(expected(asked(terms)))];
    return got === wanted ? [] : [`${JSON.stringify(terms)}: ${got}, expected ${wanted}`];
  }

  check(name, "as it is written", await problems(first));
  for (const field of FIELDS) {
    const found = [];
    for (const [text] of words[field]) found.push(...(await problems({ ...first, [field]: text })));
    check(name, `${words[field].length} values of ${field}`, found);
  }
  const found = [];
  for (let nth = 0; nth < Number(count); nth += 1) {
    found.push(...(await problems(Object.fromEntries(FIELDS.map((field) => [field, drawn(words[field])[0]])))));
  }
  check(name, `${count} settings drawn`, found);
  await page.getByRole("button", { name: "As the claim is written" }).click();
  await page.waitForTimeout(100);
  const [got, wanted] = [JSON.stringify(await read(page)), JSON.stringify(expected(asked(Object.fromEntries(FIELDS.map((field) => [field, valueOf(field, first[field])])))))];
  check(name, "back to the claim as it is written", got === wanted ? [] : [`${got}, expected ${wanted}`]);
  check(name, "no error on the way", errors);
  await context.close();
});
rmSync(folder, { recursive: true });
