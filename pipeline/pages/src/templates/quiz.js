// Shows one position at a time. Without script all stand one below the other.
"use strict";
(() => {
  const tasks = [...document.querySelectorAll(".task")];
  const steps = document.getElementById("steps");
  if (tasks.length === 0) return;
  const button = (name) => steps.querySelector(`[data-step="${name}"]`);
  const counted = document.getElementById("counted");
  let at = 0;
  let all = false;

  const answer = () => tasks[at].querySelector(".solution");
  const show = () => {
    tasks.forEach((task, nth) => (task.hidden = !all && nth !== at));
    counted.textContent = all ? `All ${tasks.length} positions` : `Position ${at + 1} of ${tasks.length}`;
    button("back").disabled = all || at === 0;
    button("on").disabled = all || at === tasks.length - 1;
    button("answer").disabled = all;
    button("answer").textContent = answer().open ? "Hide the answer" : "Show the answer";
    button("all").textContent = all ? "One at a time" : "All positions";
  };
  const go = (to) => {
    if (all || to < 0 || to >= tasks.length) return;
    at = to;
    show();
  };
  const actions = {
    back: () => go(at - 1),
    on: () => go(at + 1),
    answer: () => {
      answer().open = !answer().open;
      show();
    },
    all: () => {
      all = !all;
      show();
    },
  };
  const keys = { ArrowLeft: "back", ArrowRight: "on", a: "answer" };

  steps.addEventListener("click", (event) => actions[event.target.dataset?.step]?.());
  for (const task of tasks) task.querySelector(".solution").addEventListener("toggle", show);
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const name = keys[event.key];
    if (name === undefined || button(name).disabled) return;
    event.preventDefault();
    actions[name]();
  });
  const named = tasks.findIndex((task) => `#${task.id}` === location.hash);
  if (named > 0) at = named;
  steps.hidden = false;
  show();
})();
