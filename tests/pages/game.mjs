// Walks through the page of a game as a reader would, and compares what the board to step
// through says with the same game as JSON.
//
//   node game.mjs PAGE.html GAME.json
//   node game.mjs --lesson FOLDER
//
// Prints one line a check. Exit code: 0 where all hold, 1 where one does not, 2 where the
// page could not be opened at all.

import { existsSync, readFileSync } from "node:fs";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { check, inBrowser } from "./browser.mjs";

const [first, second] = process.argv.slice(2);
if (first === undefined || second === undefined) {
  console.error("usage: node game.mjs PAGE.html GAME.json | --lesson FOLDER");
  process.exit(2);
}

const same = (what, got, expected) =>
  JSON.stringify(got) === JSON.stringify(expected) ? [] : [`${what}: ${JSON.stringify(got)}, expected ${JSON.stringify(expected)}`];

// What the page says now.
const said = (page) =>
  page.evaluate(() => {
    const texts = (selector) => [...document.querySelectorAll(selector)].map((node) => node.textContent);
    const text = (id) => document.getElementById(id).textContent;
    return {
      now: text("now"),
      scope: text("scope-now"),
      pieces: texts("#piece option").slice(1),
      moves: texts("#try option").slice(1),
      changes: texts("#changes li"),
      tried: texts("#tried li"),
      piece: text("piece-said"),
      drawn: document.querySelectorAll("#live use").length,
    };
  });

const counted = (count) => (count === 0 ? "no safe square" : count === 1 ? "one safe square" : `${count} safe squares`);
const count = (number) => (number === 0 ? "no safe square" : `${number} safe square${number === 1 ? "" : "s"}`);

function expectedPieces(game, position) {
  return position.units
    .map(({ unit, square, safe }) => `${game.units[unit].color} ${game.units[unit].kind} ${square}: ${counted(safe.length)}`)
    .sort();
}

// Numbers and squares of a move tried, as the page should give them.
function changeProblems(game, at, move, items) {
  const position = game.positions[at];
  const other = position.turn === "white" ? "Black" : "White";
  const problems = [];
  const starts = [
    `Takes from ${other} ${count(move.taken)}`,
    `Gives ${other} ${count(move.given)}`,
    `Its own side loses ${count(move.own_taken)} and gets ${count(move.own_given)}.`,
  ];
  starts.forEach((start, nth) => {
    if (!items[nth]?.startsWith(start)) problems.push(`${move.move}: "${items[nth]}" does not start with "${start}"`);
  });
  for (const change of move.changes) {
    const unit = game.units[change.unit];
    if (unit.color === position.turn) continue;
    const square = position.units.find((one) => one.unit === change.unit).square;
    const before = position.units.find((one) => one.unit === change.unit).safe.length;
    const left = before - change.taken.length + change.given.length;
    for (const [nth, names, joiner] of [[0, change.taken, "from"], [1, change.given, "to"]]) {
      if (names.length === 0) continue;
      const list = names.length < 2 ? names[0] : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
      const words = `${list} ${joiner} the ${unit.color} ${unit.kind} on ${square} (${left} ${nth === 0 ? "left" : "now"})`;
      if (!items[nth].includes(words)) problems.push(`${move.move}: "${items[nth]}" lacks "${words}"`);
    }
  }
  return problems;
}

// Steps through all positions by the key, and tries every seventh move.
async function compareAll(page, name, game) {
  const [texts, pieces, moves, tries, drawn] = [[], [], [], [], []];
  for (let at = 0; at < game.positions.length; at += 1) {
    const position = game.positions[at];
    const now = await said(page);
    const label = at === 0 ? "Start" : `After ${game.plies[at - 1].label}`;
    texts.push(...same("heading", now.now, label));
    texts.push(...same("scope", now.scope, `Safe squares in all: White ${position.scope.white}, Black ${position.scope.black}.`));
    pieces.push(...same(label, [...now.pieces].sort(), expectedPieces(game, position)));
    drawn.push(...same(label, now.drawn, position.units.length));
    moves.push(...same(label, now.moves.map((text) => text.replace(/^\d+(\. |\.\.\.)/, "")), position.moves.map((one) => one.move)));
    if (at > 0) {
      const played = game.positions[at - 1].moves.find((one) => one.move === game.plies[at - 1].move);
      tries.push(...changeProblems(game, at - 1, played, now.changes));
    }
    for (let nth = at % 7; nth < position.moves.length; nth += 7) {
      await page.selectOption("#try", String(nth));
      tries.push(...changeProblems(game, at, position.moves[nth], (await said(page)).tried));
    }
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press("ArrowRight");
  }
  check(name, `headings and scope of ${game.positions.length} positions`, texts);
  check(name, "safe squares of every piece", pieces);
  check(name, "every piece is drawn", drawn);
  check(name, "legal moves of every position", moves);
  check(name, "what moves take and give", tries);
}

// Where the middle of a square is on the screen, White at the bottom.
async function middle(page, square) {
  const box = await page.locator("#live").boundingBox();
  const [file, row] = [square.charCodeAt(0) - 97, Number(square[1]) - 1];
  const unit = box.width / 844;
  return [box.x + unit * (40 + 100 * file + 50), box.y + unit * (4 + 100 * (7 - row) + 50)];
}

