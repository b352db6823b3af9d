// Plays the boards of a report's examples as a reader would, and compares what they say with the
// answer as JSON.
//
//   node stretch.mjs PAGE.html ANSWER.json
//
// Prints one line a check. Exit code: 0 where all hold, 1 where one does not.

import { readFileSync } from "node:fs";
import { basename, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check, inBrowser } from "./browser.mjs";

const [file, answer] = process.argv.slice(2);
if (answer === undefined) {
  console.error("usage: node stretch.mjs PAGE.html ANSWER.json");
  process.exit(2);
}
const name = basename(file);
const url = pathToFileURL(resolve(file)).href;
const { examples, positions, findings = [], games = [] } = JSON.parse(readFileSync(answer, "utf8"));
// A player's games stand in what was found, and by themselves.
// A search lists positions, of which a few are enough.
const shown = examples ?? positions?.slice(0, 4) ?? [...findings.map((finding) => finding.game), ...games];
const expected = shown.map((example) => example?.stretch ?? example?.board?.stretch).filter(Boolean);

const counted = (count) => (count === 0 ? "no safe square" : count === 1 ? "one safe square" : `${count} safe squares`);
const list = (names) => (names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`);
const less = (these, those) => these.filter((one) => !those.includes(one));

// What is to be read at a position of a stretch.
function toRead(stretch, at) {
  const now = stretch.positions[at];
  const before = stretch.positions[at - 1];
  const when = now.label === "" ? "Start of the game" : `After ${now.label}`;
  const units = (now.fen.split(" ")[0].match(/[a-z]/gi) ?? []).length;
  if (now.square === null) return { when, units, start: "The " };
  const stood = before !== undefined && before.square === now.square;
  const taken = stood ? less(before.safe, now.safe) : [];
  const given = stood ? less(now.safe, before.safe) : [];
  const squares = now.safe.length === 0 ? "" : `: ${list(now.safe)}`;
  const parts = [`The ${stretch.piece} on ${now.square} has ${counted(now.safe.length)}${squares}.`];
  if (taken.length > 0) parts.push(`Just taken: ${list(taken)}.`);
  if (given.length > 0) parts.push(`Just given: ${list(given)}.`);
  return { when, units, start: parts.join(" ") };
}

// What stands there now.
const read = (stepper) =>
  stepper.evaluate((node) => {
    const part = (which) => node.querySelector(`[data-part="${which}"]`);
    return {
      when: part("now").textContent,
      said: part("said").textContent,
      units: part("board").querySelectorAll("use").length,
      here: [...node.querySelectorAll(".bar")].findIndex((bar) => bar.classList.contains("here")),
    };
  });

function problems(stretch, at, got) {
  const want = toRead(stretch, at);
  const found = [];
  if (got.when !== want.when) found.push(`${at}: "${got.when}", expected "${want.when}"`);
  if (!got.said.startsWith(want.start)) found.push(`${at}: "${got.said}", expected "${want.start}"`);
  if (got.units !== want.units) found.push(`${at}: ${got.units} units, expected ${want.units}`);
  if (got.here !== at) found.push(`${at}: the bar of ${got.here} is marked`);
  return found;
}

await inBrowser(async (browser) => {
  for (const width of [360, 1440]) {
    const context = await browser.newContext({ viewport: { width, height: 900 }, hasTouch: width === 360 });
    const page = await context.newPage();
    const errors = [];
    page.on("pageerror", (error) => errors.push(String(error)));
    await page.goto(url);
    const all = await page.locator(".stretch").all();
    const steppers = all.slice(0, expected.length);
    const wanted = positions?.length ?? expected.length;
    check(name, `${width}: a board to step through for each example`,
      all.length === wanted && expected.length > 0 ? [] : [`${all.length} of ${wanted}`]);
    for (const [nth, stepper] of steppers.entries()) {
      const stretch = expected[nth];
      const last = stretch.positions.length - 1;
      const at = async (where) => problems(stretch, where, await read(stepper));
      await stepper.scrollIntoViewIfNeeded();
      await stepper.locator(".bar").first().waitFor({ state: "attached" });
      const press = (which) => stepper.locator(`[data-part="${which}"]`).click();
      check(name, `${width}: example ${nth + 1} opens at what is to be seen`, await at(stretch.shown));
      const bars = await stepper.locator(".line").getAttribute("aria-label");
      const inWords = stretch.positions.map((one) => {
        const when = one.label === "" ? "start of the game" : `after ${one.label}`;
        return `${when} ${one.square === null ? "off the board" : counted(one.safe.length)}`;
      });
      check(name, `${width}: example ${nth + 1}: the bars in words`, bars.endsWith(`: ${inWords.join("; ")}.`) ? [] : [bars]);
      await press("first");
      const found = await at(0);
      for (let where = 1; where <= last; where += 1) {
        await press("on");
        found.push(...(await at(where)));
      }
      check(name, `${width}: example ${nth + 1}, ${last + 1} positions by the button`, found);
      // The button is still there to be pressed, though it says that it is disabled.
      await stepper.locator('[data-part="on"]').click({ force: true });
      check(name, `${width}: example ${nth + 1}: the end is the end`, await at(last));
      await page.keyboard.press("ArrowLeft");
      check(name, `${width}: example ${nth + 1}: a key goes back`, await at(last - 1));
      await stepper.locator('[data-part="at"]').focus();
      await page.keyboard.press("Home");
      check(name, `${width}: example ${nth + 1}: the slider by the keyboard`, await at(0));
      const bar = stepper.locator(".bar").nth(stretch.shown);
      const box = await bar.boundingBox();
      await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
      check(name, `${width}: example ${nth + 1}: a click on a bar leads there`, await at(stretch.shown));
      if (width === 360) {
        await stepper.locator('[data-part="board"]').evaluate((node) => {
          const touch = (x) => new Touch({ identifier: 1, target: node, clientX: x, clientY: 300 });
          node.dispatchEvent(new TouchEvent("touchstart", { touches: [touch(300)], changedTouches: [touch(300)], cancelable: true }));
          node.dispatchEvent(new TouchEvent("touchend", { touches: [], changedTouches: [touch(200)], cancelable: true }));
        });
        check(name, `${width}: example ${nth + 1}: a swipe goes on`, await at(Math.min(last, stretch.shown + 1)));
      }
      const small = await stepper.locator("button").evaluateAll((nodes) => nodes.filter((node) => node.getBoundingClientRect().height < 44).length);
      check(name, `${width}: example ${nth + 1}: buttons are large enough for a finger`, small === 0 ? [] : [`${small} are not`]);
    }
    check(name, `${width}: no error on the way`, errors);
    await page.emulateMedia({ media: "print" });
    const printed = await page.locator(".stretch").evaluateAll((nodes) => nodes.filter((node) => node.offsetParent !== null).length);
    const fixed = await page.locator(".fixed svg").first().isVisible();
    check(name, `${width}: on paper the fixed boards stand`, printed === 0 && fixed ? [] : [`${printed} boards to step through are printed`]);
    await context.close();
  }
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(url);
  const fixed = await page.locator(".fixed svg").first().isVisible();
  const dead = await page.locator(".stretch:visible").count();
  check(name, "without script the fixed boards stand, with no dead buttons", fixed && dead === 0 ? [] : [`${dead} boards without script`]);
});
