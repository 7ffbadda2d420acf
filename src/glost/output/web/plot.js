"use strict";
(() => {
  const held = JSON.parse(document.getElementById("held").textContent);
  const [NAME, LETTER, ATMOSPHERE, LOW, HIGH, ALKALIS, EARTHS, ZINC, BORON] = [0, 1, 2, 3, 4, 5, 6, 7, 8];
  const glazes = held.glazes;
  const SVG = "http://www.w3.org/2000/svg";
  const REACH = 24; // pixels from a mark that still mean it: a thumb is wide
  const MOST = 12; // glazes that a card tells one by one
  const marks = [...document.querySelectorAll("g[data-mark]")].map((element) => ({
    element,
    svg: element.ownerSVGElement,
    inner: element.querySelector("g"),
    told: element.getAttribute("aria-label"),
    label: element.querySelector(":scope > text"),
    members: element.dataset.mark.split(" ").map(Number),
    shown: [],
  }));
  const rows = new Map([...document.querySelectorAll("tr[data-row]")].map((row) => [Number(row.dataset.row), row]));
  const card = document.getElementById("card");
  const filter = document.getElementById("filter");
  let current = null;

  // ---- the card ----

  const cells = (number) => [...rows.get(number).cells].map((cell) => cell.textContent);
  const heads = (row) => [...row.closest("table").tHead.rows[0].cells].map((cell) => cell.textContent);
  const told = (number) => {
    const row = rows.get(number);
    const line = document.createElement("p");
    const name = document.createElement("b");
    name.textContent = row.querySelector("th").textContent;
    line.append(name);
    const names = heads(row);
    const parts = cells(number)
      .map((text, at) => [names[at], text, row.cells[at].tagName])
      .filter(([, text, tag]) => text && tag !== "TH")
      .map(([head, text]) => head + "\u00a0" + text);
    line.append(": " + parts.join(", "));
    return line;
  };
  const boxOf = (mark) => mark.inner.getBoundingClientRect();
  const show = (mark) => {
    const lines = mark.shown.filter((number) => rows.has(number)).slice(0, MOST).map(told);
    if (mark.shown.length > 1) {
      const count = document.createElement("p");
      count.textContent = mark.shown.length + " at one place" + (mark.shown.length > MOST ? "; the first " + MOST + ":" : ":");
      lines.unshift(count);
    }
    card.replaceChildren(...lines);
    card.hidden = false;
    const box = boxOf(mark);
    const size = card.getBoundingClientRect();
    const width = document.documentElement.clientWidth;
    const left = Math.min(Math.max(4, box.left + box.width / 2 - size.width / 2), width - size.width - 4);
    const below = box.bottom + 6;
    const top = below + size.height < window.innerHeight ? below : Math.max(4, box.top - size.height - 6);
    card.style.left = left + "px";
    card.style.top = top + "px";
  };
  const hide = () => {
    card.hidden = true;
    for (const mark of marks) {
      mark.element.classList.remove("met");
    }
    for (const row of rows.values()) {
      row.classList.remove("met");
    }
  };
  const meet = (mark) => {
    hide();
    mark.element.classList.add("met");
    for (const number of mark.shown) {
      rows.get(number)?.classList.add("met");
    }
    show(mark);
  };
  const select = (mark) => {
    for (const other of marks) {
      other.element.setAttribute("tabindex", other === mark ? "0" : "-1");
    }
    current = mark;
  };
  const nearest = (svg, x, y) => {
    let best = null;
    let least = REACH;
    for (const mark of marks) {
      if (mark.svg === svg && mark.shown.length) {
        const box = boxOf(mark);
        const away = Math.hypot(box.left + box.width / 2 - x, box.top + box.height / 2 - y);
        if (away < least) {
          best = mark;
          least = away;
        }
      }
    }
    return best;
  };

  // ---- what is shown ----

  const draw = (mark) => {
    const [number] = mark.shown;
    const glaze = glazes[number];
    const rect = (look, x, y, width, height) => {
      const part = document.createElementNS(SVG, "rect");
      for (const [name, value] of Object.entries({ class: look, x, y, width, height })) {
        part.setAttribute(name, value);
      }
      return part;
    };
    const text = (y, size, words) => {
      const part = document.createElementNS(SVG, "text");
      for (const [name, value] of Object.entries({ class: "letter", y, "font-size": size, "text-anchor": "middle" })) {
        part.setAttribute(name, value);
      }
      part.textContent = words;
      return part;
    };
    if (mark.shown.length > 1) {
      const wide = Math.max(18, 7 * String(mark.shown.length).length + 6);
      const box = rect("several", -wide / 2, -8, wide, 16);
      box.setAttribute("rx", 4);
      mark.inner.replaceChildren(box, text(4, 11, String(mark.shown.length)));
      return;
    }
    const parts = [text(3.6, 12, glaze[LETTER])];
    let left = -9;
    for (const [look, at] of [["alkalis", ALKALIS], ["earths", EARTHS], ["zinc", ZINC]]) {
      parts.push(rect(look, left, 6, 16 * glaze[at], 3.5));
      left += 16 * glaze[at];
    }
    const high = 24 * Math.min(glaze[BORON], 0.8);
    parts.push(rect("boron", 8.2, 9.5 - high, 2.6, high));
    mark.inner.replaceChildren(...parts);
  };
  const isMet = (glaze, wanted) => {
    if (!wanted.atmospheres.has(glaze[ATMOSPHERE])) {
      return false;
    }
    return glaze[HIGH] < 0 ? wanted.coneless : glaze[HIGH] >= wanted.low && glaze[LOW] <= wanted.high;
  };
  const boxes = () => [...filter.querySelectorAll("input[name=atmosphere]")];
  const from = document.getElementById("from");
  const to = document.getElementById("to");
  const coneless = document.getElementById("coneless");
  const rank = (list) => Number(list.selectedOptions[0]?.dataset.rank ?? -1);
  const isWhole = () =>
    from.selectedIndex <= 0 &&
    to.selectedIndex === to.options.length - 1 &&
    (!coneless || coneless.checked) &&
    boxes().every((box) => box.checked);

  const refresh = () => {
    hide();
    const wanted = {
      low: Math.min(rank(from), rank(to)),
      high: Math.max(rank(from), rank(to)),
      coneless: !coneless || coneless.checked,
      atmospheres: new Set(boxes().filter((box) => box.checked).map((box) => box.value)),
    };
    const shown = glazes.map((glaze) => isMet(glaze, wanted));
    let count = 0;
    for (const is of shown) {
      count += is;
    }
    for (const mark of marks) {
      const before = mark.shown.length;
      mark.shown = mark.members.filter((number) => shown[number]);
      mark.element.classList.toggle("gone", !mark.shown.length);
      if (mark.members.length > 1 && mark.shown.length && mark.shown.length !== before) {
        draw(mark);
      }
      if (mark.label) {
        // What stands beside a mark tells of all its glazes, and is true of no part of them.
        mark.label.classList.toggle("gone", mark.shown.length !== mark.members.length);
      }
      const all = mark.shown.length === mark.members.length;
      mark.element.setAttribute("aria-label", all ? mark.told : mark.shown.map((one) => glazes[one][NAME]).join("; "));
    }
    for (const [number, row] of rows) {
      row.classList.toggle("gone", !shown[number]);
    }
    for (const item of document.querySelectorAll("li[data-glaze]")) {
      item.classList.toggle("gone", !shown[Number(item.dataset.glaze)]);
      const list = item.closest("section");
      list.classList.toggle("gone", !list.querySelector("li:not(.gone)"));
    }
    for (const item of document.querySelectorAll(".key li[data-atmosphere]")) {
      item.classList.toggle("gone", !wanted.atmospheres.has(item.dataset.atmosphere));
    }
    for (const figure of document.querySelectorAll("figure[data-title]")) {
      const here = marks.filter((mark) => figure.contains(mark.element)).reduce((sum, mark) => sum + mark.shown.length, 0);
      figure.querySelector("figcaption").textContent =
        figure.dataset.title + ": " + here + (here === 1 ? " glaze" : " glazes");
      figure.classList.toggle("gone", !here && count > 0);
    }
    const asked = [];
    if (from.selectedIndex > 0 || to.selectedIndex < to.options.length - 1) {
      const [low, high] = [from, to].sort((one, other) => rank(one) - rank(other));
      asked.push(low.value === high.value ? "cone " + low.value : "cone " + low.value + " to " + high.value);
    }
    if (coneless && !coneless.checked) {
      asked.push("only with a cone");
    }
    if (boxes().some((box) => !box.checked)) {
      asked.push([...wanted.atmospheres].join(" or ") || "no atmosphere");
    }
    document.getElementById("asked").textContent = asked.length
      ? asked.join(", ") + ": " + count + " of " + glazes.length + (glazes.length === 1 ? " glaze" : " glazes")
      : "All " + glazes.length + (glazes.length === 1 ? " glaze" : " glazes");
    const first = marks.find((mark) => mark.shown.length) || null;
    select(current && current.shown.length ? current : first);
  };

  // ---- the address ----

  const address = () => {
    if (isWhole()) {
      return "";
    }
    const said = new URLSearchParams();
    said.set("cone", from.value + "-" + to.value);
    if (coneless && !coneless.checked) {
      said.set("coneless", "no");
    }
    if (boxes().some((box) => !box.checked)) {
      said.set("atmosphere", boxes().filter((box) => box.checked).map((box) => box.value).join(","));
    }
    return "#" + said;
  };
  let reading = false;
  const readAddress = () => {
    const said = new URLSearchParams(location.hash.slice(1));
    reading = true;
    filter.reset();
    reading = false;
    const [low, high] = (said.get("cone") || "").split("-");
    for (const [list, value] of [[from, low], [to, high]]) {
      if ([...list.options].some((option) => option.value === value)) {
        list.value = value;
      }
    }
    if (coneless && said.get("coneless") === "no") {
      coneless.checked = false;
    }
    const named = said.get("atmosphere");
    if (named !== null) {
      for (const box of boxes()) {
        box.checked = named.split(",").includes(box.value);
      }
    }
    refresh();
  };

  // ---- keys and pointers ----

  const centre = (mark) => {
    const box = boxOf(mark);
    return { x: box.left + box.width / 2, y: box.top + box.height / 2 };
  };
  // The nearest mark in the direction of the arrow; what lies off to the side counts as further.
  const next = (across, down) => {
    const here = centre(current);
    let best = null;
    let least = Infinity;
    for (const mark of marks) {
      if (mark === current || !mark.shown.length) {
        continue;
      }
      const there = centre(mark);
      const x = there.x - here.x;
      const y = there.y - here.y;
      const along = across * x + down * y;
      const cost = along + 2 * (Math.abs(down * x) + Math.abs(across * y));
      if (along > 0 && cost < least) {
        best = mark;
        least = cost;
      }
    }
    return best;
  };
  const arrows = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
  const panels = document.querySelector(".panels");
  panels.addEventListener("keydown", (event) => {
    if (!current || event.ctrlKey || event.altKey || event.metaKey) {
      return;
    }
    const there = marks.filter((mark) => mark.shown.length);
    let going = null;
    if (event.key in arrows) {
      going = next(...arrows[event.key]);
    } else if (event.key === "Home") {
      going = there[0];
    } else if (event.key === "End") {
      going = there[there.length - 1];
    } else if (event.key === "Escape") {
      hide();
      return;
    } else {
      return;
    }
    event.preventDefault();
    if (going) {
      select(going);
      going.element.focus();
    }
  });
  for (const mark of marks) {
    mark.shown = mark.members;
    mark.element.setAttribute("role", "img");
    mark.element.addEventListener("focus", () => {
      mark.element.scrollIntoView({ block: "nearest", inline: "nearest" });
      select(mark);
      meet(mark);
    });
  }
  panels.addEventListener("focusout", hide);
  for (const svg of panels.querySelectorAll("svg")) {
    const at = (event) => {
      const mark = nearest(svg, event.clientX, event.clientY);
      if (mark) {
        meet(mark);
      } else {
        hide();
      }
    };
    svg.addEventListener("pointermove", (event) => event.pointerType === "mouse" && at(event));
    svg.addEventListener("pointerleave", (event) => event.pointerType === "mouse" && hide());
    svg.addEventListener("click", at);
  }
  document.addEventListener(
    "scroll",
    () => {
      const met = marks.find((mark) => mark.element.classList.contains("met"));
      if (met) {
        show(met);
      }
    },
    { passive: true, capture: true }
  );
  document.addEventListener("keydown", (event) => event.key === "Escape" && hide());

  if (filter) {
    if (window.innerWidth >= 1000) {
      document.getElementById("choose").open = true;
    }
    filter.addEventListener("input", () => {
      history.pushState(null, "", address() || location.pathname);
      refresh();
    });
    filter.addEventListener("reset", () => {
      if (!reading) {
        setTimeout(() => {
          history.pushState(null, "", location.pathname);
          refresh();
        });
      }
    });
    filter.addEventListener("submit", (event) => event.preventDefault());
    window.addEventListener("popstate", readAddress);
    readAddress();
  } else {
    select(marks.find((mark) => mark.shown.length) || null);
  }
})();
