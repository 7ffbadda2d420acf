// The map of a board: a cup is ticked when it stands in its place. A tick is kept with what is kept of its cup, so that it
// is there again when the page is, and goes when the cup is started over.

"use strict";

const boards = (() => {
  // sheets: those of the page. page: what sheet.js lends.
  function lead(sheets, { freshState, make, refresh, say }) {
    const cups = [...document.querySelectorAll(".board [data-cup]")].map((item) => ({
      item,
      at: sheets.findIndex((sheet) => sheet.anchor === item.dataset.cup),
    }));

    const isTicked = (at) => {
      const batch = keeping.underWay(sheets[at]);
      return batch !== null && batch.state.standing === true;
    };

    function toggle({ item, at }) {
      const sheet = sheets[at];
      const batch = keeping.underWay(sheet) || keeping.fresh(sheet, freshState(sheet));
      batch.state.standing = batch.state.standing !== true;
      keeping.put(batch);
      refresh(at);
      draw();
      say(`${item.getAttribute("aria-label")}: ${batch.state.standing ? "ticked" : "not ticked"}.`);
    }

    function draw() {
      for (const { item, at } of cups) {
        if (at >= 0) item.setAttribute("aria-checked", String(isTicked(at)));
      }
    }

    for (const cup of cups.filter(({ at }) => at >= 0)) {
      const { item } = cup;
      item.setAttribute("role", "checkbox");
      item.setAttribute("tabindex", "0");
      item.addEventListener("click", () => toggle(cup));
      item.addEventListener("keydown", (event) => {
        if (event.key !== " " && event.key !== "Enter") return;
        event.preventDefault();
        toggle(cup);
      });
    }
    for (const board of document.querySelectorAll(".board")) {
      board.append(make("p", { class: "how screen", text: "Tap a cup when it stands in its place; the tick is kept." }));
    }
    return { draw };
  }

  return { lead };
})();
