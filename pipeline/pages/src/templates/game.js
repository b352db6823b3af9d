// The board to step through. What it knows is packed into the page by game_page/packed.rs,
// which says how.
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("game-data").textContent);
  const bytes = Uint8Array.from(atob(data.packed), (c) => c.charCodeAt(0));
  const PROMOTED = ["", "pawn", "knight", "bishop", "rook", "queen"];
  const CASTLING = 8;
  const EN_PASSANT = 16;

  // Reads the packed positions.
  let here = 0;
  const one = () => bytes[here++];
  const list = () => Array.from({ length: one() }, one);
  const readMove = (san) => {
    const move = { san, from: one(), to: one() };
    const flags = one();
    move.promoted = PROMOTED[flags & 7];
    move.rook = flags & CASTLING ? one() : null;
    move.passed = flags & EN_PASSANT ? one() : null;
    move.changes = Array.from({ length: one() }, () => [one(), list()]);
    return move;
  };
  const positions = data.moves.map((sans) => {
    const units = Array.from({ length: one() }, () => ({ slot: one(), square: one() }));
    for (const unit of units) unit.safe = list();
    const names = sans === "" ? [] : sans.split(" ");
    const count = one();
    const moves = Array.from({ length: count }, (_, nth) => readMove(names[nth]));
    return { units, moves };
  });

  const last = positions.length - 1;
  const state = { at: 0, piece: null, tried: null, bottom: "white" };
  const find = (id) => document.getElementById(id);
  const sideOf = (at) => ((at % 2 === 0) === (data.first === "white") ? "white" : "black");
  const nameOf = (square) => "abcdefgh"[square % 8] + (1 + Math.floor(square / 8));
  const colorOf = (slot) => data.units[slot].split(" ")[0];
  const unitAt = (at, slot) => positions[at].units.find((unit) => unit.slot === slot);
  const capital = (text) => text[0].toUpperCase() + text.slice(1);
  const label = (at, san) => `${data.numbers[at]}${sideOf(at) === "white" ? ". " : "..."}${san}`;
  const words = (names) =>
    names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
  const squares = (set) => words(set.map(nameOf));
  const counted = (count) => (count === 1 ? "one safe square" : count === 0 ? "no safe square" : `${count} safe squares`);
  const scope = (at, color) =>
    positions[at].units.reduce((sum, unit) => sum + (colorOf(unit.slot) === color ? unit.safe.length : 0), 0);

  // What a move takes from each unit and gives to it, with what it has then.
  function changesOf(at, move) {
    return move.changes.map(([slot, changed]) => {
      const unit = unitAt(at, slot);
      const taken = changed.filter((square) => unit.safe.includes(square));
      const given = changed.filter((square) => !unit.safe.includes(square));
      const safe = unit.safe.filter((square) => !taken.includes(square)).concat(given);
      return { slot, taken, given, safe: safe.sort((a, b) => a - b) };
    });
  }

  // Where each unit stands after a move.
  function unitsAfter(at, move) {
    const castling = move.rook !== null;
    const changes = new Map(changesOf(at, move).map((change) => [change.slot, change.safe]));
    const passed = move.passed ?? move.to;
    return positions[at].units
      .filter((unit) => unit.square === move.from || castling || unit.square !== passed)
      .map((unit) => {
        const after = { ...unit, safe: changes.get(unit.slot) ?? unit.safe };
        if (unit.square === move.from) {
          after.square = move.to;
          // What the new piece could do is not packed.
          if (move.promoted !== "") Object.assign(after, { promoted: move.promoted, safe: [] });
        } else if (castling && unit.square === move.rook) {
          after.square = move.rook > move.from ? move.to - 1 : move.to + 1;
        }
        return after;
      });
  }

  const drawnKind = (unit) =>
    unit.promoted ? `${colorOf(unit.slot)} ${unit.promoted}` : data.units[unit.slot];

  // The board as drawn now: units, marks and the move.
  function scene() {
    const { at, tried, piece } = state;
    const move = tried === null ? null : positions[at].moves[tried];
    const shown = move ?? (at > 0 ? positions[at - 1].moves[data.played[at - 1]] : null);
    const from = move ? at : at - 1;
    const units = move ? unitsAfter(at, move) : positions[at].units;
    const scene = { units, shown, ring: null, safe: [], taken: [] };
    const changes = shown ? changesOf(from, shown) : [];
    if (piece !== null) {
      const unit = units.find((one) => one.slot === piece);
      const change = changes.find((one) => one.slot === piece);
      if (unit) {
        scene.ring = unit.square;
        scene.safe = unit.safe;
        const moved = shown && unitAt(from, piece)?.square !== unit.square;
        if (change && !moved) scene.taken = change.taken;
      }
    } else {
      const mover = sideOf(from);
      for (const change of changes) if (colorOf(change.slot) !== mover) scene.taken.push(...change.taken);
      scene.taken = [...new Set(scene.taken)];
    }
    return scene;
  }

  const CELL = 100;
  const LEFT = 40;
  const TOP = 4;
  function corner(square) {
    const [file, row] = [square % 8, Math.floor(square / 8)];
    const white = state.bottom === "white";
    return [LEFT + CELL * (white ? file : 7 - file), TOP + CELL * (white ? 7 - row : row)];
  }
  const centre = (square) => corner(square).map((edge) => edge + CELL / 2);
  const color = (name) => `var(--${name})`;

  function arrow(from, to) {
    const [[x, y], [u, v]] = [centre(from), centre(to)];
    const length = Math.hypot(u - x, v - y);
    if (length === 0) return "";
    const [along, aside] = [(u - x) / length, (v - y) / length];
    const point = (a, b) => `${(x + along * a - aside * b).toFixed(1)} ${(y + aside * a + along * b).toFixed(1)}`;
    const tip = length - 30;
    const neck = tip - 34;
    const shape = [[0, -7], [neck, -7], [neck, -22], [tip, 0], [neck, 22], [neck, 7], [0, 7]];
    const path = `M${shape.map(([a, b]) => point(a, b)).join("L")}Z`;
    return `<g stroke-linejoin="round" fill="${color("mark-move")}"><path d="${path}" stroke="${color("mark-edge")}" stroke-width="7"/><circle cx="${x}" cy="${y}" r="14" stroke="${color("mark-edge")}" stroke-width="4"/><path d="${path}"/></g>`;
  }

  function cross(square) {
    const [x, y] = corner(square);
    return `M${x + 12} ${y + 12}l76 76M${x + 12} ${y + 88}l76 -76`;
  }

  function dot(square, occupied) {
    const [x, y] = centre(square);
    const places = occupied ? [[-38, -38, 10], [38, -38, 10], [-38, 38, 10], [38, 38, 10]] : [[0, 0, 17]];
    return places.map(([dx, dy, r]) => `<circle cx="${x + dx}" cy="${y + dy}" r="${r}"/>`).join("");
  }

  function draw(scene) {
    const parts = [`<rect x="${LEFT}" y="${TOP}" width="800" height="800" fill="${color("square-light")}"/>`];
    let dark = "";
    let letters = "";
    for (let square = 0; square < 64; square += 1) {
      const [x, y] = corner(square);
      if ((Math.floor(square / 8) + square) % 2 === 0) dark += `M${x} ${y}h100v100h-100Z`;
    }
    for (let nth = 0; nth < 8; nth += 1) {
      letters += `<text x="${centre(nth)[0]}" y="835">${"abcdefgh"[nth]}</text><text x="17" y="${centre(8 * nth)[1] + 10}">${nth + 1}</text>`;
    }
    parts.push(`<path d="${dark}" fill="${color("square-dark")}"/>`);
    parts.push(`<g fill="${color("muted")}" font-size="30" text-anchor="middle">${letters}</g>`);
    if (scene.taken.length > 0) {
      const path = scene.taken.map(cross).join("");
      parts.push(`<g fill="none" stroke-linecap="round"><path d="${path}" stroke="${color("mark-edge")}" stroke-width="15"/><path d="${path}" stroke="${color("mark-held")}" stroke-width="9"/></g>`);
    }
    if (scene.ring !== null) {
      const [x, y] = centre(scene.ring);
      for (const [name, width] of [["mark-edge", 15], ["mark-held", 9]]) {
        parts.push(`<circle cx="${x}" cy="${y}" r="45" fill="none" stroke="${color(name)}" stroke-width="${width}"/>`);
      }
    }
    for (const unit of scene.units) {
      const [x, y] = corner(unit.square);
      parts.push(`<use href="#live-${drawnKind(unit).replace(" ", "-")}" x="${x}" y="${y}"/>`);
    }
    const full = new Set(scene.units.map((unit) => unit.square));
    const dots = scene.safe.map((square) => dot(square, full.has(square))).join("");
    parts.push(`<g fill="${color("mark-safe")}" stroke="${color("mark-edge")}" stroke-width="5">${dots}</g>`);
    if (scene.shown) parts.push(arrow(scene.shown.from, scene.shown.to));
    find("live-body").innerHTML = parts.join("");
  }

  const unitWords = (slot, square) => `the ${data.units[slot]} on ${nameOf(square)}`;

  // Sentences of what a move takes and gives, one an item.
  function changeWords(at, move) {
    const mover = sideOf(at);
    const other = mover === "white" ? "Black" : "White";
    const changes = changesOf(at, move);
    const after = unitsAfter(at, move);
    const place = (slot) => after.find((unit) => unit.slot === slot)?.square ?? unitAt(at, slot).square;
    const sum = (mine, key) =>
      changes.reduce((all, one) => all + ((colorOf(one.slot) === mover) === mine ? one[key].length : 0), 0);
    const count = (number) => (number === 0 ? "no safe square" : `${number} safe square${number === 1 ? "" : "s"}`);
    const rank = (slot) => (/pawn|king/.test(data.units[slot]) ? 1 : 0);
    const each = (key, joiner, left) =>
      changes
        .filter((one) => colorOf(one.slot) !== mover && one[key].length > 0)
        .sort((a, b) => rank(a.slot) - rank(b.slot) || b[key].length - a[key].length)
        .map((one) => `${squares(one[key])} ${joiner} ${unitWords(one.slot, place(one.slot))} (${one.safe.length} ${left})`);
    const item = (verb, key, joiner, left) => {
      const detail = each(key, joiner, left);
      return `${verb} ${count(sum(false, key))}${detail.length > 0 ? `: ${detail.join("; ")}` : ""}.`;
    };
    return [
      item(`Takes from ${other}`, "taken", "from", "left"),
      item(`Gives ${other}`, "given", "to", "now"),
      `Its own side loses ${count(sum(true, "taken"))} and gets ${count(sum(true, "given"))}.`,
    ];
  }

  function fill(node, items) {
    node.replaceChildren(
      ...items.map((text) => {
        const item = document.createElement("li");
        item.textContent = text;
        return item;
      }),
    );
  }

  function option(value, text) {
    const node = document.createElement("option");
    node.value = value;
    node.textContent = text;
    return node;
  }

  function pieceSaid() {
    const { at, piece, tried } = state;
    if (piece === null) return "";
    const move = tried === null ? null : positions[at].moves[tried];
    const unit = (move ? unitsAfter(at, move) : positions[at].units).find((one) => one.slot === piece);
    if (!unit || unit.promoted) return "";
    const name = capital(unitWords(piece, unit.square));
    const has = unit.safe.length === 0 ? "has no safe square" : `has ${counted(unit.safe.length)}: ${squares(unit.safe)}`;
    const shown = scene();
    const lost = shown.taken.length > 0 ? ` Just taken from it: ${squares(shown.taken)}.` : "";
    return `${name} ${has}.${lost}`;
  }

  // Writes everything anew for the present state.
  function show() {
    const { at, tried } = state;
    const now = scene();
    draw(now);
    find("now").textContent = at === 0 ? "Start" : `After ${label(at - 1, positions[at - 1].moves[data.played[at - 1]].san)}`;
    find("scope-now").textContent = `Safe squares in all: White ${scope(at, "white")}, Black ${scope(at, "black")}.`;
    fill(find("changes"), at === 0 ? [] : changeWords(at - 1, positions[at - 1].moves[data.played[at - 1]]));
    find("at").value = at;
    find("at").setAttribute("aria-valuetext", find("now").textContent);
    for (const id of ["to-start", "back"]) find(id).setAttribute("aria-disabled", at === 0);
    for (const id of ["on", "to-end"]) find(id).setAttribute("aria-disabled", at === last);
    find("piece-said").textContent = pieceSaid();
    const pieces = [...positions[at].units].sort(
      (a, b) => data.units[b.slot].localeCompare(data.units[a.slot]) || a.square - b.square,
    );
    find("piece").replaceChildren(
      option("", "none chosen"),
      ...pieces.map((unit) => option(unit.slot, `${data.units[unit.slot]} ${nameOf(unit.square)}: ${counted(unit.safe.length)}`)),
    );
    find("piece").value = state.piece ?? "";
    find("try").replaceChildren(
      option("", positions[at].moves.length === 0 ? "no legal move" : "none chosen"),
      ...positions[at].moves.map((move, nth) => option(nth, label(at, move.san))),
    );
    find("try").value = tried ?? "";
    const items = document.createElement("ul");
    if (tried !== null) fill(items, changeWords(at, positions[at].moves[tried]));
    find("tried").replaceChildren(...(tried === null ? [] : [items]));
    find("live-title").textContent = tried === null ? find("now").textContent : `If ${label(at, positions[at].moves[tried].san)} were played`;
    find("live-words").textContent = now.units
      .map((unit) => `${drawnKind(unit)} ${nameOf(unit.square)}`)
      .sort()
      .reverse()
      .join(", ");
  }

  function go(at) {
    state.at = Math.max(0, Math.min(last, at));
    state.tried = null;
    if (state.piece !== null && !unitAt(state.at, state.piece)) state.piece = null;
    show();
  }

  function choose(square) {
    const { at } = state;
    const chosen = state.piece === null ? null : unitAt(at, state.piece);
    const nth = chosen ? positions[at].moves.findIndex((move) => move.from === chosen.square && move.to === square) : -1;
    if (nth >= 0) {
      state.tried = nth;
    } else {
      state.tried = null;
      const unit = positions[at].units.find((one) => one.square === square);
      state.piece = unit && unit.slot !== state.piece ? unit.slot : null;
    }
    show();
  }

  find("to-start").addEventListener("click", () => go(0));
  find("back").addEventListener("click", () => go(state.at - 1));
  find("on").addEventListener("click", () => go(state.at + 1));
  find("to-end").addEventListener("click", () => go(last));
  find("turn").addEventListener("click", () => {
    state.bottom = state.bottom === "white" ? "black" : "white";
    show();
  });
  find("at").addEventListener("input", (event) => go(Number(event.target.value)));
  find("piece").addEventListener("change", (event) => {
    state.piece = event.target.value === "" ? null : Number(event.target.value);
    show();
  });
  find("try").addEventListener("change", (event) => {
    state.tried = event.target.value === "" ? null : Number(event.target.value);
    show();
  });
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (event.target.closest("select, input, summary, .scroll")) return;
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step !== undefined) {
      event.preventDefault();
      go(state.at + step);
    }
  });

  const board = find("live");
  board.addEventListener("click", (event) => {
    const box = board.getBoundingClientRect();
    const x = Math.floor((((event.clientX - box.left) / box.width) * 844 - LEFT) / CELL);
    const y = Math.floor((((event.clientY - box.top) / box.height) * 844 - TOP) / CELL);
    if (x < 0 || x > 7 || y < 0 || y > 7) return;
    choose(state.bottom === "white" ? x + 8 * (7 - y) : 7 - x + 8 * y);
  });
  let touch = null;
  board.addEventListener("touchstart", (event) => {
    touch = event.touches.length === 1 ? event.touches[0] : null;
  }, { passive: true });
  board.addEventListener("touchend", (event) => {
    if (touch === null) return;
    const end = event.changedTouches[0];
    const [dx, dy] = [end.clientX - touch.clientX, end.clientY - touch.clientY];
    touch = null;
    if (Math.abs(dx) > 40 && Math.abs(dx) > 2 * Math.abs(dy)) {
      event.preventDefault();
      go(state.at + (dx < 0 ? 1 : -1));
    }
  });

  const toBoard = (at) => {
    go(at);
    find("step").scrollIntoView();
  };
  for (const button of document.querySelectorAll(".go")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      toBoard(Number(button.dataset.position));
      if (button.dataset.try !== undefined) {
        state.tried = Number(button.dataset.try);
        show();
      }
      find("on").focus({ preventScroll: true });
    });
  }
  // A click into a plot leads to the position there.
  for (const plot of document.querySelectorAll("[data-plot] svg")) {
    const [left, right] = plot.closest("figure").dataset.plot.split(" ").map(Number);
    plot.style.cursor = "pointer";
    plot.addEventListener("click", (event) => {
      const box = plot.getBoundingClientRect();
      const width = plot.viewBox.baseVal.width;
      const x = ((event.clientX - box.left) / box.width) * width;
      toBoard(Math.round((last * (x - left)) / (width - left - right)));
    });
  }
  find("stepper").hidden = false;
  show();
})();
