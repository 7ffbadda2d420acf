// Results narrowed down where they stand: by words, and by what the command's options compare. Nothing is sent.

"use strict";

(() => {
  const held = JSON.parse(document.getElementById("held").textContent);
  const words = document.getElementById("words");
  const count = document.getElementById("count");
  const choices = [...document.querySelectorAll("#narrow select")];
  const plain = (text) => text.normalize("NFKC").toLowerCase().replace(/\s+/gu, " ");

  // Recipes with their tiles, read from the page once: a key stroke looks at texts and not at the page.
  let at = 0;
  const recipes = [...document.querySelectorAll("section.recipe")].map((section) => {
    const name = section.querySelector("h2").textContent;
    const tiles = [...section.querySelectorAll("section.tile")].map((tile) => ({
      section: tile,
      text: plain(`${name} ${[...tile.querySelectorAll("h3, dt, dd")].map((one) => one.textContent).join(" ")}`),
      found: held[at++],
      shown: true,
    }));
    return { section, tiles, shown: true };
  });

  const show = (one, shown) => {
    if (one.shown === shown) return;
    one.shown = shown;
    one.section.hidden = !shown;
  };

  function narrow() {
    const asked = plain(words.value).split(" ").filter(Boolean);
    const chosen = choices.filter((choice) => choice.value !== "").map((choice) => [choice.dataset.what, choice.value]);
    let many = 0;
    for (const recipe of recipes) {
      let any = false;
      for (const tile of recipe.tiles) {
        const fits =
          chosen.every(([what, value]) => (tile.found[what] || []).includes(value)) &&
          asked.every((word) => tile.text.includes(word));
        show(tile, fits);
        if (fits) {
          any = true;
          many += 1;
        }
      }
      show(recipe, any);
    }
    const said = [
      ...(asked.length > 0 ? [`words: ${asked.join(" ")}`] : []),
      ...choices
        .filter((choice) => choice.value !== "")
        .map((choice) => `${choice.dataset.what}: ${choice.selectedOptions[0].textContent}`),
    ];
    const whole = `${held.length} fired ${held.length === 1 ? "tile" : "tiles"}`;
    count.textContent =
      said.length === 0 ? `${whole}.` : `${many === 0 ? "None" : many} of ${whole}; ${said.join("; ")}.`;
  }

  words.addEventListener("input", narrow);
  for (const choice of choices) choice.addEventListener("change", narrow);
  document.getElementById("all").addEventListener("click", () => {
    words.value = "";
    for (const choice of choices) choice.value = "";
    narrow();
    words.focus();
  });
  document.getElementById("narrow").hidden = false;
  narrow();
})();
