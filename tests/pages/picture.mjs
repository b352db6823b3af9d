// Draws the picture at the top of README: an example of a page, as a reader sees it.
//
//   node picture.mjs PAGE.html OUT.png

import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { inBrowser } from "./browser.mjs";

const [page, out] = process.argv.slice(2);
if (out === undefined) {
  console.error("usage: node picture.mjs PAGE.html OUT.png");
  process.exit(2);
}
await inBrowser(async (browser) => {
  const context = await browser.newContext({ viewport: { width: 900, height: 1400 }, colorScheme: "light" });
  const tab = await context.newPage();
  await tab.goto(pathToFileURL(resolve(page)).href);
  // Only what one looks at first: heading, board, safe squares.
  await tab.addStyleTag({ content: ".stretch~*{display:none!important}article{padding:1rem}" });
  await tab.locator("article.played").first().screenshot({ path: out });
});