async function use(page, name, game) {
  const last = game.positions.length - 1;
  await page.click("#to-end");
  check(name, "the button to the end", same("heading", (await said(page)).now, `After ${game.plies[last - 1].label}`));
  await page.click("#back");
  await page.evaluate(() => document.activeElement.blur());
  await page.keyboard.press("ArrowLeft");
  const two = Math.max(0, last - 2);
  const at = two === 0 ? "Start" : `After ${game.plies[two - 1].label}`;
  check(name, "the button and the key back", same("heading", (await said(page)).now, at));
  await page.click("#to-start");
  // A piece by a click, then a move of it by a click.
  const position = game.positions[0];
  const move = position.moves.find((one) => position.units.some((unit) => unit.square === one.from) && one.from !== one.to);
  await page.locator("#live").scrollIntoViewIfNeeded();
  await page.mouse.click(...(await middle(page, move.from)));
  const unit = position.units.find((one) => one.square === move.from);
  const piece = (await said(page)).piece;
  check(name, "a click shows a piece's safe squares",
    unit.safe.every((square) => piece.includes(square)) && piece.includes(`on ${move.from}`) ? [] : [piece]);
  const dots = await page.evaluate(() => document.querySelectorAll('#live circle[r="17"], #live circle[r="10"]').length);
  const full = unit.safe.filter((square) => position.units.some((one) => one.square === square)).length;
  check(name, "a dot on each safe square", same("dots", dots, unit.safe.length + 3 * full));
  await page.mouse.click(...(await middle(page, move.to)));
  check(name, "a click tries a move", changeProblems(game, 0, move, (await said(page)).tried));
  await page.focus("#at");
  await page.keyboard.press("End");
  check(name, "the slider by the keyboard", same("heading", (await said(page)).now, `After ${game.plies[last - 1].label}`));
  await page.click("#to-start");
}

async function swipe(page, name, game) {
  await page.locator("#live").scrollIntoViewIfNeeded();
  const drag = (from, to) =>
    page.evaluate(([from, to]) => {
      const board = document.getElementById("live");
      const touch = (x) => new Touch({ identifier: 1, target: board, clientX: x, clientY: 300 });
      board.dispatchEvent(new TouchEvent("touchstart", { touches: [touch(from)], changedTouches: [touch(from)] }));
      board.dispatchEvent(new TouchEvent("touchend", { touches: [], changedTouches: [touch(to)], cancelable: true }));
    }, [from, to]);
  await drag(250, 100);
  check(name, "a swipe to the left goes on", same("heading", (await said(page)).now, `After ${game.plies[0].label}`));
  await drag(100, 250);
  check(name, "a swipe to the right goes back", same("heading", (await said(page)).now, "Start"));
}

async function without(browser, name, url) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(url);
  check(name, "without script: the board says that it needs it",
    (await page.locator("noscript p").isVisible()) && !(await page.locator("#stepper").isVisible()) ? [] : ["it does not"]);
  const shown = await page.locator(".mattered svg.board").count();
  const plots = await page.locator("svg.plot").count();
  check(name, "without script: boards and plots are there", shown > 0 && plots === 4 ? [] : [`${shown} boards, ${plots} plots`]);
  await context.close();
}

async function lookAtGame(browser, file, json) {
  const name = basename(file);
  const url = pathToFileURL(resolve(file)).href;
  const game = JSON.parse(readFileSync(json, "utf8"));
  const context = await browser.newContext({ viewport: { width: 1200, height: 1000 }, hasTouch: true });
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(String(error)));
  page.on("console", (message) => errors.push(message.text()));
  await page.goto(url);
  await compareAll(page, name, game);
  if (game.plies.length > 2) {
    await page.click("#to-start");
    await use(page, name, game);
    await swipe(page, name, game);
  }
  const button = page.locator(".go").first();
  if ((await button.count()) > 0) {
    await button.click();
    const at = Number(await button.getAttribute("data-position"));
    check(name, "from a move that mattered to the board",
      same("heading", (await said(page)).now, at === 0 ? "Start" : `After ${game.plies[at - 1].label}`));
  }
  check(name, "no error on the way", errors);
  await context.close();
  if (game.moves_that_mattered.length > 0) await without(browser, name, url);
}

async function lookAtLesson(browser, folder) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(pathToFileURL(resolve(folder, "index.html")).href);
  const all = await page.locator(".games li").count();
  check("lesson", "there are games", all > 0 ? [] : ["none"]);
  for (const theme of ["pawn", "two", "shut-out", "broken-out"]) {
    await page.check(`#theme-${theme}`);
    const shown = await page.evaluate(() => [...document.querySelectorAll(".games li")]
      .filter((item) => item.getBoundingClientRect().height > 0).map((item) => item.className));
    const named = await page.locator(`.games li.${theme}`).count();
    check("lesson", `the choice ${theme} shows its games (${named})`,
      shown.length === named && shown.every((keys) => keys.split(" ").includes(theme)) ? [] : [shown.join("; ")]);
  }
  await page.check("#theme-all");
  const missing = await page.evaluate(() => [...document.querySelectorAll(".games a, main p a")].map((link) => link.getAttribute("href")));
  check("lesson", `its ${missing.length} links lead somewhere`, missing.filter((link) => !existsSync(join(folder, link))));
  await context.close();
}

await inBrowser((browser) =>
  first === "--lesson" ? lookAtLesson(browser, second) : lookAtGame(browser, first, second),
);
