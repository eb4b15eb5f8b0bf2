// What the tests look for in a report's page: a function each, that gives what is wrong.
"use strict";

// Text or drawing beyond the edge, cut, or one over the other.
const unfit = () => {
  const found = [];
  const seen = (one) => one.checkVisibility({ contentVisibilityAuto: true });
  if (document.documentElement.scrollWidth > innerWidth) found.push("the page moves sideways");
  for (const one of document.querySelectorAll("p, li, h1, h2, h3, h4, figcaption, summary, td, th, a, button")) {
    const box = one.getBoundingClientRect();
    if (!seen(one) || one.classList.contains("unseen") || one.closest(".wide")) continue;
    if (box.left < -0.5 || box.right > innerWidth + 0.5) found.push("beyond the edge: " + one.textContent);
    if (one.scrollWidth > one.clientWidth + 1 && one.clientWidth) found.push("cut: " + one.textContent);
  }
  for (const drawing of document.querySelectorAll("figure > svg")) {
    const words = [...drawing.querySelectorAll("text")].filter((one) => one.textContent.trim());
    const boxes = words.map((one) => one.getBoundingClientRect());
    boxes.forEach((a, at) => {
      const says = words[at].textContent;
      if (a.left < -0.5 || a.right > innerWidth + 0.5) found.push("drawn beyond the edge: " + says);
      boxes.slice(at + 1).forEach((b, after) => {
        const over = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (over > 1 && down > 4) found.push(`drawn over: ${says} / ${words[at + 1 + after].textContent}`);
      });
    });
  }
  return found;};

// What keeps somebody from reading it, by axe-core's rules.
const barriers = () => axe.run(document, { resultTypes: ["violations"] }).then((told) => told.violations
  .filter(({ impact }) => impact !== "minor")
  .map(({ id, nodes }) => [id, ...nodes.slice(0, 3).map(({ html }) => html.slice(0, 200))]));

// Whether paper would cut what belongs together. Sizes in px.
const onPaper = (narrowest, lowest) => {
  const is = (one, name) => getComputedStyle(one).getPropertyValue(name);
  const every = (selector) => [...document.querySelectorAll(selector)];
  return {
    cut: every("figure:not(:has(.on-paper)), .on-paper > svg, tr, thead").filter((one) => is(one, "break-inside") !== "avoid").length,
    alone: every("h1, h2, h3, h4").filter((one) => is(one, "break-after") !== "avoid").length,
    tall: every("figure:not(:has(.on-paper)), .on-paper > svg").filter((one) => one.getBoundingClientRect().height > lowest).length,
    lost: every("figure:has(.on-paper)").filter((one) => one.offsetHeight < 0.6 * Number(one.querySelector("svg").getAttribute("height"))).length,
    wide: document.documentElement.scrollWidth > narrowest,
    closed: every("details.fold p, details.fold li").filter((one) => !one.getClientRects().length).length,
    paper: is(document.body, "background-color"),
  };};

const readingRows = () =>
  [...document.querySelectorAll("#readings tbody tr")].map((row) => [...row.cells].map((one) => one.textContent));
const readingHeads = () => [...document.querySelectorAll("#readings thead th")].map((one) => one.textContent);
const readingKinds = () => [...document.querySelectorAll("#readings td")].map((one) => one.className);
const headOf = (title) =>
  [...document.querySelectorAll("#readings th > button")].find((one) => one.textContent.startsWith(title));
