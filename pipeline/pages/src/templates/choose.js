// Filters, an order and a selection for a handout, over the positions of a page. What can be chosen by
// stands in each article as its traits: words are filters, numbers are orders.
for (const form of document.querySelectorAll("form.choose")) {
  const list = form.parentElement.querySelector("[data-choose]");
  const part = (name) => form.querySelector(`[data-part="${name}"]`);
  const articles = [...list.querySelectorAll("article")].map((node) => ({
    node,
    traits: JSON.parse(node.dataset.traits),
    words: node.textContent.toLowerCase(),
  }));
  const names = articles.length === 0 ? [] : Object.keys(articles[0].traits);
  const isNumber = (name) => typeof articles[0].traits[name] === "number";
  const controls = form.querySelector(".filters");
  const chosen = new Set();

  function labelled(text, control) {
    const [field, label] = [document.createElement("div"), document.createElement("label")];
    control.id = `choose-${controls.children.length}`;
    label.htmlFor = control.id;
    label.textContent = text;
    field.append(label, control);
    controls.append(field);
    return control;
  }

  function menu(text, options) {
    const select = document.createElement("select");
    for (const [value, words] of options) select.append(new Option(words, value));
    return labelled(text, select);
  }

  const filters = names
    .filter((name) => !isNumber(name))
    .map((name) => {
      const counts = new Map();
      for (const { traits } of articles) counts.set(traits[name], 1 + (counts.get(traits[name]) ?? 0));
      const values = [...counts].sort((a, b) => b[1] - a[1]);
      return [name, menu(name, [["", "all"], ...values.map(([word, count]) => [word, `${word} (${count})`])])];
    });
  const order = menu("Order", [
    ["", "as listed"],
    ...names.filter(isNumber).flatMap((name) => [
      [`-${name}`, `${name.toLowerCase()}, most first`],
      [`+${name}`, `${name.toLowerCase()}, fewest first`],
    ]),
  ]);
  const search = document.createElement("input");
  search.type = "search";
  labelled("Player, event or move", search);

  function show() {
    const wanted = search.value.trim().toLowerCase();
    let shown = 0;
    for (const { node, traits, words } of articles) {
      const passes =
        filters.every(([name, select]) => select.value === "" || String(traits[name]) === select.value) && words.includes(wanted);
      node.hidden = !passes;
      shown += Number(passes);
    }
    const sorted = [...articles];
    if (order.value !== "") {
      const sign = order.value[0] === "-" ? -1 : 1;
      const name = order.value.slice(1);
      sorted.sort((a, b) => sign * (a.traits[name] - b.traits[name]));
    }
    list.append(...sorted.map(({ node }) => node));
    part("number").textContent = `${shown} of ${articles.length} shown`;
  }

  // What a handout needs of a position, as selection.rs reads it.
  function positionOf(article) {
    const data = JSON.parse(article.querySelector(".stretch script").textContent);
    const now = stretches.unpack(data)[data.shown];
    const facts = [...article.querySelectorAll("dl.game div")].map((line) => ({
      name: line.querySelector("dt").textContent,
      text: line.querySelector("dd").textContent,
    }));
    return {
      heading: article.querySelector("h3").textContent.replace(/^\d+\. /, ""),
      caption: article.querySelector('[data-part="about"]').textContent,
      facts,
      fen: article.querySelector("code").textContent,
      bottom: data.bottom,
      piece: data.piece,
      square: now.square,
      safe: now.safe,
      taken: now.taken,
      arrow: now.played.length === 2 ? now.played : null,
    };
  }

  function picked() {
    const many = chosen.size === 1 ? "1 position" : `${chosen.size} positions`;
    part("picked").textContent = chosen.size === 0 ? "Nothing is in the handout yet" : `${many} in the handout`;
    part("save").setAttribute("aria-disabled", chosen.size === 0);
    part("clear").setAttribute("aria-disabled", chosen.size === 0);
  }

  const buttons = new Map();
  function pick(node, isIn) {
    if (isIn) chosen.add(node);
    else chosen.delete(node);
    buttons.get(node).setAttribute("aria-pressed", isIn);
    buttons.get(node).textContent = isIn ? "In the handout" : "Add to the handout";
    picked();
  }
  for (const { node } of articles) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "pick";
    buttons.set(node, button);
    node.querySelector('[data-part="about"]').before(button);
    button.addEventListener("click", () => pick(node, !chosen.has(node)));
    pick(node, false);
  }

  function save() {
    if (chosen.size === 0) return;
    const selection = {
      format: 1,
      about: "selection",
      hobble: form.dataset.hobble,
      definitions: Number(form.dataset.definitions),
      title: part("title").value.trim() || "Positions to look at",
      positions: [...chosen].map(positionOf),
    };
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([`${JSON.stringify(selection, null, 1)}\n`], { type: "application/json" }));
    link.download = "handout.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }

  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(show));
  part("save").addEventListener("click", save);
  part("clear").addEventListener("click", () => {
    for (const node of [...chosen]) pick(node, false);
  });
  form.hidden = articles.length === 0;
  if (articles.length > 0) show();
}
