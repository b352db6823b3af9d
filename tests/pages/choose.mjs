// Chooses among the positions of a page as a reader would, saves a selection, and compares what is shown
// and saved with the answer as JSON.
//
//   node choose.mjs PAGE.html ANSWER.json SELECTION.json
//
// Writes the selection it saved. Prints one line a check. Exit code: 0 where all hold, 1 where one does
// not.

import { readFileSync } from "node:fs";
import { basename, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check, inBrowser } from "./browser.mjs";

const [file, answer, saved] = process.argv.slice(2);
if (saved === undefined) {
  console.error("usage: node choose.mjs PAGE.html ANSWER.json SELECTION.json");
  process.exit(2);
}
const name = basename(file);
const { positions, definitions } = JSON.parse(readFileSync(answer, "utf8"));
const same = (got, wanted) => {
  const [a, b] = [got, wanted].map((value) => JSON.stringify(value));
  return a === b ? [] : [`${a}, expected ${b}`];
};
const numbersOf = (chosen) => chosen.map((position) => 1 + positions.indexOf(position));

await inBrowser(async (browser) => {
  for (const width of [360, 1440]) {
    const context = await browser.newContext({ viewport: { width, height: 900 }, acceptDownloads: true });
    const page = await context.newPage();
    const errors = [];
    page.on("pageerror", (error) => errors.push(String(error)));
    await page.goto(pathToFileURL(resolve(file)).href);
    const shown = () =>
      page.locator("[data-choose] article:visible h3").evaluateAll((nodes) => nodes.map((node) => parseInt(node.textContent, 10)));
    const menu = (label) => page.getByLabel(label, { exact: true });

    check(name, `${width}: all are shown at first`, same(await shown(), numbersOf(positions)));
    for (const [label, key] of [["Piece", "kind"], ["Side", "color"], ["Restricted by", "cause"], ["Phase", "phase"], ["What became of it", "ended"]]) {
      const values = [...new Set(positions.map((position) => position[key]))];
      const found = [];
      for (const value of values) {
        await menu(label).selectOption(value);
        const wanted = numbersOf(positions.filter((position) => position[key] === value));
        found.push(...same(await shown(), wanted));
        const said = await page.locator('[data-part="number"]').textContent();
        if (said !== `${wanted.length} of ${positions.length} shown`) found.push(said);
      }
      await menu(label).selectOption("");
      check(name, `${width}: ${label}: each of ${values.length} values alone`, found);
    }
    for (const [label, of] of [["turns it lasted", (one) => one.turns], ["safe squares", (one) => one.safe.length], ["squares taken", (one) => one.taken.length]]) {
      await menu("Order").selectOption({ label: `${label}, most first` });
      const down = numbersOf(positions.toSorted((a, b) => of(b) - of(a)));
      const found = same(await shown(), down);
      await menu("Order").selectOption({ label: `${label}, fewest first` });
      found.push(...same(await shown(), numbersOf(positions.toSorted((a, b) => of(a) - of(b)))));
      check(name, `${width}: ordered by ${label}`, found);
    }
    await menu("Order").selectOption("");
    const player = positions[0].game.white;
    await menu("Player, event or move").fill(player.toUpperCase());
    const byName = positions.filter(({ game }) => [game.white, game.black].includes(player));
    check(name, `${width}: a player is found by name`, same(await shown(), numbersOf(byName)));
    await page.getByRole("button", { name: "Show all" }).click();
    await page.waitForFunction((all) => document.querySelector('[data-part="number"]').textContent === all, `${positions.length} of ${positions.length} shown`);

    // Two are chosen by the keyboard, one of them is taken out again, and a third one is added.
    const pick = (nth) => page.locator("[data-choose] article").nth(nth).locator(".pick");
    for (const nth of [2, 0, 1]) {
      await pick(nth).focus();
      await page.keyboard.press("Enter");
    }
    await pick(0).click();
    const pressed = await page.locator('.pick[aria-pressed="true"]').count();
    check(name, `${width}: chosen and taken out`, same([pressed, await page.locator('[data-part="picked"]').textContent()], [2, "2 positions in the handout"]));
    await page.locator('[data-part="title"]').fill('Two of <them> & "more"');
    const waiting = page.waitForEvent("download");
    await page.getByRole("button", { name: "Save the handout’s positions" }).click();
    const download = await waiting;
    await download.saveAs(saved);
    const selection = JSON.parse(readFileSync(saved, "utf8"));
    const board = ({ piece, square, fen, safe, taken, arrow }) => ({ piece, square, fen, safe, taken, arrow });
    const wanted = [positions[2], positions[1]].map((one) => board({
      ...one,
      piece: `${one.color} ${one.kind}`,
      arrow: one.began_by && [one.began_by.from, one.began_by.to],
    }));
    const head = [selection.format, selection.about, selection.definitions, selection.title, download.suggestedFilename()];
    check(name, `${width}: the selection is what was chosen`, [
      ...same(head, [1, "selection", definitions, 'Two of <them> & "more"', "handout.json"]),
      ...same(selection.positions.map(board), wanted),
      ...[2, 1].flatMap((nth, place) => {
        const { caption } = selection.positions[place];
        return caption.startsWith(`After ${positions[nth].began_by.label}`) ? [] : [caption];
      }),
    ]);
    check(name, `${width}: no error on the way`, errors);
    await context.close();
  }
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(pathToFileURL(resolve(file)).href);
  const [boards, dead] = [await page.locator("article svg.board:visible").count(), await page.locator("form.choose:visible, .pick:visible").count()];
  check(name, "without script all boards stand, with no dead controls", same([boards, dead], [positions.length, 0]));
  await context.close();
});
