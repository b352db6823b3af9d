// Boards that play a stretch of a game with one piece followed. What each knows stands as JSON in its
// element; stretch_view.rs packs it. A page may have hundreds of them, so that a board is drawn when it
// comes near the screen.
const stretches = (() => {
  const KINDS = { p: "pawn", n: "knight", b: "bishop", r: "rook", q: "queen", k: "king" };
  // The line beneath a board: its width, the height of its bars, the room left of them.
  const LINE = { width: 480, base: 90, bars: 84, left: 30 };
  const squareOf = (name) => "abcdefgh".indexOf(name[0]) + 8 * (Number(name[1]) - 1);
  const cut = (text, length) => text.match(new RegExp(`.{${length}}`, "g")) ?? [];

  function nameOf(letter) {
    const color = letter === letter.toLowerCase() ? "black" : "white";
    return `${color} ${KINDS[letter.toLowerCase()]}`;
  }

  // The letter on each square of a FEN's first field.
  function lettersOf(board) {
    const letters = new Map();
    board.split("/").forEach((row, nth) => {
      let file = 0;
      for (const letter of row) {
        if (KINDS[letter.toLowerCase()] === undefined) {
          file += Number(letter);
        } else {
          letters.set(file + 8 * (7 - nth), letter);
          file += 1;
        }
      }
    });
    return letters;
  }

  // The squares a move left and reached, by what changed: one left empty, one filled.
  function playedBy(changes) {
    const left = changes.filter((change) => change[2] === "-");
    const filled = changes.filter((change) => change[2] !== "-");
    return left.length === 1 && filled.length === 1 ? [left[0].slice(0, 2), filled[0].slice(0, 2)] : [];
  }

  // What is packed, position by position: units, and what the move that led there changed for the piece.
  function unpack({ board, positions }) {
    let letters = lettersOf(board);
    let before = null;
    return positions.map(([label, changed, square, packedSafe, packedPlayed]) => {
      letters = new Map(letters);
      const changes = cut(changed, 3);
      for (const change of changes) {
        if (change[2] === "-") letters.delete(squareOf(change));
        else letters.set(squareOf(change), change[2]);
      }
      const safe = packedSafe === "=" ? before.safe : cut(packedSafe, 2);
      const played = packedPlayed === undefined ? playedBy(changes) : cut(packedPlayed, 2);
      const stood = before !== null && square !== "" && before.square === square;
      before = {
        label,
        when: label === "" ? "Start of the game" : `After ${label}`,
        played,
        square,
        safe,
        taken: stood ? before.safe.filter((one) => !safe.includes(one)) : [],
        given: stood ? safe.filter((one) => !before.safe.includes(one)) : [],
        units: [...letters].map(([at, letter]) => ({ name: nameOf(letter), square: at })),
      };
      return before;
    });
  }

  // What a move changed for the piece, and what it has.
  function sentence(piece, now, isLater) {
    const [, kind] = piece.split(" ");
    if (now.square === "") return isLater ? `The ${kind} is off the board.` : `The ${kind} is not on the board yet.`;
    const squares = now.safe.length === 0 ? "" : `: ${boards.list(now.safe)}`;
    const has = `The ${piece} on ${now.square} has ${boards.counted(now.safe.length)}${squares}.`;
    const taken = now.taken.length > 0 ? ` Just taken: ${boards.list(now.taken)}.` : "";
    const given = now.given.length > 0 ? ` Just given: ${boards.list(now.given)}.` : "";
    return has + taken + given;
  }

  // A bar a position, in another colour from where the restraint begins.
  function bars(positions, began) {
    const most = Math.max(1, ...positions.map(({ safe }) => safe.length));
    const step = (LINE.width - LINE.left) / positions.length;
    const drawn = positions.map(({ safe, square }, nth) => {
      // A piece without a safe square keeps a line to see; one off the board has no bar.
      const height = square === "" ? 0 : Math.max(3, (LINE.bars * safe.length) / most);
      const x = LINE.left + step * (nth + 0.1);
      const color = nth < began ? "free" : "held";
      return `<rect class="bar" x="${x.toFixed(1)}" y="${(LINE.base - height).toFixed(1)}" width="${(step * 0.8).toFixed(1)}" height="${height.toFixed(1)}" fill="var(--${color})"/>`;
    });
    return `${drawn.join("")}<path d="M${LINE.left} ${LINE.base}H${LINE.width}" stroke="var(--axis)" stroke-width="1.5"/><g fill="var(--muted)" font-size="17" text-anchor="end"><text x="22" y="18">${most}</text><text x="22" y="${LINE.base + 5}">0</text></g>`;
  }

  const barsInWords = (positions) =>
    positions
      .map(({ label, square, safe }) => {
        const when = label === "" ? "start of the game" : `after ${label}`;
        return `${when} ${square === "" ? "off the board" : boards.counted(safe.length)}`;
      })
      .join("; ");

  function build(stepper) {
    const data = JSON.parse(stepper.querySelector("script").textContent);
    const last = data.positions.length - 1;
    stepper.append(document.getElementById("stepper").content.cloneNode(true));
    const part = (name) => stepper.querySelector(`[data-part="${name}"]`);
    const caption = `Safe squares of the ${data.piece}, position by position`;
    let positions = null;
    let at = data.shown;

    function draw() {
      positions = unpack(data);
      part("line").innerHTML = bars(positions, data.began);
      part("line").setAttribute("aria-label", `${caption}: ${barsInWords(positions)}.`);
      show();
    }

    function show() {
      const now = positions[at];
      const scene = {
        units: now.units,
        ring: now.square === "" ? null : squareOf(now.square),
        safe: now.safe.map(squareOf),
        taken: now.taken.map(squareOf),
        shown: now.played.length === 2 ? { from: squareOf(now.played[0]), to: squareOf(now.played[1]) } : null,
      };
      part("board").innerHTML = boards.drawing(scene, data.bottom);
      part("board").setAttribute("aria-label", `${now.when}: the ${data.piece}. ${boards.unitsInWords(now.units)}`);
      part("now").textContent = now.when;
      part("said").textContent = sentence(data.piece, now, at > data.shown);
      part("at").value = at;
      part("at").setAttribute("aria-valuetext", now.when);
      part("first").setAttribute("aria-disabled", at === 0);
      part("back").setAttribute("aria-disabled", at === 0);
      part("on").setAttribute("aria-disabled", at === last);
      part("last").setAttribute("aria-disabled", at === last);
      stepper.querySelectorAll(".bar").forEach((bar, nth) => bar.classList.toggle("here", nth === at));
    }

    function go(to) {
      at = Math.max(0, Math.min(last, to));
      if (positions === null) draw();
      else show();
    }

    part("at").max = last;
    part("at").setAttribute("aria-label", `Position, with the ${data.piece} followed`);
    part("board").setAttribute("aria-label", `A board with the ${data.piece}`);
    part("line").setAttribute("aria-label", caption);
    part("caption").textContent = `${caption}; a click leads there.`;
    part("first").addEventListener("click", () => go(0));
    part("back").addEventListener("click", () => go(at - 1));
    part("on").addEventListener("click", () => go(at + 1));
    part("last").addEventListener("click", () => go(last));
    part("at").addEventListener("input", (event) => go(Number(event.target.value)));
    boards.onSwipe(part("board"), (step) => go(at + step));
    stepper.addEventListener("keydown", (event) => {
      if (event.target === part("at")) return;
      const step = boards.stepOfKey(event);
      if (step === undefined) return;
      event.preventDefault();
      go(at + step);
    });
    const line = part("line");
    line.addEventListener("click", (event) => {
      const box = line.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * LINE.width;
      go(Math.floor(((x - LINE.left) / (LINE.width - LINE.left)) * data.positions.length));
    });
    stepper.hidden = false;
    if (stepper.dataset.instead !== undefined) stepper.closest("article").classList.add("played");
    return () => {
      if (positions === null) draw();
    };
  }

  const drawers = new Map();
  const near = new IntersectionObserver((seen) => {
    for (const { isIntersecting, target } of seen) {
      if (!isIntersecting) continue;
      near.unobserve(target);
      drawers.get(target)();
    }
  }, { rootMargin: "100% 0px" });
  for (const stepper of document.querySelectorAll(".stretch")) {
    drawers.set(stepper, build(stepper));
    near.observe(stepper);
  }

  return { unpack };
})();
