// How large pages are and how long they take to show, each opened five times in a fresh browser context.
//
//   node time.mjs PAGE.html…
//
// Prints a line a page: bytes, and the medians of the milliseconds to the first contents on the screen and
// to the end of loading, scripts included (Paint Timing and Navigation Timing of the W3C). Not a check:
// times depend on the machine.

import { statSync } from "node:fs";
import { basename, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { inBrowser } from "./browser.mjs";

const ROUNDS = 5;
const files = process.argv.slice(2);
const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];

await inBrowser(async (browser) => {
  console.log("page | bytes | first contents, ms | loaded, ms");
  for (const file of files) {
    const times = { first: [], loaded: [] };
    for (let round = 0; round < ROUNDS; round += 1) {
      const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
      const page = await context.newPage();
      await page.goto(pathToFileURL(resolve(file)).href, { waitUntil: "load" });
      await page.waitForFunction(() => performance.getEntriesByName("first-contentful-paint").length > 0);
      const [first, loaded] = await page.evaluate(() => [
        performance.getEntriesByName("first-contentful-paint")[0].startTime,
        performance.getEntriesByType("navigation")[0].loadEventEnd,
      ]);
      times.first.push(first);
      times.loaded.push(loaded);
      await context.close();
    }
    console.log(`${basename(file)} | ${statSync(file).size} | ${median(times.first).toFixed(0)} | ${median(times.loaded).toFixed(0)}`);
  }
});
