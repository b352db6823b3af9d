// A claim answered for other terms from the counts its page carries, as the program answers it: claims
// compared by direct standardisation, intervals by leaving out one fold of games at a time. terms.rs packs
// the counts and says in which words and numbers the figures are put.
(() => {
  const section = document.querySelector("section.other-terms");
  if (section === null || typeof DecompressionStream === "undefined") return;
  const part = (name) => section.querySelector(`[data-part="${name}"]`);
  const terms = JSON.parse(part("terms").textContent);
  const [leastTrials, leastFolds, leastOutcomeFolds] = terms.least;

  async function inflated(text) {
    const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  }

  // The strata at each k, as terms.rs packs them.
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
    const many = (length, of) => Array.from({ length }, of);
    const side = () => {
      let next = 0;
      return many(number(), () => {
        const fold = next + number();
        next = fold + 1;
        let before = [0, 0];
        const counts = many(1 + terms.within.length, (_, column) => {
          const less = column > 1 ? before : [0, 0];
          before = [number() + less[0], number() + less[1]];
          return before;
        });
        return { fold, counts };
      });
    };
    return terms.pieces.map(() =>
      many(number(), () => {
        const circumstances = number();
        return {
          phase: circumstances % 4,
          defended: Math.floor(circumstances / 4) % 2 === 1,
          attacked: circumstances >= 8,
          band: number(),
          own: side(),
          free: side(),
        };
      }),
    );
  }

  // Turns and rows of a side in a fold, and those of them with the outcome within a horizon.
  function cell(counts, horizon) {
    const [[all, allSampled], [met, metSampled]] = [counts[0], counts[1 + horizon]];
    return {
      turns: all + terms.sample * allSampled,
      outcomes: met + terms.sample * metSampled,
      rows: all + allSampled,
      metRows: met + metSampled,
    };
  }
  const none = () => ({ turns: 0, outcomes: 0, rows: 0, metRows: 0 });
  const KEYS = Object.keys(none());
  const added = (sum, more, sign = 1) => {
    for (const key of KEYS) sum[key] += sign * more[key];
    return sum;
  };

  // The strata chosen: sums of both sides, and the part of each fold.
  function table(strata, horizon) {
    const folds = new Map();
    const sums = strata.map((stratum, place) => {
      const sum = { own: none(), free: none() };
      for (const name of ["own", "free"]) {
        for (const { fold, counts } of stratum[name]) {
          const counted = cell(counts, horizon);
          added(sum[name], counted);
          if (!folds.has(fold)) folds.set(fold, new Map());
          const parts = folds.get(fold);
          if (!parts.has(place)) parts.set(place, { own: none(), free: none() });
          added(parts.get(place)[name], counted);
        }
      }
      return sum;
    });
    return { sums, folds: [...folds].sort((a, b) => a[0] - b[0]).map(([, parts]) => parts) };
  }

  const isComparable = ({ own, free }) => own.turns > 0 && free.turns > 0;

  // The figures of all strata, less what `parts` has of them. Fractions are added up in the order of the
  // strata, as the program does.
  function figures(sums, parts = new Map()) {
    const all = { own: none(), free: none(), raw: none(), strata: 0, events: 0, trials: 0 };
    sums.forEach((sum, place) => {
      let { own, free } = sum;
      const less = parts.get(place);
      if (less !== undefined) {
        own = added({ ...own }, less.own, -1);
        free = added({ ...free }, less.free, -1);
      }
      added(all.raw, own);
      if (!isComparable({ own, free })) return;
      all.strata += 1;
      added(all.own, own);
      added(all.free, free);
      all.trials += own.turns;
      all.events += own.turns * (free.outcomes / free.turns);
    });
    return all;
  }

  const heldRate = (all) => all.own.outcomes / all.own.turns;
  const freeRate = (all) => all.events / all.trials;
  const ratio = (all) => all.own.outcomes / all.events;
  const difference = (all) => heldRate(all) - freeRate(all);
  const SCALES = {
    plain: [(x) => x, (x) => x],
    log: [Math.log, Math.exp],
    logit: [(x) => Math.log(x / (1 - x)), (x) => 1 / (1 + Math.exp(-x))],
  };

  function estimate(scale, of, whole, withoutOne, folds, isEnough) {
    const value = of(whole);
    const found = { value: Number.isFinite(value) ? value : null, low: null, high: null };
    const [forward, back] = SCALES[scale];
    const replicates = withoutOne.map((all) => forward(of(all)));
    if (!isEnough || folds < 2 || replicates.length < 2 || !replicates.every(Number.isFinite)) return found;
    let error = 0;
    if (!replicates.every((one) => one === replicates[0])) {
      const groups = replicates.length;
      const mean = replicates.reduce((sum, one) => sum + one, 0) / groups;
      const squares = replicates.reduce((sum, one) => sum + (one - mean) ** 2, 0);
      error = Math.sqrt(((groups - 1) / groups) * squares);
    }
    const middle = forward(value);
    const width = terms.student[folds - 2] * error;
    const [low, high] = [back(middle - width), back(middle + width)];
    return [middle, low, high].every(Number.isFinite) ? { ...found, low, high } : found;
  }

  // In how many folds each side has rows, and rows with the outcome, in the strata compared.
  function spread({ sums, folds }, name) {
    let [some, outcome] = [0, 0];
    for (const parts of folds) {
      const sum = none();
      for (const [place, of] of parts) if (isComparable(sums[place])) added(sum, of[name]);
      some += Number(sum.rows > 0);
      outcome += Number(sum.metRows > 0);
    }
    return { some, outcome };
  }

  const grouped = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, ",");

  // Why there is no interval, in words; null where the counts are enough.
  function tooFew(whole, spreads) {
    const { nouns } = terms;
    const s = (number, noun) => `${grouped(number)} ${noun}${number === 1 ? "" : "s"}`;
    if (whole.raw.rows === 0) return nouns.nothing;
    if (whole.strata === 0) return `none of ${s(whole.raw.rows, nouns.own)} ${nouns.incomparable}`;
    const sides = [[nouns.own, whole.own, spreads.own], [nouns.other, whole.free, spreads.free]];
    for (const [noun, { rows }, { some }] of sides) {
      if (rows < leastTrials) return `${grouped(rows)} of the ${leastTrials} ${noun}s needed`;
      if (some < leastFolds) return `${noun}s in ${some} of the ${leastFolds} folds needed`;
    }
    for (const [noun, , { outcome }] of sides) {
      if (outcome < leastOutcomeFolds) return `${noun}s${nouns.outcome} in ${outcome} of the ${leastOutcomeFolds} folds needed`;
    }
    return null;
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
  const hasInterval = ({ low }) => low !== null;
  function percentDigits(found) {
    const width = hasInterval(found) ? (found.high - found.low) * 100 : 1;
    return width < 0.1 ? 3 : width < 1 ? 2 : 1;
  }
  const ratioDigits = (found) => (hasInterval(found) && found.high - found.low < 0.1 ? 3 : 2);

  function sentence(chosen, found) {
    if (found.few !== null) return `Too few games: ${found.few}.`;
    if (found.covered < terms.covered) {
      return `These games cannot tell: only ${percent(found.covered)} of such pieces have comparable free ones (${percent(terms.covered)} needed).`;
    }
    if (!hasInterval(found.ratio)) return `Too few games: ${terms.nouns.nothing}.`;
    const { low, high, value } = found.ratio;
    const how = low > 1 ? "more often than" : high < 1 ? "less often than" : "about as often as";
    const chance = how.startsWith("about") ? ", which may be chance" : "";
    const digits = ratioDigits(found.ratio);
    const times = `${fixed(value, digits)} times as often (${fixed(low, digits)} to ${fixed(high, digits)})`;
    return `${terms.pieces[chosen.k]} were ${terms.happened} ${how} comparable free ones within ${terms.within[chosen.horizon]} moves: ${percent(found.held.value)} against ${percent(found.free.value)}, ${times}${chance}.`;
  }

  function answer(strata, chosen) {
    const passes = (wanted, value) => wanted === null || wanted.includes(value);
    const some = strata[chosen.k].filter(
      (one) =>
        passes(chosen.phases, one.phase) &&
        passes(chosen.bands, one.band) &&
        passes(chosen.attacked, one.attacked) &&
        passes(chosen.defended, one.defended),
    );
    const counted = table(some, chosen.horizon);
    const whole = figures(counted.sums);
    const withoutOne = counted.folds.map((parts) => figures(counted.sums, parts));
    const spreads = { own: spread(counted, "own"), free: spread(counted, "free") };
    const few = tooFew(whole, spreads);
    const both = Math.min(spreads.own.some, spreads.free.some);
    const make = (scale, of, folds) => estimate(scale, of, whole, withoutOne, folds, few === null);
    return {
      few,
      covered: whole.raw.turns > 0 ? whole.own.turns / whole.raw.turns : null,
      held: make("logit", heldRate, spreads.own.some),
      free: make("logit", freeRate, both),
      ratio: make("log", ratio, both),
      difference: make("plain", difference, both),
      compared: [whole.own.turns, whole.free.turns],
    };
  }

  // A number with its sign; one that shows as zero has none.
  function signed(number, digits) {
    const text = fixed(Math.abs(number), digits);
    if (/^[0.]*$/.test(text)) return text;
    return `${number < 0 ? "\u2212" : "+"}${text}`;
  }

  function write(name, found, put) {
    part(name).textContent = found.value === null ? "none" : put(found.value);
    part(`${name}-interval`).textContent = hasInterval(found) ? `${put(found.low)} to ${put(found.high)}` : "none";
  }

  function show(strata, chosen) {
    const found = answer(strata, chosen);
    part("verdict").textContent = sentence(chosen, found);
    for (const name of ["held", "free"]) write(name, found[name], (share) => `${fixed(share * 100, percentDigits(found[name]))}%`);
    write("ratio", found.ratio, (number) => fixed(number, ratioDigits(found.ratio)));
    write("difference", found.difference, (share) => signed(share * 100, percentDigits(found.difference)));
    part("held-number").textContent = grouped(found.compared[0]);
    part("free-number").textContent = grouped(found.compared[1]);
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
    const strata = unpacked(await inflated(JSON.parse(part("counts").textContent)));
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
    const update = () =>
      show(strata, { k: k(), horizon: horizon(), phases: phases(), bands: bands(), attacked: attacked(), defended: defended() });
    const form = section.querySelector("form");
    form.addEventListener("change", update);
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("reset", () => setTimeout(update));
    update();
    section.hidden = false;
  }
  start();
})();
