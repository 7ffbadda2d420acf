"use strict";
(() => {
  const held = JSON.parse(document.getElementById("held").textContent);
  const table = Rows.open(held);
  const it = (id) => document.getElementById(id);
  const [scroller, grid, body, dialog, told] = ["scroller", "table", "rows", "detail", "told"].map(it);
  const narrow = matchMedia("(max-width: 900px)");
  const PLAIN = ["q", "from", "to", "kind", "atmosphere", "use", "surface", "findings", "fired"];
  const PIECE = 500; // rows of one table on paper
  const SPARE = 8; // rows above and below what is seen, so that a quick scroll shows no gap

  let wanted = Rows.fromPart("");
  let order = table.rows;
  let shown = table.rows;
  let leftOut = 0;
  let open = null; // the row that is shown in full
  let leaving = false; // on the way back to the address without it
  let active = 0; // the place among the shown rows that the keys stand on
  let drawn = {}; // which rows are made
  let headHeight = 0;
  // Rows are as high as what stands in them. The height of one that was not on the screen yet is guessed.
  let guess = 52;
  const heights = new Float64Array(table.rows.length); // by place; 0 where it is not known
  let tops = null; // by the order shown, and behind the last one the height of all; null where they changed

  // All text becomes part of the page here, and only as text.
  const make = (tag, about = {}, ...inside) => {
    const made = document.createElement(tag);
    for (const [key, value] of Object.entries(about)) {
      made.setAttribute(key, value);
    }
    made.append(...inside.filter((one) => one !== null && one !== ""));
    return made;
  };
  const counted = (number, word) => number.toLocaleString("en") + " " + word + (number === 1 ? "" : "s");

  // ---- a row ----------------------------------------------------------------------------------------------

  // In quotes, as a recipe has it, stands a name that would run into an amount or a comma.
  const quoted = (name) => (/[0-9]$|[:;,()#]/.test(name) ? '"' + name + '"' : name);
  const lists = (weighed) => weighed.map((one) => quoted(one.name) + " " + one.amount).join(", ");
  const materials = (row) =>
    lists(row.base) + (row.additions.length ? (row.base.length ? " + " : "") + lists(row.additions) : "");
  const unread = (about) => ["", "has lines that cannot be read", "cannot be read"][about.read];
  const name = (row) => row.about.name || row.about.file;
  const place = (row) => row.about.file + ":" + row.line;
  const findings = (about) =>
    ["error", "warning", "hint"]
      .map((level, at) => (about.counts[at] ? counted(about.counts[at], level) : ""))
      .filter(Boolean)
      .join(", ");
  const revision = (about) =>
    about.revision
      ? about.revision.short + " " + about.revision.day + (about.revision.changed ? ", changed since" : "")
      : "none";
  const notKnown = (row) =>
    row.about.read > 0 ? "not all known: unread lines" : "not known: " + row.harm.unknown.join(", ");
  const restricted = (row) => {
    const found = new Set(row.harm.restricted.map((one) => one.what));
    return found.size ? "restricted for " + [...found].join(", ") : "";
  };
  // An empty place would look like no hazard.
  const hazards = (row) =>
    [row.known ? "" : notKnown(row), restricted(row), row.harm.groups.join(", ")].filter(Boolean).join("; ") ||
    "none on record";

  const outcome = (fired) => [fired.surface, fired.colour].filter(Boolean).join(", ");
  const newest = (row) => {
    const fired = row.fired;
    if (!fired) {
      return section("Newest tile", make("p", {}, "never fired"));
    }
    return section("Newest tile",
      pairs([
        ["fired", fired.date + ", " + fired.firing + ", tile " + fired.tile + (fired.cone ? ", cone " + fired.cone : "")],
        ["surface", fired.surface], ["colour", fired.colour], ["faults", fired.faults.join(", ")], ["remarks", fired.remarks],
      ]),
      fired.photo ? make("p", {}, make("a", { href: fired.photo, target: "_blank", rel: "noreferrer" },
        fired.small ? make("img", { src: fired.small, alt: "Picture of tile " + fired.tile }) : "Picture of tile " + fired.tile)) : "");
  };

  // The folders that all files share, with their last stroke, are left out of the cells.
  const common = (() => {
    const [first, ...others] = [...new Set(table.rows.map((row) => row.about.file))];
    let at = others.length ? first.lastIndexOf("/") + 1 : 0;
    while (at && !others.every((file) => file.startsWith(first.slice(0, at)))) {
      at = first.lastIndexOf("/", at - 2) + 1;
    }
    return at;
  })();

  const DRAWING = it("drawing").namespaceURI;
  // What a test is made of: each part as wide as its share, the additions lower. A sum of 100 fills the bar.
  const bar = (row) => {
    const parts = [...row.base.map((one) => [one, true]), ...row.additions.map((one) => [one, false])]
      .map(([one, base]) => ({ tone: one.tone, amount: Number(one.amount), base }));
    const whole = parts.reduce((sum, one) => sum + one.amount, 0);
    if (row.about.read || !row.base.length || !(whole > 0)) {
      return "";
    }
    const drawing = document.createElementNS(DRAWING, "svg");
    for (const [key, value] of [["class", "parts-bar"], ["viewBox", "0 0 1000 10"], ["preserveAspectRatio", "none"], ["aria-hidden", "true"]]) {
      drawing.setAttribute(key, value);
    }
    const gap = row.additions.length ? 8 : 0;
    let at = 0;
    for (const one of parts) {
      const push = one.base ? 0 : gap;
      const [left, right] = [at, at + one.amount].map((sum) => Math.round((sum / whole) * (1000 - gap)) + push);
      const made = document.createElementNS(DRAWING, "rect");
      const y = one.base ? 0 : 4;
      // A trace is still to be seen.
      for (const [key, value] of [["class", one.tone], ["x", left], ["y", y], ["width", Math.max(right - left - 2, 2)], ["height", 10 - y]]) {
        made.setAttribute(key, value);
      }
      drawing.append(made);
      at += one.amount;
    }
    return drawing;
  };

  const cells = {
    // A test by its own name; a recipe by its kind and where it lies.
    name: (row) => [
      make("b", {}, name(row)),
      row.sheet ? make("a", { href: row.sheet, tabindex: "-1" }, "batch sheet") : "",
      row.about.read
        ? make("em", {}, unread(row.about))
        : row.test
          ? make("span", {}, row.step)
          : make("small", {}, row.about.kind + ", " + row.about.file.slice(common)),
    ],
    cone: (row) => [row.about.cone],
    atmosphere: (row) => [row.about.atmosphere],
    surface: (row) => [row.about.surface],
    colour: (row) => [row.about.colour],
    use: (row) => [row.about.use],
    fired: (row) =>
      row.fired
        ? [outcome(row.fired), row.fired.faults.length ? make("em", {}, (outcome(row.fired) ? "; " : "") + row.fired.faults.join(", ")) : "",
            make("small", {}, " " + row.fired.date)]
        : [make("small", {}, "never fired")],
    // What was added comes first: it is what tells tests of one recipe apart.
    materials: (row) => [
      bar(row),
      make("p", {}, row.additions.length ? "+ " + lists(row.additions) + (row.base.length ? "; " : "") : "",
        lists(row.base)),
    ],
    hazards: (row) => [make(row.known && !row.harm.restricted.length ? "span" : "em", {}, hazards(row))],
    findings: (row) => [make("span", { class: row.about.counts[0] ? "bad" : "" }, findings(row.about))],
    revision: (row) => [
      row.about.revision ? make("code", {}, row.about.revision.short) : "none",
      row.about.revision ? " " + row.about.revision.day : "",
      row.about.revision && row.about.revision.changed ? make("em", {}, " changed since") : "",
    ],
  };

  const line = (row, at) => {
    const made = make("tr", { role: "row", id: "r" + at, "aria-rowindex": at + 2 });
    for (const [key] of held.columns) {
      const about = key === "name" ? { role: "rowheader", scope: "row" } : { role: "gridcell" };
      made.append(make(key === "name" ? "th" : "td", { ...about, class: key }, make("div", {}, ...cells[key](row))));
    }
    return made;
  };

  // ---- the rows that fit ----------------------------------------------------------------------------------

  const gap = (height) => {
    const made = make("tr", { class: "gap", "aria-hidden": "true" }, make("td"));
    made.firstChild.style.height = height + "px";
    return made;
  };

  const topsNow = () => {
    if (tops === null) {
      tops = new Float64Array(shown.length + 1);
      for (let at = 0; at < shown.length; at += 1) {
        tops[at + 1] = tops[at] + (heights[shown[at].place] || guess);
      }
    }
    return tops;
  };

  // The row that stands at that height: the last one that begins at it or above.
  const rowAt = (height) => {
    const all = topsNow();
    let [low, high] = [0, Math.max(0, shown.length - 1)];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (all[middle] <= height) {
        low = middle;
      } else {
        high = middle - 1;
      }
    }
    return low;
  };

  // Looks how high the rows are that were made. Whether one is not as was thought.
  const measure = () => {
    headHeight = grid.tHead.getBoundingClientRect().height;
    let differs = false;
    let [sum, count] = [0, 0];
    for (const row of body.querySelectorAll("tr[id]")) {
      const height = row.getBoundingClientRect().height;
      const place = shown[Number(row.id.slice(1))].place;
      if (height && Math.abs(height - heights[place]) > 0.4) {
        heights[place] = height;
        differs = true;
      }
      sum += height;
      count += 1;
    }
    if (differs && sum) {
      guess = sum / count;
      tops = null;
    }
    return differs;
  };

  const makeRows = () => {
    const from = Math.max(0, rowAt(scroller.scrollTop) - SPARE);
    const to = Math.min(shown.length, rowAt(scroller.scrollTop + scroller.clientHeight) + 1 + SPARE);
    const all = topsNow();
    if (drawn.shown !== shown) {
      body.replaceChildren(gap(0), gap(0));
      drawn = { shown };
    }
    // The same rows are left where they are: a finger, a selection or a reader of the screen may be on one of them.
    for (const row of body.querySelectorAll("tr[id]")) {
      const at = Number(row.id.slice(1));
      if (at < from || at >= to) {
        row.remove();
      }
    }
    let next = body.firstChild.nextSibling;
    for (let at = from; at < to; at += 1) {
      if (next.id === "r" + at) {
        next = next.nextSibling;
      } else {
        body.insertBefore(line(shown[at], at), next);
      }
    }
    body.firstChild.firstChild.style.height = all[from] + "px";
    body.lastChild.firstChild.style.height = all[shown.length] - all[to] + "px";
  };

  const draw = () => {
    for (let tries = 0; tries < 5; tries += 1) {
      makeRows();
      const first = rowAt(scroller.scrollTop);
      const into = scroller.scrollTop - topsNow()[first];
      if (!measure()) {
        break;
      }
      // What stands first on the screen stays where it is, whatever the rows above it turned out to be.
      makeRows();
      const wanted = topsNow()[first] + into;
      if (scroller.scrollTop > 0 && Math.abs(scroller.scrollTop - wanted) > 0.5) {
        scroller.scrollTop = wanted;
      }
    }
    for (const row of body.querySelectorAll("tr[id]")) {
      const mine = row.id === "r" + active;
      row.classList.toggle("active", mine);
      row.setAttribute("aria-selected", mine);
    }
    grid.setAttribute("aria-rowcount", shown.length + 1);
    it("none").hidden = shown.length > 0;
    if (shown.length) {
      grid.setAttribute("aria-activedescendant", "r" + active);
    } else {
      grid.removeAttribute("aria-activedescendant");
    }
  };

  let waiting = false;
  scroller.addEventListener("scroll", () => {
    if (!waiting) {
      waiting = true;
      requestAnimationFrame(() => {
        waiting = false;
        draw();
      });
    }
  });
  let width = 0;
  new ResizeObserver(() => {
    if (scroller.clientWidth !== width) {
      const first = rowAt(scroller.scrollTop);
      width = scroller.clientWidth;
      heights.fill(0);
      tops = null;
      drawn = {};
      draw();
      scroller.scrollTop = topsNow()[first];
    }
    draw();
  }).observe(scroller);

  const goTo = (at) => {
    active = Math.max(0, Math.min(shown.length - 1, at));
    // Rows on the way may turn out higher than was thought.
    for (let tries = 0; tries < 4; tries += 1) {
      const [top, bottom] = [topsNow()[active], topsNow()[active + 1]];
      const room = scroller.clientHeight - headHeight;
      if (top < scroller.scrollTop) {
        scroller.scrollTop = top;
      } else if (bottom > scroller.scrollTop + room) {
        scroller.scrollTop = bottom - room;
      } else if (tries) {
        break;
      }
      draw();
    }
  };

  grid.addEventListener("keydown", (event) => {
    if (event.target !== grid || event.ctrlKey || event.altKey || event.metaKey || !shown.length) {
      return;
    }
    const page = Math.max(1, Math.floor((scroller.clientHeight - headHeight) / guess) - 1);
    const moves = {
      ArrowDown: active + 1,
      ArrowUp: active - 1,
      PageDown: active + page,
      PageUp: active - page,
      Home: 0,
      End: shown.length - 1,
    };
    if (event.key in moves) {
      goTo(moves[event.key]);
    } else if (event.key === "Enter") {
      openDetail(shown[active]);
    } else {
      return;
    }
    event.preventDefault();
  });
  body.addEventListener("click", (event) => {
    const found = event.target.closest("tr[id]");
    const marked = getSelection();
    // Whoever marks text, or follows a link, does not open the row.
    if (!found || event.target.closest("a") || (!marked.isCollapsed && marked.containsNode(found, true))) {
      return;
    }
    active = Number(found.id.slice(1));
    draw();
    openDetail(shown[active]);
  });
  // Where no text is marked, the row that the keys stand on is copied.
  grid.addEventListener("copy", (event) => {
    if (getSelection().isCollapsed && shown.length) {
      event.clipboardData.setData("text/plain", asText(shown[active]));
      event.preventDefault();
    }
  });
  it("skip").addEventListener("click", () => grid.focus());

  // ---- one row in full ------------------------------------------------------------------------------------

  const section = (heading, ...inside) => make("section", {}, make("h3", {}, heading), ...inside);
  const list = (texts) => make("ul", {}, ...texts.map((text) => make("li", {}, text)));
  const pairs = (found) =>
    make("dl", {}, ...found.filter(([, said]) => said).map(([what, said]) =>
      make("div", {}, make("dt", {}, what), make("dd", {}, said))
    ));
  const plain = (text) => text.replace(/\s*<[^>]*>/g, "");

  const amounts = (row) => {
    const lines = (weighed) =>
      weighed.map((one) => {
        const aside = [one.written ? "written '" + one.written + "'" : "", one.note].filter(Boolean).join("; ");
        return make("tr", {}, make("th", { scope: "row" }, one.name, aside ? make("small", {}, aside) : ""),
          make("td", {}, one.amount));
      });
    const made = make("table", { class: "amounts" }, make("tbody", {}, ...lines(row.base)));
    if (row.additions.length) {
      const heading = make("tr", {}, make("th", { scope: "rowgroup", colspan: "2" }, "additions"));
      made.append(make("tbody", {}, heading, ...lines(row.additions)));
    }
    return made;
  };

  const harm = (row) => {
    const found = row.harm;
    const made = [];
    if (row.about.read) {
      made.push(make("p", { class: "bad" }, "Lines of this page cannot be read, so its materials and hazards are not all known."));
    }
    if (found.unknown.length) {
      made.push(make("p", { class: "bad" }, held.words.unknown + ": " + found.unknown.join(", ") + "."));
    }
    for (const one of found.restricted) {
      made.push(make("p", { class: "bad" }, "Restricted for its " + one.what + ": " + one.name + ". " + held.words.restricted));
    }
    if (found.listed.length) {
      const by = new Map(found.codes.map((code) => [code, []]));
      for (const one of found.listed) {
        one.codes.forEach((code) => by.get(code).includes(one.material) || by.get(code).push(one.material));
      }
      made.push(make("p", {}, held.words.listed + "."));
      made.push(make("dl", { class: "codes" }, ...[...by].map(([code, names]) =>
        make("div", {}, make("dt", {}, code), make("dd", {}, plain(held.statements[code]), make("small", {}, names.join(", "))))
      )));
      made.push(make("details", {}, make("summary", {}, "Where the statements stand"),
        list(found.listed.map((one) => one.material + ": " + one.cited))));
    }
    if (found.silent.length) {
      made.push(make("p", {}, held.words.silent + ": " + found.silent.join(", ") + "."));
    }
    return made;
  };

  // A row as text, to paste into a message: nothing of its hazards is left out.
  const asText = (row) => {
    const about = row.about;
    const lines = (weighed) => weighed.map((one) => "  " + quoted(one.name) + " " + one.amount);
    return [
      name(row) + (row.test ? ", " + row.step : ""),
      [about.cone && "cone " + about.cone, about.atmosphere, about.surface, about.colour].filter(Boolean).join(", "),
      about.read ? "amounts, as far as they can be read:" : "base of 100:",
      ...lines(row.base),
      row.additions.length ? "additions:" : "",
      ...lines(row.additions),
      "hazards on record: " + hazards(row) + (row.harm.codes.length ? " (" + row.harm.codes.join(" ") + ")" : ""),
      row.harm.silent.length ? held.words.silent + ": " + row.harm.silent.join(", ") : "",
      place(row) + ", revision " + revision(about),
      held.words.precedence,
    ].filter(Boolean).join("\n") + "\n";
  };

  const copying = (row) => {
    const said = make("p", { class: "note", role: "status" });
    const button = make("button", { type: "button", id: "copy" }, "Copy as text");
    button.addEventListener("click", async () => {
      try {
        await navigator.clipboard.writeText(asText(row));
        said.textContent = "Copied.";
      } catch {
        const field = make("textarea", { readonly: "", rows: "8", "aria-label": "This row as text" });
        field.value = asText(row);
        said.replaceChildren("This browser did not copy it: take it from here.", field);
        field.select();
      }
    });
    return [button, said];
  };

  // Each part of a path by itself, so that no sign in it is taken for more than a name.
  const fileLink = (row) => {
    const file = row.about.file;
    return held.folder === null || file.startsWith("/") || file.includes(":") || file.includes("\\")
      ? place(row)
      : make("a", { href: held.folder + "/" + file.split("/").map(encodeURIComponent).join("/") }, place(row));
  };

  const openDetail = (row, add = true) => {
    const about = row.about;
    const close = make("button", { type: "button", id: "close" }, "Close");
    close.addEventListener("click", () => dialog.close());
    if (later) {
      keep(true); // what was asked for is a step of its own
    }
    open = row;
    keep(add);
    const title = make("h2", { id: "detail-name", tabindex: "-1" }, name(row), row.test ? ", " + row.step : "");
    const parts = [
      make("div", { class: "head" }, title, close),
      pairs([
        ["kind", about.kind], ["cone", about.cone], ["atmosphere", about.atmosphere], ["surface", about.surface],
        ["colour", about.colour], ["use", about.use], ["date", about.date], ["tags", about.tags.join(", ")],
        ...about.others, ["file", fileLink(row)], ["revision", revision(about)],
      ]),
    ];
    if (row.base.length || row.additions.length) {
      parts.push(section(about.read ? "Amounts, as far as they can be read" : "Amounts, on a base of 100", amounts(row),
        bar(row),
        make("p", { class: "note" }, "To weigh a batch, take the ", row.sheet ? make("a", { href: row.sheet }, "batch sheet") : "sheet",
          ": it rounds to the balance.")));
    }
    if (row.about.read !== 2) {
      parts.push(newest(row));
    }
    parts.push(section("Hazards", ...harm(row)));
    if (row.harm.cautions.length) {
      parts.push(section("Cautions", list(row.harm.cautions.map((one) =>
        one.names.length ? one.names.join(", ") + ": " + one.text : one.text))));
    }
    parts.push(section("Findings", about.findings.length
      ? make("ul", {}, ...about.findings.map((one) => make("li", {}, make("b", {}, one.level + ", line " + one.line),
        " " + one.message + " ", make("small", {}, "(" + one.rule + ") hint: " + one.hint))))
      : make("p", {}, "none")));
    if (about.notes) {
      parts.push(section("Notes", make("p", { class: "prose" }, about.notes)));
    }
    if (!row.harm.cautions.length) {
      parts.push(make("p", { class: "note" }, held.words.precedence));
    }
    parts.push(...copying(row));
    dialog.replaceChildren(make("div", { class: "inside" }, ...parts));
    if (!dialog.open) {
      dialog.showModal();
    }
    dialog.scrollTop = 0;
    title.focus();
  };
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) {
      dialog.close();
    }
  });
  dialog.addEventListener("close", () => {
    dialog.replaceChildren();
    grid.focus({ preventScroll: true });
    if (open) {
      open = null;
      if (history.state && history.state.opened) {
        leaving = true; // back to where the row was not open; nothing that was asked for meanwhile is lost
        history.back();
      } else {
        keep(false);
      }
    }
  });

  // ---- what is asked for ----------------------------------------------------------------------------------

  const label = (id) => it(id).selectedOptions[0].textContent;
  const said = () => {
    const parts = [];
    const add = (asked, text) => asked && parts.push(text);
    add(wanted.q, "words '" + wanted.q + "'");
    add(wanted.with.length, "with " + wanted.with.join(" and "));
    add(wanted.without.length, "without " + wanted.without.join(" and "));
    add(wanted.from && wanted.to, "cone " + label("from") + " to " + label("to"));
    add(wanted.from && !wanted.to, "cone " + label("from") + " or hotter");
    add(wanted.to && !wanted.from, "cone " + label("to") + " or cooler");
    add(wanted.kind, wanted.kind);
    add(wanted.atmosphere, wanted.atmosphere);
    add(wanted.use, "use " + wanted.use);
    add(wanted.surface, "surface '" + wanted.surface + "'");
    add(wanted.findings, "findings: " + label("findings"));
    add(wanted.fired, label("fired") + (wanted.fired === "faults" || wanted.fired === "clean" ? " on the newest tile" : ""));
    for (const [key, , words] of held.groups) {
      add(wanted.free.includes(key), "free of, on record: " + words);
    }
    return parts;
  };

  const tell = () => {
    told.textContent = shown.length === table.rows.length
      ? "All " + counted(shown.length, "row")
      : shown.length.toLocaleString("en") + " of " + counted(table.rows.length, "row");
    const silent = wanted.free.length ? shown.filter((row) => row.harm.silent.length).length : 0;
    it("left-out").textContent = [
      leftOut ? counted(leftOut, "row") + " left out: a material is not known, or a line cannot be read." : "",
      silent
        ? "In " + counted(silent, "row") + " shown, a material has no statement on record at all, which does not mean no hazard."
        : "",
    ].filter(Boolean).join(" ");
    const asked = said().length;
    it("count-filters").textContent = asked ? "(" + asked + ")" : "";
  };

  const select = () => {
    ({ found: shown, leftOut } = Rows.select(table, order, wanted));
    active = 0;
    tops = null;
    scroller.scrollTop = 0;
    draw();
    tell();
    keepSoon();
  };

  // The address says what is asked for, and which row is open. Each filter is a step for the browser's Back; the
  // letters of one word are one step.
  let later = 0;
  let typing = ""; // the field that is typed in
  let kept = ""; // the field whose letters made the last step
  const part = () => {
    const asked = Rows.toPart(wanted);
    return asked + (open ? (asked ? "&" : "") + new URLSearchParams({ row: Rows.keyOf(open) }) : "");
  };
  const address = () => (part() ? "#" + part() : location.pathname + location.search);
  const keep = (add) => {
    clearTimeout(later);
    later = 0;
    if (part() !== location.hash.slice(1)) {
      history[add ? "pushState" : "replaceState"](open ? { opened: add } : null, "", address());
    }
  };
  const keepSoon = () => {
    clearTimeout(later);
    later = setTimeout(() => {
      if (leaving) {
        keepSoon();
        return;
      }
      const same = typing !== "" && typing === kept;
      kept = typing;
      keep(!same);
    }, 200);
  };

  const sortBy = (asked) => {
    it("order").value = asked;
    const sort = it("order").value === asked ? asked : ""; // an address from elsewhere may name anything
    it("order").value = sort;
    wanted.sort = sort;
    order = Rows.ordered(table, sort);
    const [key, way] = sort.split(",");
    for (const heading of grid.tHead.querySelectorAll("th")) {
      const mine = heading.classList.contains(key);
      heading.setAttribute("aria-sort", mine ? (way === "down" ? "descending" : "ascending") : "none");
    }
  };

  const refresh = () => {
    for (const id of PLAIN) {
      it(id).value = wanted[id];
      if (it(id).value !== wanted[id]) {
        wanted[id] = "";
        it(id).value = "";
      }
    }
    wanted.free = held.groups.map(([key]) => key).filter((key) => wanted.free.includes(key));
    for (const box of document.getElementsByName("free")) {
      box.checked = wanted.free.includes(box.value);
    }
    chips("with");
    chips("without");
    sortBy(wanted.sort);
    select();
    clearTimeout(later); // the address says so already
    later = 0;
  };

  // What an address says: the filters, and the row that is open.
  const follow = () => {
    wanted = Rows.fromPart(location.hash);
    typing = kept = "";
    refresh();
    const key = new URLSearchParams(location.hash.slice(1)).get("row");
    const row = key === null ? null : Rows.named(table, key);
    if (row) {
      goTo(Math.max(0, shown.indexOf(row)));
      openDetail(row, false);
    } else {
      open = null;
      dialog.close();
      if (key !== null) {
        it("left-out").textContent = "The row of this address is not in this table: " + key;
      }
    }
  };

  const chips = (key) => {
    it(key + "-chosen").replaceChildren(
      ...wanted[key].map((chosen, at) => {
        const button = make("button", { type: "button", "aria-label": "take away: " + (key === "with" ? "with " : "without ") + chosen },
          chosen, make("span", { "aria-hidden": "true" }, " ×"));
        button.addEventListener("click", () => {
          wanted[key].splice(at, 1);
          chips(key);
          select();
          it(key).focus();
        });
        return make("li", {}, button);
      })
    );
  };

  const take = (key) => {
    const field = it(key);
    const found = Rows.meant(table, field.value);
    if (found.length) {
      const chosen = table.materials[found[0]].name;
      if (!wanted[key].includes(chosen)) {
        wanted[key].push(chosen);
      }
      const typed = field.value.trim();
      it(key + "-told").textContent = Rows.fold(typed) === Rows.fold(chosen) ? "" : "'" + typed + "' is " + chosen;
      field.value = "";
      chips(key);
      select();
    } else {
      it(key + "-told").textContent = field.value.trim()
        ? "no one material here is called '" + field.value.trim() + "'"
        : "";
    }
  };
  for (const key of ["with", "without"]) {
    it(key).addEventListener("change", () => take(key));
    it(key).addEventListener("input", () => {
      it(key + "-told").textContent = "";
    });
    it(key).addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        take(key);
      }
    });
  }

  const form = it("form");
  const asked = (event) => {
    const { id, name, value } = event.target;
    if (name === "free") {
      wanted.free = [...document.getElementsByName("free")].filter((box) => box.checked).map((box) => box.value);
    } else if (PLAIN.includes(id) && wanted[id] !== value) {
      wanted[id] = value;
    } else {
      return;
    }
    typing = ["q", "surface"].includes(id) ? id : "";
    select();
  };
  form.addEventListener("focusout", () => {
    typing = kept = "";
  });
  // Some browsers tell of a choice in a list with the one event, some with the other.
  form.addEventListener("input", asked);
  form.addEventListener("change", asked);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", (event) => {
    event.preventDefault();
    const sort = wanted.sort;
    wanted = { ...Rows.fromPart(""), sort };
    for (const key of ["with", "without"]) {
      it(key).value = "";
      it(key + "-told").textContent = "";
    }
    refresh();
  });
  grid.tHead.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-sort]");
    if (button) {
      const key = button.dataset.sort;
      // Once up, once down, then as the files come.
      sortBy({ [key]: key + ",down", [key + ",down"]: "" }[wanted.sort] ?? key);
      select();
    }
  });
  it("order").addEventListener("change", (event) => {
    sortBy(event.target.value);
    select();
  });
  addEventListener("popstate", () => {
    if (leaving) {
      leaving = false;
      keepSoon();
    } else {
      follow();
    }
  });

  // ---- paper ----------------------------------------------------------------------------------------------

  const paper = it("paper");
  const onPaper = (row) =>
    make("tr", {},
      make("th", { scope: "row" }, make("b", {}, name(row)), row.test ? ", " + row.step : "",
        make("small", {}, [row.about.kind, place(row), row.about.date].filter(Boolean).join(", ")),
        row.about.read ? make("em", {}, unread(row.about)) : ""),
      make("td", {}, [row.about.cone && "cone " + row.about.cone, row.about.atmosphere].filter(Boolean).join(", ")),
      make("td", {}, [row.about.surface, row.about.colour].filter(Boolean).join("; "),
        row.about.use ? make("small", {}, "use: " + row.about.use) : "",
        make("small", {}, row.fired
          ? "tile of " + row.fired.date + ": " + ([outcome(row.fired), ...row.fired.faults].filter(Boolean).join(", ") || "nothing written down")
          : "never fired")),
      make("td", {}, materials(row)),
      make("td", {}, row.harm.codes.join(" "), make("small", {}, hazards(row))),
      make("td", {}, findings(row.about), make("small", {}, revision(row.about))));

  addEventListener("beforeprint", () => {
    const now = new Date();
    const day = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
    const asked = said();
    // A browser that lays one table of twenty thousand rows out on pages runs out of memory; in pieces it does not.
    const pieces = Array.from({ length: Math.ceil(shown.length / PIECE) }, (_, at) =>
      shown.slice(at * PIECE, (at + 1) * PIECE));
    const headings = ["Recipe and test", "Firing", "Surface; colour", "Materials, base 100", "Hazards on record", "Findings; revision"];
    paper.replaceChildren(
      make("h1", {}, held.title),
      make("p", {}, told.textContent + (asked.length ? ": " + asked.join("; ") : "") + ". Table of " + held.made + ", printed " + day + "."),
      it("left-out").textContent ? make("p", {}, it("left-out").textContent) : "",
      make("p", {}, held.words.precedence + " " + held.words.record),
      ...pieces.map((piece) => make("table", {},
        make("thead", {}, make("tr", {}, ...headings.map((heading) => make("th", { scope: "col" }, heading)))),
        make("tbody", {}, ...piece.map(onPaper))))
    );
  });
  addEventListener("afterprint", () => paper.replaceChildren());
  it("print").addEventListener("click", () => window.print());

  // ---- begin ----------------------------------------------------------------------------------------------

  const collator = new Intl.Collator("en", { numeric: true });
  for (const key of ["kind", "atmosphere", "use"]) {
    const values = new Set(table.rows.map((row) => row.about[key]));
    values.delete("");
    it(key).append(...[...values].sort(collator.compare).map((value) => make("option", { value }, value)));
  }
  it("names").append(
    ...table.materials.flatMap((material) => [
      make("option", { value: material.name }),
      ...material.others.map((other) => make("option", { value: other, label: other + ": " + material.name })),
    ])
  );
  it("order").append(
    make("option", { value: "" }, "file"),
    ...held.columns.filter(([key]) => key !== "materials").flatMap(([key, heading]) => [
      make("option", { value: key }, heading),
      make("option", { value: key + ",down" }, heading + ", down"),
    ])
  );
  // One and the same revision in every row says nothing there.
  const revisions = new Set(table.rows.map((row) => revision(row.about)));
  if (revisions.size === 1) {
    it("whole").classList.add("one-revision");
    it("one-revision").textContent = "; revision of all: " + [...revisions][0];
  }
  grid.setAttribute("aria-colcount", held.columns.length);
  it("filters").open = !narrow.matches;
  narrow.addEventListener("change", () => {
    it("filters").open = !narrow.matches;
  });
  it("whole").classList.add("ready");
  follow();
})();
