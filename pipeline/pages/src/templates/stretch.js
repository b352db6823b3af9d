// Boards that play a stretch of a game with one piece followed. What each knows stands as JSON in its
// element; stretch_view.rs writes it.
for (const stepper of document.querySelectorAll(".stretch")) {
  const data = JSON.parse(stepper.querySelector("script").textContent);
  const last = data.positions.length - 1;
  const part = (name) => stepper.querySelector(`[data-part="${name}"]`);
  const squareOf = (name) => "abcdefgh".indexOf(name[0]) + 8 * (Number(name[1]) - 1);
  const KINDS = { p: "pawn", n: "knight", b: "bishop", r: "rook", q: "queen", k: "king" };
  let at = data.shown;

  // The units of a FEN.
  function unitsOf(fen) {
    const units = [];
    fen.split(" ")[0].split("/").forEach((row, nth) => {
      let file = 0;
      for (const letter of row) {
        const kind = KINDS[letter.toLowerCase()];
        if (kind === undefined) {
          file += Number(letter);
          continue;
        }
        const color = letter === letter.toLowerCase() ? "black" : "white";
        units.push({ name: `${color} ${kind}`, square: file + 8 * (7 - nth) });
        file += 1;
      }
    });
    return units;
  }

  // What the move that led to a position changed for the piece, and what it has.
  function sentence(now) {
    const [, kind] = data.piece.split(" ");
    if (now.square === null) return at > data.shown ? `The ${kind} is off the board.` : `The ${kind} is not on the board yet.`;
    const squares = now.safe.length === 0 ? "" : `: ${boards.list(now.safe)}`;
    const has = `The ${data.piece} on ${now.square} has ${boards.counted(now.safe.length)}${squares}.`;
    const taken = now.taken.length > 0 ? ` Just taken: ${boards.list(now.taken)}.` : "";
    const given = now.given.length > 0 ? ` Just given: ${boards.list(now.given)}.` : "";
    return has + taken + given;
  }

  function show() {
    const now = data.positions[at];
    const units = unitsOf(now.fen);
    const scene = {
      units,
      ring: now.square === null ? null : squareOf(now.square),
      safe: now.safe.map(squareOf),
      taken: now.taken.map(squareOf),
      shown: now.played && { from: squareOf(now.played[0]), to: squareOf(now.played[1]) },
    };
    part("body").innerHTML = boards.drawing(scene, data.bottom);
    const when = now.label === "" ? "Start of the game" : `After ${now.label}`;
    part("title").textContent = `${when}: the ${data.piece}`;
    part("words").textContent = boards.unitsInWords(units);
    part("now").textContent = when;
    part("said").textContent = sentence(now);
    part("at").value = at;
    part("at").setAttribute("aria-valuetext", when);
    part("first").setAttribute("aria-disabled", at === 0);
    part("back").setAttribute("aria-disabled", at === 0);
    part("on").setAttribute("aria-disabled", at === last);
    part("last").setAttribute("aria-disabled", at === last);
    stepper.querySelectorAll(".bar").forEach((bar, nth) => bar.classList.toggle("here", nth === at));
  }

  function go(to) {
    at = Math.max(0, Math.min(last, to));
    show();
  }

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
  const line = stepper.querySelector("svg.line");
  line.addEventListener("click", (event) => {
    const box = line.getBoundingClientRect();
    const { width } = line.viewBox.baseVal;
    const x = ((event.clientX - box.left) / box.width) * width;
    go(Math.floor(((x - data.left) / (width - data.left)) * data.positions.length));
  });
  stepper.hidden = false;
  if (stepper.dataset.instead !== undefined) stepper.closest("article").classList.add("played");
  show();
}
