// The rungs of a claim for other terms, from the counts its page carries, as the program works them out:
// direct standardisation with intervals by leaving out one fold of games at a time (compare.rs, guards.rs,
// decision.rs), and conditional logistic regression for twins (twins.rs). What each rung needs is in terms.rs.
const ladders = (() => {
  const none = () => ({ turns: 0, outcomes: 0, rows: 0, metRows: 0 });
  const KEYS = Object.keys(none());
  const added = (sum, more, sign = 1) => {
    for (const key of KEYS) sum[key] += sign * more[key];
    return sum;
  };
  const isComparable = ({ own, free }) => own.turns > 0 && free.turns > 0;

  // Two sides of each stratum, by fold, as sums and as the part of each fold. Strata without any of the first
  // are left out, and second sides with too few rows for a rate.
  function paired(strata, freeRows) {
    const [sums, folds] = [[], new Map()];
    for (const stratum of strata) {
      if (stratum.own.size === 0) continue;
      const place = sums.length;
      const sum = { own: none(), free: none() };
      const rows = [...stratum.free.values()].reduce((all, cell) => all + cell.rows, 0);
      for (const name of ["own", "free"]) {
        if (name === "free" && rows < freeRows) continue;
        for (const [fold, cell] of stratum[name]) {
          if (cell.rows === 0) continue;
          added(sum[name], cell);
          if (!folds.has(fold)) folds.set(fold, new Map());
          const parts = folds.get(fold);
          if (!parts.has(place)) parts.set(place, { own: none(), free: none() });
          added(parts.get(place)[name], cell);
        }
      }
      sums.push(sum);
    }
    return { sums, folds: [...folds].sort((a, b) => a[0] - b[0]) };
  }

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

  // In how many folds a side has rows, and rows with the outcome, in the strata compared.
  function spread({ sums, folds }, name) {
    let [some, outcome] = [0, 0];
    for (const [, parts] of folds) {
      const sum = none();
      for (const [place, of] of parts) if (isComparable(sums[place])) added(sum, of[name]);
      some += Number(sum.rows > 0);
      outcome += Number(sum.metRows > 0);
    }
    return { some, outcome };
  }

  const grouped = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, ",");

  function of(terms) {
    const [leastTrials, leastFolds, leastOutcomeFolds] = terms.least;
    const { rungs } = terms;

    // Student's quantile; beyond those given by its expansion in powers of 1/df about the normal one
    // (Abramowitz and Stegun 1964, 26.7.5, from memory).
    function student(df) {
      if (df <= terms.student.length) return terms.student[df - 1];
      const z = terms.normal;
      const powers = [
        (z ** 3 + z) / 4,
        (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96,
        (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384,
      ];
      return powers.reduce((sum, power, nth) => sum + power / df ** (nth + 1), z);
    }

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

    // A pairing, measured: its figures, those with one fold left out each, and what it lacks.
    function measured(pair) {
      const whole = figures(pair.sums);
      const spreads = { own: spread(pair, "own"), free: spread(pair, "free") };
      return {
        whole,
        without: pair.folds.map(([fold, parts]) => [fold, figures(pair.sums, parts)]),
        few: tooFew(whole, spreads),
        folds: { own: spreads.own.some, both: Math.min(spreads.own.some, spreads.free.some) },
        covered: whole.raw.turns > 0 ? whole.own.turns / whole.raw.turns : null,
      };
    }

    function around(scale, value, error, df) {
      const [forward, back] = SCALES[scale];
      const width = student(df) * error;
      const [low, high] = [back(forward(value) - width), back(forward(value) + width)];
      return [forward(value), low, high].every(Number.isFinite) ? { low, high } : null;
    }

    // Interval from the figures with one fold left out each, on the scale already; null where there is none.
    function jackknife(scale, value, replicates, folds) {
      if (folds < 2 || replicates.length < 2 || !replicates.every(Number.isFinite)) return null;
      if (replicates.every((one) => one === replicates[0])) return null;
      const groups = replicates.length;
      const mean = replicates.reduce((sum, one) => sum + one, 0) / groups;
      const squares = replicates.reduce((sum, one) => sum + (one - mean) ** 2, 0);
      return around(scale, value, Math.sqrt(((groups - 1) / groups) * squares), folds - 1);
    }

    const estimated = (value, interval) => ({ value: Number.isFinite(value) ? value : null, interval });
    function estimate(scale, figure, found, folds) {
      const value = figure(found.whole);
      const replicates = found.without.map(([, all]) => SCALES[scale][0](figure(all)));
      return estimated(value, found.few === null ? jackknife(scale, value, replicates, folds) : null);
    }

    // The ratio of one pairing divided by that of another; the folds that either has are left out of both.
    function beyond(own, guard) {
      const logs = [own, guard].map((found) => ({
        whole: Math.log(ratio(found.whole)),
        by: new Map(found.without.map(([fold, all]) => [fold, Math.log(ratio(all))])),
      }));
      const left = [...new Set(logs.flatMap(({ by }) => [...by.keys()]))].sort((a, b) => a - b);
      const at = ({ whole, by }, fold) => (by.has(fold) ? by.get(fold) : whole);
      const value = Math.exp(logs[0].whole - logs[1].whole);
      const enough = own.few === null && guard.few === null;
      const replicates = left.map((fold) => at(logs[0], fold) - at(logs[1], fold));
      return estimated(value, enough ? jackknife("log", value, replicates, Math.min(own.folds.both, guard.folds.both)) : null);
    }

    // How a rung stands: `found` says whether it was measured.
    const few = { standing: "too few games", found: false };
    const uncovered = (share) => ({ standing: "too little compared", found: false, share });
    const above = (figure, holds) =>
      figure.interval === null ? few : { standing: holds ? "holds" : "does not hold", found: true, holds, estimate: figure };
    const isAbove = (figure) => figure.interval !== null && figure.interval.low > 1;

    // Turns and rows of a side by fold, and those of them with an event.
    function cells(side, column) {
      const cell = ({ counts }) => {
        const [[all, allSampled], [met, metSampled]] = [counts[0], counts[column]];
        return {
          turns: all + terms.sample * allSampled,
          outcomes: met + terms.sample * metSampled,
          rows: all + allSampled,
          metRows: met + metSampled,
        };
      };
      return new Map(side.map((one) => [one.fold, cell(one)]));
    }

    function guards(strata, { k, horizon }, own) {
      const horizons = terms.within.length;
      const pair = (name, column) =>
        paired(
          strata.map((stratum) => {
            const sides = { own: cells(stratum[name], column), free: cells(stratum.free, column) };
            if (name === "placebo" && sides.free.size > 0) {
              // Such pieces are free as well: they are not compared with themselves.
              for (const [fold, cell] of sides.own) added(sides.free.get(fold), cell, -1);
            }
            return sides;
          }),
          terms.free_rows,
        );
      const beside = (guard) => ({ few: guard.few, beyond: beyond(own, guard) });
      const others = beside(measured(pair("own", 1 + horizons + horizon)));
      const hasPlacebo = rungs.has_placebo && k < terms.pieces.length - 1;
      const placebo = hasPlacebo ? beside(measured(pair("placebo", 1 + horizon))) : null;
      const holds = isAbove(others.beyond) && (placebo === null || placebo.few !== null || isAbove(placebo.beyond));
      const standing = others.few !== null ? few : above(others.beyond, holds);
      return { ...standing, others: isAbove(others.beyond) };
    }

    // What twins are adjusted for, and what they are when they are not.
    const COVARIATES = [(one) => Number(one.defended), (one) => one.before, (one) => one.forward, (one) => Number(one.edge)];

    function twins(sets, chosen) {
      if (!rungs.has_twins) return { standing: "no twins", found: false };
      const bit = 1 << chosen.k;
      const telling = [];
      for (const set of sets) {
        if (!chosen.passes(chosen.phases, set.phase) || !chosen.passes(chosen.bands, set.band)) continue;
        const pieces = set.pieces
          .filter(
            (one) =>
              ((one.own | one.free) & bit) !== 0 &&
              (rungs.at_landmarks[chosen.k] ? one.landmark : one.sampled) &&
              chosen.passes(chosen.attacked, one.attacked) &&
              chosen.passes(chosen.defended, one.defended),
          )
          .map((one) => ({ ...one, isOwn: (one.own & bit) !== 0, met: one.came <= chosen.horizon }));
        const met = pieces.filter((one) => one.met).length;
        const own = pieces.filter((one) => one.isOwn).length;
        if (own > 0 && own < pieces.length && met > 0 && met < pieces.length) telling.push({ ...set, pieces });
      }
      const [adjusted, plain] = [COVARIATES, []].map((covariates) => odds(telling, covariates));
      return { ...above(adjusted, isAbove(adjusted) && isAbove(plain)), plain };
    }

    function odds(telling, covariates) {
      const ways = telling.some((set) => set.isKnown) ? 2 : 1;
      const kept = [...covariates];
      for (;;) {
        const sets = telling.map(({ game, owner, pieces }) => ({
          clusters: [game, owner],
          met: pieces.map((one) => one.met),
          rows: pieces.map((one) => [Number(one.isOwn), ...kept.map((covariate) => covariate(one))]),
        }));
        const fit = logits.fit(sets, ways, 1 + kept.length);
        // A covariate that never differs within these sets is left out.
        if (fit.out > 0) {
          kept.splice(fit.out - 1, 1);
          continue;
        }
        if (fit.failed) return { value: null, interval: null };
        const value = Math.exp(fit.coefficient);
        const enough = telling.length >= rungs.least_twins && fit.error > 0 && fit.df > 0;
        return estimated(value, enough ? around("log", value, fit.error, fit.df) : null);
      }
    }

    function decision(chances, chosen) {
      const isAsked = chosen.attacked !== null || chosen.defended !== null;
      if (chances === null || isAsked) return { standing: "not measured", found: false };
      const cell = (counts) => {
        const [turns, outcomes] = [counts[0], counts[1 + chosen.horizon]];
        return { turns, outcomes, rows: turns, metRows: outcomes };
      };
      const [games, players] = chances.map((strata) => {
        const some = strata
          .filter((stratum) => chosen.passes(chosen.phases, stratum.phase))
          .map(({ bands }) => {
            const sides = { own: new Map(), free: new Map() };
            for (const band of bands) {
              if (!chosen.passes(chosen.bands, band.band)) continue;
              for (const name of ["own", "free"]) {
                for (const { fold, counts } of band[name]) {
                  if (!sides[name].has(fold)) sides[name].set(fold, none());
                  added(sides[name].get(fold), cell(counts));
                }
              }
            }
            return sides;
          });
        return measured(paired(some, terms.free_rows));
      });
      if (games.few !== null) return few;
      if (games.covered !== null && games.covered < terms.covered) return uncovered(games.covered);
      const [one, other] = [games, players].map((found) => estimate("log", ratio, found, found.folds.both));
      const width = ({ interval }) => (interval === null ? -1 : interval.high - interval.low);
      const wider = width(other) > width(one) ? other : one;
      return above(wider, isAbove(wider));
    }

    // Games that had been locked away were asked of the claim as it was then, of no other.
    function confirmation(chosen) {
      const { confirmed } = rungs;
      if (confirmed === null) return { standing: "not asked", found: false };
      if (confirmed.is_void || !chosen.isOwn) return { standing: "void: the claim was changed", found: false };
      const { ratio: value, low, high, holds } = confirmed;
      return above({ value, interval: { low, high } }, holds);
    }

    // All figures and rungs for some terms.
    function answer(data, chosen) {
      const { k, horizon } = chosen;
      const strata = data.strata[k].filter(
        (one) =>
          chosen.passes(chosen.phases, one.phase) &&
          chosen.passes(chosen.bands, one.band) &&
          chosen.passes(chosen.attacked, one.attacked) &&
          chosen.passes(chosen.defended, one.defended),
      );
      const sides = (stratum) => ({ own: cells(stratum.own, 1 + horizon), free: cells(stratum.free, 1 + horizon) });
      const own = measured(paired(strata.map(sides), terms.free_rows));
      const figure = estimate("log", ratio, own, own.folds.both);
      let association = above(figure, isAbove(figure));
      if (own.few !== null) association = { ...few, lacks: own.few };
      else if (own.covered < terms.covered) association = uncovered(own.covered);
      return {
        held: estimate("logit", heldRate, own, own.folds.own),
        free: estimate("logit", freeRate, own, own.folds.both),
        ratio: figure,
        difference: estimate("plain", difference, own, own.folds.both),
        compared: [own.whole.own.turns, own.whole.free.turns],
        rungs: {
          association,
          twins: twins(data.twins, chosen),
          decision: decision(data.chances[k], chosen),
          guards: guards(strata, chosen, own),
          confirmation: confirmation(chosen),
        },
      };
    }
    return answer;
  }

  return { of, grouped };
})();
