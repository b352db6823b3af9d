"use strict";
// Whatever is here is an addition: every form works without it.

const one = (selector, within = document) => within.querySelector(selector);

// Files dropped or chosen are sent with a word on how far that is.
for (const form of document.querySelectorAll("form[data-drop]")) {
  const input = one("input[type=file]", form);
  const said = one("[data-said]", form);
  for (const hint of form.querySelectorAll("[data-script]")) hint.hidden = false;
  const over = (event) => {
    event.preventDefault();
    form.classList.toggle("over", event.type === "dragover");
  };
  for (const name of ["dragover", "dragleave", "drop"]) form.addEventListener(name, over);
  form.addEventListener("drop", (event) => {
    if (event.dataTransfer.files.length === 0) return;
    input.files = event.dataTransfer.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const button = one("button", form);
    button.disabled = true;
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.upload.addEventListener("progress", ({ loaded, total }) => {
      said.textContent = `${Math.floor((100 * loaded) / Math.max(total, 1))}% copied`;
    });
    const failed = (line) => {
      button.disabled = false;
      said.textContent = line;
    };
    request.addEventListener("load", () => {
      if (request.status < 300) {
        location.assign(request.responseURL || location.href);
        location.reload();
        return;
      }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      failed(one("[role=alert]", page)?.textContent ?? "The file was not taken.");
    });
    request.addEventListener("error", () => failed("The file did not come whole, so it was not kept."));
    request.send(new FormData(form));
  });
}

// A scan is shown anew twice a second; at its end the page is loaded again for the account.
const scan = one("[data-watch]");
if (scan) {
  const look = async () => {
    try {
      const answer = await fetch(scan.dataset.watch);
      const now = await answer.json();
      if (!now || !now.runs) {
        location.reload();
        return;
      }
      one("[data-heading]", scan).textContent = now.heading;
      one("[data-said]", scan).textContent = now.said;
      one("[data-bar]", scan).value = now.share;
    } catch {
      one("[data-said]", scan).textContent = "The desk does not answer. Is it still open?";
    }
    setTimeout(look, 500);
  };
  setTimeout(look, 300);
}

// A page that takes some seconds to work out says so.
for (const slow of document.querySelectorAll("a[data-slow], form[data-slow]")) {
  slow.addEventListener(slow.tagName === "A" ? "click" : "submit", () => {
    const said = one("[data-said]");
    if (said) said.textContent = "Working it out…";
  });
}
addEventListener("pageshow", (event) => {
  if (event.persisted) for (const said of document.querySelectorAll("[data-said]")) said.textContent = "";
});

// What is typed is asked once it rests; an answer that comes too late is dropped.
function asWritten(form, address, show) {
  let timer = 0;
  let asked = null;
  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    try {
      const query = new URLSearchParams(new FormData(form));
      const answer = await fetch(`${address}?${query}`, { signal: asked.signal });
      if (answer.ok) show(await answer.json());
    } catch (error) {
      if (error.name !== "AbortError") show(null);
    }
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, 250);
  });
}

// Players are listed while letters are typed.
const players = one("form[data-players]");
if (players) {
  const base = players.dataset.players;
  asWritten(players, `${base}/players.json`, (found) => {
    one("[data-said]").textContent = found ? found.found : "The desk does not answer.";
    const rows = (found?.players ?? []).map((player) => {
      const [row, link, name, about, words] = ["li", "a", "bdi", "span", "bdi"].map((tag) => document.createElement(tag));
      name.textContent = player.name;
      words.textContent = player.about;
      link.href = `${base}/player?${player.query}`;
      link.append(name);
      about.className = "remark";
      about.append(words);
      row.append(link, " ", about);
      return row;
    });
    one("[data-list]").replaceChildren(...rows);
  });
}

// A claim is counted anew while its menus are changed.
const claim = one("form[data-claim]");
if (claim) {
  asWritten(claim, claim.dataset.claim, (said) => {
    const wrong = said ? said.wrong : "The desk does not answer.";
    one("[data-wrong]").hidden = !wrong;
    one("[data-wrong]").textContent = wrong ?? "";
    one("[data-sentence]").textContent = said?.sentence ?? "";
    one("[data-number]").textContent = said?.number ?? "";
    const facts = (said?.conditions ?? []).map(([name, words]) => {
      const [fact, term, text, bdi] = ["div", "dt", "dd", "bdi"].map((tag) => document.createElement(tag));
      term.textContent = name;
      bdi.textContent = words;
      text.append(bdi);
      fact.append(term, text);
      return fact;
    });
    one("[data-conditions]").replaceChildren(...facts);
  });
}
