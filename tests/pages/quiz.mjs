// Clicks and types through the page of a quiz and reads it without script.
//
//   node quiz.mjs QUIZ.html
//
// Prints one line a check. Exit code: 0 where all hold, 1 where one does not.

import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check as report, inBrowser } from "./browser.mjs";

const url = pathToFileURL(resolve(process.argv[2])).href;
const check = (name, holds) => report("quiz", name, holds ? [] : ["it does not"]);

await inBrowser(async (browser) => {
  for (const width of [360, 1440]) {
    const page = await browser.newPage({ viewport: { width, height: 800 } });
    await page.goto(url);
    const visible = () =>
      page.$$eval(".task", (tasks) => tasks.filter((task) => task.offsetParent !== null).map((task) => task.id));
    const open = (id) => page.$eval(`#${id} .solution`, (node) => node.open);
    const count = await page.$$eval(".task", (tasks) => tasks.length);
    check(`${width}: the first of ${count} positions is shown, its answer hidden`,
      count > 2 && (await visible()).join() === "position-1" && !(await open("position-1")));
    await page.click('[data-step="on"]');
    check(`${width}: the button goes on`, (await visible()).join() === "position-2");
    await page.keyboard.press("ArrowRight");
    check(`${width}: the key goes on`, (await visible()).join() === "position-3");
    await page.keyboard.press("ArrowLeft");
    check(`${width}: the key goes back`, (await visible()).join() === "position-2");
    await page.keyboard.press("a");
    check(`${width}: the key opens the answer, with a board`,
      (await open("position-2")) && (await page.isVisible("#position-2 .solution svg")));
    await page.click('[data-step="answer"]');
    check(`${width}: the button closes it`, !(await open("position-2")));
    await page.click("#position-2 .solution summary");
    // The browser reports it a moment later.
    const said = await page
      .waitForFunction(() => document.querySelector('[data-step="answer"]').textContent === "Hide the answer", null, { timeout: 5000 })
      .then(() => true, () => false);
    check(`${width}: opened by hand, the button says so`, said);
    await page.click('[data-step="all"]');
    check(`${width}: all positions at once`, (await visible()).length === count);
    await page.click('[data-step="all"]');
    for (let nth = 0; nth < count + 2; nth += 1) await page.keyboard.press("ArrowRight");
    check(`${width}: the last position is the end`, (await visible()).join() === `position-${count}`);
    const small = await page.$$eval(".steps button", (nodes) => nodes.filter((node) => node.getBoundingClientRect().height < 44));
    check(`${width}: buttons are large enough for a finger`, small.length === 0);
    await page.close();
  }
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(url);
  const shown = await page.locator(".task").count();
  const visible = await page.locator(".task:visible").count();
  check("without script all positions are shown", shown > 0 && shown === visible);
  check("without script there are no dead buttons", !(await page.locator("#steps").isVisible()));
  await page.locator("#position-1 .solution summary").click();
  check("without script an answer opens", await page.locator("#position-1 .solution svg").isVisible());
});
