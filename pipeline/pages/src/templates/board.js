// A board drawn by script: one for every page that has one to step through. The pieces are symbols of
// the page, `unit-white-knight` and so on.
"use strict";
const boards = (() => {
  const CELL = 100;
  const LEFT = 40;
  const TOP = 4;
  const SIZE = 844;
  const nameOf = (square) => "abcdefgh"[square % 8] + (1 + Math.floor(square / 8));

  function corner(square, bottom) {
    const [file, row] = [square % 8, Math.floor(square / 8)];
    const white = bottom === "white";
    return [LEFT + CELL * (white ? file : 7 - file), TOP + CELL * (white ? 7 - row : row)];
  }
  const color = (name) => `var(--${name})`;

  function arrow([x, y], [u, v]) {
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

  const cross = ([x, y]) => `M${x + 12} ${y + 12}l76 76M${x + 12} ${y + 88}l76 -76`;

  function dot([x, y], occupied) {
    const places = occupied ? [[-38, -38, 10], [38, -38, 10], [-38, 38, 10], [38, 38, 10]] : [[0, 0, 17]];
    return places.map(([dx, dy, r]) => `<circle cx="${x + dx}" cy="${y + dy}" r="${r}"/>`).join("");
  }

  // A position with its marks, as the inside of an SVG. `units` are names and squares, `ring` the
  // square of the piece in question, `safe` its safe squares, `taken` squares just taken, `shown` the
  // move that led here.
  function drawing({ units, ring, safe, taken, shown }, bottom) {
    const at = (square) => corner(square, bottom);
    const centre = (square) => at(square).map((edge) => edge + CELL / 2);
    const parts = [`<rect x="${LEFT}" y="${TOP}" width="800" height="800" fill="${color("square-light")}"/>`];
    let dark = "";
    let letters = "";
    for (let square = 0; square < 64; square += 1) {
      const [x, y] = at(square);
      if ((Math.floor(square / 8) + square) % 2 === 0) dark += `M${x} ${y}h100v100h-100Z`;
    }
    for (let nth = 0; nth < 8; nth += 1) {
      letters += `<text x="${centre(nth)[0]}" y="835">${"abcdefgh"[nth]}</text><text x="17" y="${centre(8 * nth)[1] + 10}">${nth + 1}</text>`;
    }
    parts.push(`<path d="${dark}" fill="${color("square-dark")}"/>`);
    parts.push(`<g fill="${color("muted")}" font-size="30" text-anchor="middle">${letters}</g>`);
    if (taken.length > 0) {
      const path = taken.map((square) => cross(at(square))).join("");
      parts.push(`<g fill="none" stroke-linecap="round"><path d="${path}" stroke="${color("mark-edge")}" stroke-width="15"/><path d="${path}" stroke="${color("mark-held")}" stroke-width="9"/></g>`);
    }
    if (ring !== null) {
      const [x, y] = centre(ring);
      for (const [name, width] of [["mark-edge", 15], ["mark-held", 9]]) {
        parts.push(`<circle cx="${x}" cy="${y}" r="45" fill="none" stroke="${color(name)}" stroke-width="${width}"/>`);
      }
    }
    for (const unit of units) {
      const [x, y] = at(unit.square);
      parts.push(`<use href="#unit-${unit.name.replace(" ", "-")}" x="${x}" y="${y}"/>`);
    }
    const full = new Set(units.map((unit) => unit.square));
    const dots = safe.map((square) => dot(centre(square), full.has(square))).join("");
    parts.push(`<g fill="${color("mark-safe")}" stroke="${color("mark-edge")}" stroke-width="5">${dots}</g>`);
    if (shown) parts.push(arrow(centre(shown.from), centre(shown.to)));
    return parts.join("");
  }

  // The units of a drawing in words.
  const unitsInWords = (units) =>
    units
      .map((unit) => `${unit.name} ${nameOf(unit.square)}`)
      .sort()
      .reverse()
      .join(", ");

  // The square under a click; null beside the board.
  function squareAt(svg, event, bottom) {
    const box = svg.getBoundingClientRect();
    const x = Math.floor((((event.clientX - box.left) / box.width) * SIZE - LEFT) / CELL);
    const y = Math.floor((((event.clientY - box.top) / box.height) * SIZE - TOP) / CELL);
    if (x < 0 || x > 7 || y < 0 || y > 7) return null;
    return bottom === "white" ? x + 8 * (7 - y) : 7 - x + 8 * y;
  }

  // Calls `step` with 1 for a swipe to the left and with -1 for one to the right.
  function onSwipe(node, step) {
    let touch = null;
    node.addEventListener("touchstart", (event) => {
      touch = event.touches.length === 1 ? event.touches[0] : null;
    }, { passive: true });
    node.addEventListener("touchend", (event) => {
      if (touch === null) return;
      const end = event.changedTouches[0];
      const [dx, dy] = [end.clientX - touch.clientX, end.clientY - touch.clientY];
      touch = null;
      if (Math.abs(dx) > 40 && Math.abs(dx) > 2 * Math.abs(dy)) {
        event.preventDefault();
        step(dx < 0 ? 1 : -1);
      }
    });
  }

  // -1 and 1 for the arrow keys by themselves; undefined for all others.
  function stepOfKey(event) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return undefined;
    return { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  }

  // `a, b and c`.
  const list = (names) =>
    names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
  const counted = (count) => (count === 1 ? "one safe square" : count === 0 ? "no safe square" : `${count} safe squares`);

  return { counted, drawing, list, nameOf, onSwipe, squareAt, stepOfKey, unitsInWords };
})();
