// The board of a whole game. What it knows is packed into the page by game_page/packed.rs, which says
// how.
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
  const { counted, nameOf } = boards;
  const colorOf = (slot) => data.units[slot].split(" ")[0];
  const unitAt = (at, slot) => positions[at].units.find((unit) => unit.slot === slot);
  const capital = (text) => text[0].toUpperCase() + text.slice(1);
  const label = (at, san) => `${data.numbers[at]}${sideOf(at) === "white" ? ". " : "..."}${san}`;
  const squares = (set) => boards.list(set.map(nameOf));
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
    const named = units.map((unit) => ({ name: drawnKind(unit), square: unit.square }));
    const scene = { units: named, shown, ring: null, safe: [], taken: [] };
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
    find("live-body").innerHTML = boards.drawing(now, state.bottom);
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
    find("live-words").textContent = boards.unitsInWords(now.units);
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
    if (event.target.closest("select, input, summary, .scroll")) return;
    const step = boards.stepOfKey(event);
    if (step !== undefined) {
      event.preventDefault();
      go(state.at + step);
    }
  });

  const board = find("live");
  board.addEventListener("click", (event) => {
    const square = boards.squareAt(board, event, state.bottom);
    if (square !== null) choose(square);
  });
  boards.onSwipe(board, (step) => go(state.at + step));

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
