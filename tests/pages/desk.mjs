// Opens a desk in a real browser and does there what a coach and a player do.
//
//   node desk.mjs HOBBLE FOLDER SEASON.pgn ODD.pgn…
//
// The folder is empty or not there. A game whose names try to be markup is added to the odd ones. Prints
// one line a check; exit codes as check.mjs has them.

import { execFileSync, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";

import { check, inBrowser } from "./browser.mjs";

const [hobble, folder, season, ...odd] = process.argv.slice(2);
const scratch = mkdtempSync(join(tmpdir(), "desk-"));
process.on("exit", () => rmSync(scratch, { recursive: true }));
odd.push(join(scratch, "markup.pgn"));
writeFileSync(odd.at(-1), '[White "<b>Cobble</b> & \\"Nan\\""]\n[Black "</script>"]\n\n1. e4 e5 *\n');
const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

// The program with a desk open, in an environment without anything, and its address.
async function open() {
  const desk = spawn(hobble, ["desk", "--data", folder], { env: {}, stdio: ["ignore", "pipe", "inherit"] });
  const address = await new Promise((found, failed) => {
    let text = "";
    desk.stdout.on("data", (bytes) => {
      text += bytes;
      const match = text.match(/http:\S+/);
      if (match) found(match[0]);
    });
    desk.on("exit", () => failed(new Error("the desk did not open")));
  });
  return { desk, address };
}

// What may not be on any screen: something that sticks out, or that axe has to say.
async function lookAt(page, name) {
  await page.evaluate(() => document.querySelectorAll("details").forEach((node) => (node.open = true)));
  const size = page.viewportSize();
  for (const width of [360, size.width]) {
    await page.setViewportSize({ ...size, width });
    const out = await page.evaluate(() => {
      const { clientWidth, scrollWidth } = document.documentElement;
      return scrollWidth > clientWidth ? [`the page is ${scrollWidth} wide, the window ${clientWidth}`] : [];
    });
    check("desk", `${name}: nothing sticks out of ${width}`, out);
  }
  // The policy lets the page run no script but its own, so that axe comes by the browser itself.
  const session = await page.context().newCDPSession(page);
  const ask = (expression) =>
    session.send("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true, allowUnsafeEvalBlockedByCSP: true });
  await ask(axe);
  const { result } = await ask("axe.run(document).then(({violations, passes}) => ({passes: passes.length, bad: violations.flatMap((rule) => rule.nodes.map((node) => `${rule.id}: ${node.target.join(' ')}: ${rule.help}`))}))");
  const { bad, passes } = result.value ?? { bad: ["axe did not run"], passes: 0 };
  check("desk", `${name}: axe-core has nothing to say (${passes} rules passed)`, passes > 0 ? bad : ["axe found nothing to check", ...bad]);
  await session.detach();
}

// Goes on with the keyboard alone until something with this name is reached, and presses it.
async function press(page, name) {
  for (let step = 0; step < 200; step += 1) {
    await page.keyboard.press("Tab");
    const reached = await page.evaluate(() => {
      const { activeElement: on } = document;
      return on.getAttribute("aria-label") ?? on.textContent.trim();
    });
    if (reached.startsWith(name)) {
      const visible = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle !== "none");
      await page.keyboard.press("Enter");
      return visible ? [] : [`${name} shows no focus`];
    }
  }
  return [`${name} is not reached by the keyboard`];
}

async function keep(page, click) {
  const [download] = await Promise.all([page.waitForEvent("download"), click()]);
  return { name: download.suggestedFilename(), text: readFileSync(await download.path(), "utf8") };
}

// Printed on A4, a page has some sheets, and something on them.
async function printed(page) {
  const pdf = (await page.pdf({ format: "A4" })).toString("latin1");
  const sheets = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  return holds(sheets >= 2 && pdf.length > 10_000, `${sheets} sheets, ${pdf.length} bytes`);
}

// A handout that was kept, as the program prints it.
function fromFile(text) {
  const [file, page] = ["kept.json", "kept.html"].map((name) => join(folder, name));
  writeFileSync(file, text);
  execFileSync(hobble, ["handout", "--from", file, "--out", page], { env: {} });
  const answers = readFileSync(page, "utf8").match(/<title[^>]*>Answer \d/g)?.length ?? 0;
  return equal(answers, 3);
}

const equal = (found, wanted) => (found === wanted ? [] : [`${found}, not ${wanted}`]);
const holds = (condition, problem) => (condition ? [] : [problem]);

// A coach: adds games, watches them being read, asks a question, builds a claim, fills a handout, makes a lesson.
async function coach(page, address) {
  await page.goto(address);
  await lookAt(page, "an empty folder");
  await page.getByLabel("Files of games").setInputFiles([season, ...odd]);
  await page.getByRole("button", { name: "Copy into the folder" }).click();
  await page.getByRole("heading", { name: "Files in the folder" }).waitFor();
  const listed = await page.getByRole("checkbox").count();
  check("desk", "added files are listed and ticked", equal(listed, 1 + odd.length));
  await lookAt(page, "files to read");
  await page.getByRole("button", { name: "Read the ticked files" }).click();
  await page.getByRole("heading", { name: /^The games were read/ }).waitFor({ timeout: 60_000 });
  const account = await page.locator("table.account").innerText();
  const number = (name) => Number(account.match(new RegExp(`^${name}\\s+([\\d,]+)`, "m"))?.[1].replaceAll(",", ""));
  const sum = number("kept") + number("left out, as they repeat another") + number("skipped");
  check("desk", `the account adds up: ${number("read")} read, ${number("kept")} kept`, [
    ...equal(sum, number("read")),
    ...holds(number("kept") > 400 && number("skipped") > 0, account),
  ]);
  await lookAt(page, "the account");

  await page.goto(`${address}questions`);
  await lookAt(page, "questions");
  check("desk", "a question is opened by the keyboard", await press(page, "Is a knight restrained by a pawn"));
  await page.getByRole("link", { name: "The desk" }).waitFor();
  const title = await page.locator("h1").innerText();
  check("desk", "the page of a claim comes", equal(title, "Is a knight restrained by a pawn lost more often?"));
  check("desk", "its boards play", holds((await page.locator(".stretch:not([hidden])").count()) > 0, "no board plays"));

  await page.goto(`${address}claim`);
  const counted = () => page.locator("[data-number]").innerText();
  const before = await counted();
  const again = () => page.waitForResponse((response) => response.url().includes("claim.json"));
  await Promise.all([again(), page.getByRole("checkbox", { name: "bishop" }).check()]);
  await page.waitForFunction((old) => document.querySelector("[data-number]").textContent !== old, before);
  const more = await counted();
  check("desk", `the number beside the menus follows: ${before} ${more}`, holds(parseInt(more, 10) > parseInt(before, 10), more));
  await lookAt(page, "a claim being built");
  await page.getByLabel("Safe squares, at most").fill("9");
  await page.locator("[data-wrong]:not([hidden])").waitFor();
  check("desk", "what cannot be asked is said", holds((await page.locator("[data-wrong]").innerText()).startsWith("k: 9"), "no reason"));
  await page.getByLabel("Safe squares, at most").fill("1");
  await page.getByLabel("Title, as a question").fill("Minor <b>pieces</b> & \"squares\"?");
  await page.getByRole("button", { name: "Save and show its page" }).click();
  await page.getByRole("link", { name: "The desk" }).waitFor();
  check("desk", "a saved claim has its page", equal(await page.locator("h1").innerText(), 'Minor <b>pieces</b> & "squares"?'));
  const saved = join(folder, "questions", "minor-b-pieces-b-squares.toml");
  check("desk", "and its file", holds(existsSync(saved), "no file"));
  await page.getByRole("link", { name: "Handout to print" }).click();
  await page.getByRole("link", { name: "Its page" }).waitFor();
  check("desk", "the handout of a saved claim is printed", await printed(page));
  await page.goto(`${address}questions`);
  await page.getByText("Remove minor-b-pieces-b-squares").click();
  await lookAt(page, "questions of one's own");
  await page.getByRole("button", { name: "Remove “minor-b-pieces-b-squares” for good" }).click();
  await page.getByRole("link", { name: "Build a claim of your own" }).waitFor();
  check("desk", "a saved claim is removed", holds(!existsSync(saved), "its file is there"));

  await page.goto(`${address}positions`);
  await page.getByRole("button", { name: "Find positions" }).click();
  await page.getByRole("heading", { name: /positions? found/ }).waitFor();
  await lookAt(page, "positions");
  const boxes = page.getByRole("checkbox", { name: "For the handout" });
  for (const nth of [0, 1, 2]) await boxes.nth(nth).check();
  await page.getByRole("button", { name: "Put the ticked ones" }).click();
  const pieces = () => page.locator("article h2").allInnerTexts();
  const order = (await pieces()).map((text) => text.replace(/^\d+\. /, ""));
  check("desk", "three positions are on the handout", equal(order.length, 3));
  await lookAt(page, "the handout");
  await page.getByRole("button", { name: "Later: number 1" }).click();
  const swapped = (await pieces()).map((text) => text.replace(/^\d+\. /, ""));
  check("desk", "their order can be changed", equal(swapped.join(), [order[1], order[0], order[2]].join()));
  const positions = await keep(page, () => page.getByRole("link", { name: "Keep as PGN" }).click());
  check("desk", "the handout is kept as PGN", equal(positions.text.match(/^\[FEN /gm)?.length, 3));
  const kept = await keep(page, () => page.getByRole("link", { name: "Keep for another time" }).click());
  const file = { name: "handout.json", mimeType: "application/json", buffer: Buffer.from(kept.text) };
  check("desk", "a kept handout is read by the program", fromFile(kept.text));
  await page.getByRole("link", { name: "The sheet to print" }).click();
  await lookAt(page, "the sheet");
  check("desk", "the sheet has tasks and answers", equal(await page.locator("figure svg").count(), 6));
  check("desk", "the sheet is printed", await printed(page));
  await page.getByRole("link", { name: "Back to the handout" }).click();
  await page.getByRole("button", { name: "Empty the handout" }).click();
  await page.getByLabel("A file of positions").setInputFiles(file);
  await page.getByRole("button", { name: "Add them" }).click();
  await page.locator("article").first().waitFor();
  check("desk", "a kept handout is opened again", equal((await pieces()).join(), swapped.map((text, nth) => `${nth + 1}. ${text}`).join()));
  const wrong = new FormData();
  wrong.append("saved", new Blob(['{"about": "claim"}']), "handout.json");
  const { origin } = new URL(address);
  const refused = await fetch(`${address}handout/saved`, { method: "POST", body: wrong, headers: { origin } });
  const line = await refused.text();
  check("desk", "what is no handout is refused", [...equal(refused.status, 400), ...holds(line.includes("not a selection of positions"), line)]);

  await page.goto(`${address}quiz`);
  await lookAt(page, "a quiz to set");
  await page.getByRole("checkbox", { name: "knight" }).check();
  await page.getByLabel("Positions, at most").fill("4");
  await page.getByRole("button", { name: "A sheet to print" }).click();
  check("desk", "a quiz is printed", [...equal(await page.locator("figure svg").count(), 8), ...(await printed(page))]);
  await page.getByRole("link", { name: "Back to the quiz" }).click();
  check("desk", "what was asked is still there", equal(await page.getByLabel("Positions, at most").inputValue(), "4"));
  await page.getByRole("button", { name: "Show the quiz" }).click();
  await page.getByRole("link", { name: "Back to the quiz" }).waitFor();
  check("desk", "a quiz is shown", holds((await page.locator("svg").count()) > 0, "no board"));

  await page.goto(`${address}games?player=windlass`);
  await page.getByRole("link", { name: "Make a lesson of these" }).click();
  await lookAt(page, "lessons");
  await page.getByLabel("Name of the lesson").first().fill("Orla's evening");
  await page.getByRole("button", { name: "Make the lesson" }).first().click();
  await page.locator(".games li").first().waitFor();
  check("desk", "a lesson has a page a game", equal(await page.locator(".games li").count(), 32));
  await page.locator(".games a").first().click();
  await page.getByRole("link", { name: "Its games" }).waitFor();
  check("desk", "and the board of a game is there", holds(await page.locator("#board .stepper:not([hidden])").count(), "no board"));
  await page.goto(`${address}lessons`);
  await page.getByText("Remove orla-s-evening").click();
  await page.getByRole("button", { name: "Remove “orla-s-evening” for good" }).click();
  await page.getByRole("heading", { name: "From a file" }).waitFor();
  check("desk", "a lesson is removed", holds(!existsSync(join(folder, "lessons", "orla-s-evening")), "its folder is there"));

  await page.goto(`${address}keep`);
  await lookAt(page, "files to keep");
  const link = page.locator("a[href*='table=games']").first();
  const table = await keep(page, () => link.click());
  check("desk", "a table is kept as Parquet", [...equal(table.text.slice(0, 4), "PAR1"), ...holds(table.name.endsWith(".parquet"), table.name)]);
}

// A player: finds the own name by some letters, with the keyboard, and opens habits and a game.
async function player(page, address) {
  await page.goto(`${address}players`);
  await page.getByLabel("Some letters of the name").focus();
  await page.keyboard.type("windl or");
  await page.waitForFunction(() => document.querySelector("[data-said]").textContent.startsWith("1 player"));
  await lookAt(page, "players");
  check("desk", "a player is found and opened by the keyboard", await press(page, "Windlass, Orla"));
  await page.getByRole("button", { name: "Show the habits" }).waitFor();
  await lookAt(page, "a player");
  await page.getByRole("checkbox", { name: "Windlass, O." }).check();
  await page.getByRole("button", { name: "Show the habits" }).click();
  await page.getByRole("link", { name: "Figures as CSV" }).waitFor();
  const text = await page.locator("main").innerText();
  check("desk", "the habits of a player come", holds(text.includes("Windlass"), text.slice(0, 200)));
  const figures = await keep(page, () => page.getByRole("link", { name: "Figures as CSV" }).click());
  check("desk", "the figures are kept as CSV", holds(figures.text.split("\n").length > 10, figures.name));
  await page.getByRole("link", { name: "This player’s games" }).click();
  await lookAt(page, "games");
  await page.locator(".rows a").first().click();
  await page.locator("#board .stepper:not([hidden])").waitFor();
  const start = await page.locator("#board").innerText();
  await page.getByRole("button", { name: "On", exact: true }).click();
  const next = await page.locator("#board").innerText();
  check("desk", "a game is told, and its board steps", holds(next !== start && next.includes("After 1. "), next.slice(0, 200)));
}

// Names from archives stay text on every screen, and without script the forms work.
async function hostile(browser, address) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${address}games`);
  await page.getByLabel("Player").fill("<");
  await page.getByRole("button", { name: "Find games" }).click();
  check("desk", "without script games are found", holds((await page.locator(".rows a").count()) > 0, "no game"));
  check("desk", "names are text", holds((await page.locator("main script, main img, main b").count()) === 0, "a name is markup"));
  await page.goto(`${address}claim`);
  await page.getByRole("checkbox", { name: "rook" }).check();
  await page.getByRole("button", { name: "Count again" }).click();
  const sentence = await page.locator("[data-sentence]").innerText();
  check("desk", "without script a claim is counted", holds(sentence.startsWith("Knights and rooks"), sentence));
  await context.close();
}

await inBrowser(async (browser) => {
  const { desk, address } = await open();
  try {
    for (const [who, does, options] of [
      ["coach", coach, { viewport: { width: 1280, height: 900 }, colorScheme: "light" }],
      ["player", player, { viewport: { width: 360, height: 800 }, colorScheme: "dark", reducedMotion: "reduce" }],
    ]) {
      const context = await browser.newContext(options);
      const page = await context.newPage();
      const [said, asked] = [[], []];
      page.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) said.push(message.text());
      });
      page.on("pageerror", (error) => said.push(String(error)));
      page.on("request", (request) => {
        if (!request.url().startsWith(address) && !request.url().startsWith("data:")) asked.push(request.url());
      });
      page.setDefaultTimeout(20_000);
      try {
        await does(page, address);
      } catch (error) {
        check("desk", `as the ${who}`, [`${basename(page.url())}: ${error.message}`]);
      }
      check("desk", `as the ${who}: nothing on the console`, said);
      check("desk", `as the ${who}: nothing asked of anybody else`, asked);
      await context.close();
    }
    await hostile(browser, address);
    const foreign = await fetch(new URL("/", address));
    check("desk", "without the secret there is nothing", equal(foreign.status, 404));
  } finally {
    desk.removeAllListeners("exit");
    desk.kill("SIGTERM");
    const code = await new Promise((ended) => desk.on("exit", ended));
    check("desk", "it closes when it is asked to", equal(code, 0));
  }
});
