// A claim answered for other terms from the counts its page carries: the menus, the verdict in the program's
// words (verdict.rs), the figures and the rungs (ladder.js). terms.rs packs the counts and says in which
// words and numbers they are put.
(() => {
  const section = document.querySelector("section.other-terms");
  if (section === null || typeof DecompressionStream === "undefined") return;
  const part = (name) => section.querySelector(`[data-part="${name}"]`);
  const terms = JSON.parse(part("terms").textContent);
  const { rungs } = terms;
  const { grouped } = ladders;
  const answer = ladders.of(terms);

  async function inflated(text) {
    const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  }

  // The strata at each k, sets of twins and chances, as terms.rs packs them.
  function unpacked(bytes) {
    let at = 0;
    const number = () => {
      let [sum, scale] = [0, 1];
      for (;;) {
        const byte = bytes[at];
        at += 1;
        sum += (byte & 127) * scale;
        if (byte < 128) return sum;
        scale *= 128;
      }
    };
    const byte = () => bytes[at++];
    const many = (length, of) => Array.from({ length }, of);
    const horizons = terms.within.length;
    const folds = (counts) => {
      let next = 0;
      return many(number(), () => {
        const fold = next + number();
        next = fold + 1;
        return { fold, counts: counts() };
      });
    };
    const side = (events) =>
      folds(() => {
        let before = [0, 0];
        return many(1 + events * horizons, (_, column) => {
          if (column % horizons === 1) before = [0, 0];
          const less = column === 0 ? [0, 0] : before;
          before = [number() + less[0], number() + less[1]];
          return before;
        });
      });
    const plain = () =>
      folds(() => {
        let before = 0;
        return many(1 + horizons, (_, column) => {
          before = number() + (column > 1 ? before : 0);
          return before;
        });
      });
    const strata = terms.pieces.map(() =>
      many(number(), () => {
        const circumstances = number();
        return {
          phase: circumstances % 4,
          defended: Math.floor(circumstances / 4) % 2 === 1,
          attacked: circumstances >= 8,
          band: number(),
          own: side(2),
          free: side(2),
          placebo: side(1),
        };
      }),
    );
    const twins = many(number(), () => {
      const [game, owner] = [number(), number()];
      const set = { game, owner: Math.floor(owner / 2), isKnown: owner % 2 === 1, phase: number(), band: number() };
      const pieces = many(number(), () => {
        const [own, free, came, before, forward, flags] = many(6, byte);
        const [landmark, sampled, defended, attacked, edge] = many(5, (_, bit) => ((flags >> bit) & 1) === 1);
        return { own, free, came, before, forward, landmark, sampled, defended, attacked, edge };
      });
      return { ...set, pieces };
    });
    const stratum = () => ({ phase: number(), bands: many(number(), () => ({ band: number(), own: plain(), free: plain() })) });
    const chances = rungs.decided.map((is) => (is ? many(2, () => many(number(), stratum)) : null));
    return { strata, twins, chances };
  }

  // A number with so many digits after the point; one in the middle goes to the even digit, as in the
  // program's words.
  function fixed(number, digits) {
    const scaled = Math.abs(number) * 10 ** digits;
    const below = Math.floor(scaled);
    const isMiddle = scaled - below === 0.5 && scaled / 10 ** digits === Math.abs(number);
    if (!isMiddle) return number.toFixed(digits);
    return ((Math.sign(number) * (below % 2 === 0 ? below : below + 1)) / 10 ** digits).toFixed(digits);
  }
  function percent(share) {
    const number = share * 100;
    if (number > 0 && number < 0.005) return "under 0.01%";
    return `${fixed(number, number !== 0 && number < 0.995 ? 2 : 1)}%`;
  }
  const width = ({ interval }) => (interval === null ? null : interval.high - interval.low);
  function percentDigits(found) {
    const points = width(found) === null ? 1 : width(found) * 100;
    return points < 0.1 ? 3 : points < 1 ? 2 : 1;
  }
  const ratioDigits = (found) => (width(found) !== null && width(found) < 0.1 ? 3 : 2);
  function times(found, what = "times as often") {
    if (found.value === null) return `(no figure) ${what}`;
    const put = (number) => fixed(number, ratioDigits(found));
    const interval = found.interval === null ? "" : ` (${put(found.interval.low)} to ${put(found.interval.high)})`;
    return `${put(found.value)} ${what}${interval}`;
  }

  function association(chosen, found) {
    const rung = found.rungs.association;
    if (rung.share !== undefined) {
      return `These games cannot tell: only ${percent(rung.share)} of such pieces have comparable free ones (${percent(terms.covered)} needed).`;
    }
    if (!rung.found) return `Too few games: ${rung.lacks ?? terms.nouns.nothing}.`;
    const { low, high } = found.ratio.interval;
    const how = low > 1 ? "more often than" : high < 1 ? "less often than" : "about as often as";
    const chance = how.startsWith("about") ? ", which may be chance" : "";
    return `${terms.pieces[chosen.k]} were ${terms.happened} ${how} comparable free ones within ${terms.within[chosen.horizon]} moves: ${percent(found.held.value)} against ${percent(found.free.value)}, ${times(found.ratio)}${chance}.`;
  }

  // How far up the ladder the claim holds.
  function reach({ twins, guards }) {
    const { kind, state } = rungs;
    let first = `Too few positions hold two ${kind}s of one side, one ${state} and one free, to tell more.`;
    if (twins.standing === "no twins") first = "A side has one queen, so no two in one position can be compared.";
    if (twins.found && !twins.holds) {
      const isAbove = ({ interval }) => interval !== null && interval.low > 1;
      const says = isAbove(twins.estimate) || isAbove(twins.plain) ? "it is not sure" : "the difference may be chance";
      return `But between two ${kind}s of one side in the same position ${says}: the ${state} one was ${terms.happened} ${times(twins.estimate)} if what else differs between the two is allowed for, ${times(twins.plain, "times")} if it is not. So the position may be what costs the piece.`;
    }
    if (twins.found) first = `It holds between two ${kind}s of one side in the same position too: ${times(twins.estimate)}.`;
    let second = "";
    if (guards.holds) second = " The state of the whole side does not explain it.";
    else if (guards.found && !guards.others) {
      second = " But the other pieces of that side are lost more often by about as much: it may be the state of the whole side.";
    } else if (guards.found) {
      second = ` But these games do not show that it is worse than a quiet move that took squares from the ${kind} and left it enough: the last squares may not be what counts.`;
    }
    return first + second;
  }

  function decided({ decision }) {
    if (!decision.found) return "";
    const { low, high } = decision.estimate.interval;
    const often = times(decision.estimate);
    if (low > 1) return `It holds at the decision itself: where ${rungs.could}, ${rungs.came} more often if that was played than if something else was: ${often}.`;
    if (high < 1) return `But where ${rungs.could}, ${rungs.came} less often if that was played than if something else was: ${often}.`;
    return `But where ${rungs.could}, playing that rather than something else made no difference that these games can show: ${often}.`;
  }

  function verdict(chosen, found) {
    const first = association(chosen, found);
    const all = found.rungs;
    if (!all.association.found) return first;
    if (!all.association.holds) return `Not what these games say. ${first}`;
    const standings = Object.values(all);
    const fails = standings.findIndex((rung) => rung.found && !rung.holds);
    const climbed = fails < 0 ? standings : standings.slice(0, fails);
    const isConfirmed = climbed.includes(all.confirmation) && all.confirmation.holds === true;
    return [
      first,
      reach(all),
      decided(all),
      isConfirmed ? "Games that had been locked away confirm it." : "",
      "All this is what was found in played games; it does not prove the cause.",
    ]
      .filter((one) => one !== "")
      .join(" ");
  }

  // A number with its sign; one that shows as zero has none.
  function signed(number, digits) {
    const text = fixed(Math.abs(number), digits);
    if (/^[0.]*$/.test(text)) return text;
    return `${number < 0 ? "\u2212" : "+"}${text}`;
  }

  function write(name, found, put) {
    part(name).textContent = found.value === null ? "none" : put(found.value);
    part(`${name}-interval`).textContent = found.interval === null ? "none" : `${put(found.interval.low)} to ${put(found.interval.high)}`;
  }

  function show(data, chosen) {
    const found = answer(data, chosen);
    part("verdict").textContent = verdict(chosen, found);
    for (const name of ["held", "free"]) write(name, found[name], (share) => `${fixed(share * 100, percentDigits(found[name]))}%`);
    write("ratio", found.ratio, (number) => fixed(number, ratioDigits(found.ratio)));
    write("difference", found.difference, (share) => signed(share * 100, percentDigits(found.difference)));
    part("held-number").textContent = grouped(found.compared[0]);
    part("free-number").textContent = grouped(found.compared[1]);
    for (const [name, rung] of Object.entries(found.rungs)) {
      part(`rung-${name}`).textContent = rung.found ? times(rung.estimate, "").replace("  ", " ").trim() : "none";
      part(`stands-${name}`).textContent = rung.standing;
    }
  }

  // A menu of choices; the one that the claim's file names is there at first.
  function fill(name, choices, own) {
    const menu = section.querySelector(`#terms-${name}`);
    choices.forEach(([words], place) => menu.append(new Option(words, place, place === own, place === own)));
    return () => choices[Number(menu.value)][1];
  }

  // All, each alone, and those that the claim names where these are several.
  function some(names, own) {
    const choices = [["all", null], ...names.map((name, place) => [name, [place]])];
    const places = own.map((name) => names.indexOf(name));
    if (own.length === 0) return [choices, 0];
    if (own.length === 1 && places[0] >= 0) return [choices, 1 + places[0]];
    return [[...choices, [own.join(" or "), places]], choices.length];
  }

  const yesNo = [["any", null], ["yes", [true]], ["no", [false]]];
  const wordPlace = { any: 0, yes: 1, no: 2 };

  async function start() {
    const data = unpacked(await inflated(JSON.parse(part("counts").textContent)));
    const { own } = terms;
    const k = fill("k", terms.pieces.map((_, number) => [String(number), number]), own.k);
    const horizon = fill("within", terms.within.map((moves, place) => [`${moves} moves`, place]), terms.within.indexOf(own.within));
    const phases = fill("phase", ...some(terms.phases, own.phases));
    const bands = fill("band", ...some(terms.bands, own.bands));
    // A restrained piece is not attacked when its spell starts.
    const attacked = terms.never_attacked
      ? fill("attacked", [["no, when its spell starts", null]], 0)
      : fill("attacked", yesNo, wordPlace[own.attacked]);
    const defended = fill("defended", yesNo, wordPlace[own.defended]);
    const passes = (wanted, value) => wanted === null || wanted.includes(value);
    const read = () => ({ k: k(), horizon: horizon(), phases: phases(), bands: bands(), attacked: attacked(), defended: defended() });
    const written = JSON.stringify(read());
    const update = () => {
      const chosen = read();
      show(data, { ...chosen, passes, isOwn: JSON.stringify(chosen) === written });
    };
    const form = section.querySelector("form");
    form.addEventListener("change", update);
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("reset", () => setTimeout(update));
    update();
    section.hidden = false;
  }
  start();
})();
