
"use strict";
(() => {
  const points = [...document.querySelectorAll("#chart g[data-low]")];
  const filter = document.getElementById("filter");
  const from = document.getElementById("from");
  const to = document.getElementById("to");
  const coneless = document.getElementById("coneless");
  const told = document.getElementById("told");
  const numberOf = (point) => point.id.slice(1);
  const row = (point) => document.getElementById("r" + numberOf(point));
  const line = (point) => document.getElementById("l" + numberOf(point));
  const words = (point) => point.querySelector("title").textContent;
  const placeOf = (point) => {
    const box = point.querySelector("circle, polygon").getBBox();
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  };
  const places = new Map(points.map((point) => [point, placeOf(point)]));
  let shown = points;
  let current = null;

  const select = (point, move) => {
    for (const other of points) {
      other.setAttribute("tabindex", other === point ? "0" : "-1");
      row(other).classList.toggle("met", other === point && move);
    }
    current = point;
    if (point && move) {
      point.focus();
      told.textContent = words(point);
    }
  };

  const refresh = () => {
    const shapes = new Set(
      [...document.querySelectorAll("input[name=atmosphere]:checked")].map((box) => box.value)
    );
    const low = from.value === "" ? -1 : Math.min(Number(from.value), Number(to.value));
    const high = from.value === "" ? -1 : Math.max(Number(from.value), Number(to.value));
    shown = points.filter((point) => {
      const least = Number(point.dataset.low);
      const most = Number(point.dataset.high);
      const cone = most < 0 ? !coneless || coneless.checked : most >= low && least <= high;
      return cone && shapes.has(point.dataset.atmosphere);
    });
    const kept = new Set(shown);
    for (const point of points) {
      for (const part of [point, row(point), line(point)]) {
        if (part) {
          part.classList.toggle("gone", !kept.has(point));
        }
      }
    }
    told.textContent = shown.length + " of " + points.length + (points.length === 1 ? " glaze" : " glazes") + " shown";
    select(kept.has(current) ? current : shown[0] || null, false);
  };

  // The nearest glaze in the direction of the arrow; what lies off to the side counts as further.
  const next = (across, down) => {
    const here = places.get(current);
    let best = null;
    let least = Infinity;
    for (const point of shown) {
      const there = places.get(point);
      const x = there.x - here.x;
      const y = there.y - here.y;
      const along = across * x + down * y;
      const aside = Math.abs(down * x) + Math.abs(across * y);
      const cost = along + 2 * aside;
      if (point !== current && along > 0 && cost < least) {
        best = point;
        least = cost;
      }
    }
    return best;
  };

  const arrows = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
  document.getElementById("chart").addEventListener("keydown", (event) => {
    if (!current || event.ctrlKey || event.altKey || event.metaKey) {
      return;
    }
    let going = null;
    if (event.key in arrows) {
      going = next(...arrows[event.key]);
    } else if (event.key === "Home") {
      going = shown[0];
    } else if (event.key === "End") {
      going = shown[shown.length - 1];
    } else if (event.key === "Enter") {
      row(current).scrollIntoView({ block: "center" });
    } else {
      return;
    }
    event.preventDefault();
    if (going) {
      select(going, true);
    }
  });
  for (const point of points) {
    point.setAttribute("role", "img");
    point.setAttribute("aria-label", words(point));
    point.addEventListener("click", () => select(point, true));
    point.addEventListener("focus", () => select(point, document.activeElement === point && current !== point));
  }
  filter.addEventListener("input", refresh);
  filter.addEventListener("reset", () => setTimeout(refresh));
  filter.addEventListener("submit", (event) => event.preventDefault());
  refresh();
})();
