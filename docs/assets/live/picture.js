// Pictures under the finger: a chart tells the numbers where it is touched, a fold swings back and forth by hand.
// The core wrote the words and drew both ends of each fold; nothing is worked out here.

import { button, make } from "./faults.js";

/** @param {SVGElement} chart */
function wakeChart(chart) {
  const bands = [...chart.querySelectorAll(".chart-band")];
  if (!bands.length) return;
  const told = make("output", { class: "loft-told", text: "Touch it, or use the arrow keys, to read it." });
  const show = (band) => {
    for (const one of bands) one.classList.toggle("chart-here", one === band);
    told.textContent = band.dataset.told;
  };
  chart.after(told);
  chart.setAttribute("tabindex", "0");
  const under = (event) => {
    const band = document.elementFromPoint(event.clientX, event.clientY)?.closest(".chart-band");
    if (band && chart.contains(band)) show(band);
  };
  chart.addEventListener("pointerdown", under);
  chart.addEventListener("pointermove", under);
  chart.addEventListener("keydown", (event) => {
    const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const at = bands.findIndex((band) => band.classList.contains("chart-here"));
    show(bands[Math.min(bands.length - 1, Math.max(0, at + way))]);
  });
}

/** The second of two pictures swings; what is pressed says how that one stands. @param {HTMLElement} figure */
function wakeFold(figure) {
  const shown = make("div", { class: "loft-row loft-foldbar" }, make("span", { text: "After:" }));
  shown.setAttribute("role", "group");
  shown.setAttribute("aria-label", "After, the second picture");
  const put = (phase) => {
    figure.dataset.fold = phase;
    for (const one of shown.querySelectorAll("button")) one.setAttribute("aria-pressed", String(one.dataset.phase === phase));
  };
  for (const [phase, text] of [["before", "Opened"], ["play", "Watch it"], ["after", "Folded"]]) {
    const one = button(text, () => put(phase));
    one.dataset.phase = phase;
    shown.append(one);
  }
  figure.append(shown);
  put("after");
}

/** Wakes every picture inside that is not awake yet. @param {Element} within */
export function wakePictures(within) {
  const charts = [...within.getElementsByClassName("loft-chart")].filter((chart) => chart instanceof SVGSVGElement && !chart.hasAttribute("tabindex"));
  for (const chart of charts) wakeChart(chart);
  const asleep = [...within.getElementsByClassName("fold-turn")].map((turn) => turn.closest("figure")).filter((figure) => figure && !figure.dataset.fold);
  for (const figure of new Set(asleep)) wakeFold(figure);
}
