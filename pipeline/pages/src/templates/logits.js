// Conditional logistic regression for matched sets with errors by clusters, as the program fits it
// (conditional_logit.rs, newton.rs, clusters.rs, where the sources are named). Sets are small: the choices of
// their cases are gone through one by one.
const logits = (() => {
  const [STEPS, HALVINGS, CLOSE, SEPARATED, SINGULAR] = [60, 40, 1e-9, 1e6, 1e-10];
  const square = (size) => Array.from({ length: size }, () => new Array(size).fill(0));
  const dot = (x, y) => x.reduce((sum, value, at) => sum + value * y[at], 0);
  function addOuter(matrix, x, weight) {
    x.forEach((value, row) => x.forEach((other, column) => (matrix[row][column] += weight * value * other)));
  }
  const product = (a, b) => a.map((row) => b[0].map((_, column) => row.reduce((sum, value, at) => sum + value * b[at][column], 0)));
  const isFinite = (matrix) => matrix.every((row) => row.every(Number.isFinite));

  // Eigenvalues and eigenvectors, in columns, of a symmetric matrix, by Jacobi's rotations.
  function eigen(matrix) {
    const size = matrix.length;
    const a = matrix.map((row) => [...row]);
    const vectors = square(size).map((row, at) => row.map((_, column) => Number(at === column)));
    for (let sweep = 0; sweep < 100; sweep += 1) {
      let off = 0;
      for (let p = 0; p < size; p += 1) for (let q = p + 1; q < size; q += 1) off += a[p][q] ** 2;
      if (off < 1e-300) break;
      for (let p = 0; p < size; p += 1) {
        for (let q = p + 1; q < size; q += 1) {
          if (a[p][q] === 0) continue;
          const theta = (a[q][q] - a[p][p]) / (2 * a[p][q]);
          const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.sqrt(theta ** 2 + 1));
          const c = 1 / Math.sqrt(t ** 2 + 1);
          const s = t * c;
          for (let at = 0; at < size; at += 1) [a[at][p], a[at][q]] = [c * a[at][p] - s * a[at][q], s * a[at][p] + c * a[at][q]];
          for (let at = 0; at < size; at += 1) [a[p][at], a[q][at]] = [c * a[p][at] - s * a[q][at], s * a[p][at] + c * a[q][at]];
          for (const row of vectors) [row[p], row[q]] = [c * row[p] - s * row[q], s * row[p] + c * row[q]];
        }
      }
    }
    return { values: a.map((row, at) => row[at]), vectors };
  }
  const ofEigen = ({ values, vectors }) => vectors.map((row) => vectors.map((other) => row.reduce((sum, value, at) => sum + value * values[at] * other[at], 0)));

  // A matrix of second derivatives with ones on its diagonal, taken apart into its eigenvectors.
  function curvature(matrix, scale) {
    if (!isFinite(matrix)) return null;
    const by = (row, column) => scale[row] * scale[column];
    const scaled = matrix.map((values, row) => values.map((value, column) => (by(row, column) > 0 ? value / by(row, column) : 0)));
    return eigen(scaled);
  }
  const inverse = ({ values, vectors }, scale) =>
    ofEigen({ values: values.map((value) => 1 / value), vectors }).map((row, at) => row.map((value, column) => value / (scale[at] * scale[column])));
  // Place of the greatest; the last of equal ones.
  const greatest = (numbers) => numbers.reduce((best, number, at) => (number >= numbers[best] ? at : best), 0);

  function choices(length, count, from = 0) {
    if (count === 0) return [[]];
    const all = [];
    for (let at = from; at <= length - count; at += 1) for (const rest of choices(length, count - 1, at + 1)) all.push([at, ...rest]);
    return all;
  }

  function evaluate(sets, beta, each = () => {}) {
    const size = beta.length;
    const out = { value: 0, gradient: new Array(size).fill(0), information: square(size) };
    for (const { rows, met, clusters } of sets) {
      const sums = (chosen) => beta.map((_, at) => chosen.reduce((sum, row) => sum + rows[row][at], 0));
      const cases = [...rows.keys()].filter((row) => met[row]);
      const all = choices(rows.length, cases.length).map(sums);
      const exponents = all.map((x) => dot(x, beta));
      const largest = Math.max(...exponents);
      const weights = exponents.map((exponent) => Math.exp(exponent - largest));
      const total = weights.reduce((sum, weight) => sum + weight, 0);
      const taken = sums(cases);
      out.value += dot(taken, beta) - largest - Math.log(total);
      const mean = beta.map((_, at) => all.reduce((sum, x, choice) => sum + (weights[choice] / total) * x[at], 0));
      all.forEach((x, choice) => addOuter(out.information, x.map((value, at) => value - mean[at]), weights[choice] / total));
      const score = taken.map((value, at) => value - mean[at]);
      score.forEach((value, at) => (out.gradient[at] += value));
      each(clusters, score);
    }
    return out;
  }

  // The point a step further, or the first half, quarter, … of it that loses nothing; null where there is none.
  function uphill(sets, at, step, value) {
    let fraction = 1;
    for (let half = 0; half < HALVINGS; half += 1) {
      const next = at.map((x, place) => x + fraction * step[place]);
      const there = evaluate(sets, next);
      if (Number.isFinite(there.value) && there.value >= value - 1e-12 * Math.abs(value)) return [next, there];
      fraction /= 2;
    }
    return null;
  }

  // The greatest likelihood; `out` names a covariate that follows from others or separates the outcomes.
  function maximise(sets, size) {
    let at = new Array(size).fill(0);
    let here = evaluate(sets, at);
    const scale = here.information.map((row, place) => Math.sqrt(row[place]));
    const first = curvature(here.information, scale);
    if (first === null) return { failed: true };
    const flattest = first.values.reduce((best, value, place) => (value < first.values[best] ? place : best), 0);
    if (first.values[flattest] < SINGULAR) {
      return { failed: true, out: greatest(first.vectors.map((row) => Math.abs(row[flattest]))) };
    }
    let covariance = inverse(first, scale);
    const start = covariance;
    for (let steps = 0; steps < STEPS; steps += 1) {
      const step = covariance.map((row) => dot(row, here.gradient));
      const decrement = dot(step, here.gradient);
      const next = uphill(sets, at, step, here.value);
      if (next === null) return { failed: true };
      [at, here] = next;
      const there = curvature(here.information, scale);
      if (there === null) return { failed: true };
      covariance = inverse(there, scale);
      const growth = covariance.map((row, place) => row[place] / start[place][place]).map((by) => (by > 0 ? by : Infinity));
      const most = greatest(growth);
      if (growth[most] > SEPARATED) return { failed: true, out: most };
      if (decrement < CLOSE) return { at, covariance };
    }
    return { failed: true };
  }

  // Sums of scores by one way to cluster, each times itself; null with fewer than two clusters.
  function meat(sums, size) {
    if (sums.size < 2) return null;
    const matrix = square(size);
    for (const sum of sums.values()) addOuter(matrix, sum, sums.size / (sums.size - 1));
    return matrix;
  }

  // The first coefficient with its error by one or two ways of clusters.
  function fit(sets, ways, size) {
    if (sets.length === 0) return { failed: true };
    const found = maximise(sets, size);
    if (found.failed) return found;
    const keys = ways === 2 ? [([game]) => game, ([, owner]) => owner, ([game, owner]) => `${game} ${owner}`] : [([game]) => game];
    const sums = keys.map(() => new Map());
    evaluate(sets, found.at, (clusters, score) => {
      keys.forEach((key, way) => {
        const name = key(clusters);
        const sum = sums[way].get(name) ?? new Array(size).fill(0);
        sums[way].set(name, sum.map((value, at) => value + score[at]));
      });
    });
    const meats = sums.map((sum) => meat(sum, size));
    if (meats.includes(null)) return { failed: true };
    const signs = [1, 1, -1];
    const middle = square(size).map((row, at) => row.map((_, column) => meats.reduce((sum, one, way) => sum + signs[way] * one[at][column], 0)));
    const around = product(product(found.covariance, middle), found.covariance);
    const error = Math.sqrt(withoutNegative(around)[0][0]);
    const clusters = ways === 2 ? Math.min(sums[0].size, sums[1].size) : sums[0].size;
    return { coefficient: found.at[0], error, df: clusters - 1 };
  }

  // The nearest matrix without negative eigenvalues.
  function withoutNegative(matrix) {
    if (!isFinite(matrix)) return matrix;
    const symmetric = matrix.map((row, at) => row.map((value, column) => (value + matrix[column][at]) / 2));
    const { values, vectors } = eigen(symmetric);
    const rounding = 1e-12 * Math.max(...values.map(Math.abs));
    if (values.every((value) => value >= -rounding)) return symmetric;
    return ofEigen({ values: values.map((value) => Math.max(value, 0)), vectors });
  }

  return { fit };
})();
