// What the checks of pages share: a browser that is closed whatever happens, and a line a check.

import { chromium } from "playwright-core";

let failed = 0;
let held = 0;

// Prints the line of a check that holds where there are no problems.
export function check(page, name, problems) {
  const bad = problems.length > 0;
  failed += bad ? 1 : 0;
  held += bad ? 0 : 1;
  console.log(`${bad ? "FAILED" : "ok    "}  ${page}  ${name}`);
  for (const problem of problems.slice(0, SHOWN)) console.log(`        ${problem}`);
}

const SHOWN = 10;

// Runs the checks in Debian's chromium, or the browser that CHROMIUM names, and ends the program: with
// 0 where all hold, 1 where one does not, 2 where the browser does not start.
export async function inBrowser(checks) {
  let browser;
  try {
    browser = await chromium.launch({
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      headless: true,
      args: [
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
      ],
    });
  } catch (error) {
    console.error(`the browser does not start: ${error.message.split("\n")[0]}`);
    process.exit(2);
  }
  try {
    await checks(browser);
  } finally {
    await browser.close();
  }
  console.log(`${held} checks hold, ${failed} do not`);
  process.exit(failed > 0 ? 1 : 0);
}
