// The weighing page: leads from line to line, keeps what the balance showed, and saves a record of it.
//
// Text goes into the page through textContent alone, never as markup. Masses are exact (see rescue.js) and
// kept as decimal text. Everything stays in this browser: the page's policy lets nothing be sent.

"use strict";

(() => {
  const { ZERO, add, compare, divide, fraction, multiply, read, subtract, sum } = exact;
  const held = JSON.parse(document.getElementById("held").textContent);
  const articles = [...document.querySelectorAll("article.sheet")];
  const choice = document.getElementById("choice");
  const MOST_UNDO = 30;
  const MOST_TEXT = 4000;

  // ---- small makers ------------------------------------------------------------------------------------

  function make(tag, attributes = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (name === "text") element.textContent = value;
      else if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else if (value === true) element.setAttribute(name, "");
      else if (value !== false && value !== null) element.setAttribute(name, value);
    }
    element.append(...children);
    return element;
  }

  function put(element, text) {
    if (element.textContent !== text) element.textContent = text;
  }

  // Says something to a screen reader; the same words twice are said twice.
  const voice = make("p", { class: "unseen", role: "status", "aria-live": "polite" });
  document.body.append(voice);
  function say(text) {
    put(voice, voice.textContent === text ? `${text}\u00a0` : text);
  }

  // A mass as somebody writes it, with a point or a comma; null where it is none.
  function typed(text) {
    const bare = text.trim().replace(/\s*g$/i, "").replace(",", ".");
    return /^(?:[0-9]{1,9}(?:\.[0-9]{0,6})?|\.[0-9]{1,6})$/.test(bare) ? read(bare) : null;
  }

  function percent(a) {
    const hundredfold = multiply(exact.absolute(a), fraction(100n));
    const places = compare(hundredfold, fraction(10n)) < 0 ? 1 : 0;
    const text = exact.written(hundredfold, places);
    return Number(text) === 0 && a.n !== 0n ? "under 0.1 %" : `${text.replace(/\.0$/, "")} %`;
  }

  // ---- what is kept ------------------------------------------------------------------------------------

  const keyOf = (sheet) =>
    `glost sheet ${JSON.stringify([sheet.recipe, sheet.test, sheet.revision && sheet.revision.text, sheet.base])}`;

  // What the figures belong to: where the recipe has changed under the same revision, they no longer hold.
  const marksOf = (sheet) => JSON.stringify(sheet.lines.map((line) => [line.material, line.exact, line.target]));

  function fresh(sheet) {
    return {
      of: marksOf(sheet),
      mode: "line",
      current: null,
      // actual: what is in, null where nothing is. already: what of that stood in the cup before a top-up.
      // open: still to be weighed or decided on. placed: what went into which vessel, by its number, 0 for a cup of
      // its own; stood: the same before a top-up.
      lines: sheet.lines.map((line) =>
        read(line.exact).n === 0n
          ? { actual: "0", already: "0", open: false, placed: [], stood: [] }
          : { actual: null, already: "0", open: true, placed: [], stood: [] },
      ),
      larger: null,
      lots: sheet.lines.map(() => ""),
      balances: {},
      said: { person: "", project: "", checked_by: "", water: "", sieve: sheet.sieve, remarks: "" },
      before: [],
      saved: "",
    };
  }

  let keeps = true;

  function load(sheet) {
    try {
      const state = JSON.parse(localStorage.getItem(keyOf(sheet)));
      if (state && state.of === marksOf(sheet)) {
        state.lines.forEach((line, at) => {
          // Kept by an earlier page, which knew of no vessels.
          line.placed ||= line.actual === null ? [] : [[sheet.lines[at].vessel, line.actual]];
          line.stood ||= line.already === "0" ? [] : [[sheet.lines[at].vessel, line.already]];
        });
        return state;
      }
      if (state) return { ...fresh(sheet), changed: true };
    } catch {
      keeps = keeps && storageWorks();
    }
    return fresh(sheet);
  }

  function storageWorks() {
    try {
      return localStorage.length >= 0;
    } catch {
      return false;
    }
  }

  function store(sheet, state) {
    try {
      localStorage.setItem(keyOf(sheet), JSON.stringify(state));
    } catch {
      keeps = false;
    }
  }

  // ---- what follows from it ----------------------------------------------------------------------------

  // The plan as it now stands: that of the sheet, or of the larger batch.
  function planOf(sheet, state) {
    const planned = read(sheet.base);
    const base = state.larger ? read(state.larger.base) : planned;
    return {
      base,
      capacity: sheet.main ? read(sheet.main.capacity) : null,
      cup: sheet.main ? read(sheet.main.cup) : null,
      lines: sheet.lines.map((line, at) => ({
        material: line.material,
        exact: multiply(read(line.exact), divide(base, planned)),
        target: read(state.larger ? state.larger.targets[at] : line.target),
        division: read(line.division),
        minimum: line.minimum === null ? null : read(line.minimum),
        within: state.larger ? state.larger.within[at] : line.within,
        rounds: state.larger ? state.larger.within[at] : line.rounds,
      })),
    };
  }

  // Where each open line goes, and what the vessel holds before it: the vessel of the plan while there is room, else a
  // further one, so that no display is asked to show more than it can. first: the line that is weighed next.
  function vesselsOf(sheet, state, plan, first) {
    const room = plan.capacity && subtract(plan.capacity, plan.cup);
    const loads = new Map();
    const put = (placed) =>
      placed.forEach(([vessel, mass]) => loads.set(vessel, add(loads.get(vessel) || ZERO, read(mass))));
    state.lines.forEach((line) => put(line.open ? line.stood : line.placed));
    let last = Math.max(sheet.vessels, ...loads.keys());
    const fits = (vessel, mass) => !room || compare(add(loads.get(vessel) || ZERO, mass), room) <= 0;
    const found = state.lines.map(() => null);
    const order = state.lines.map((_, at) => at).filter((at) => at !== first);
    for (const at of first >= 0 ? [first, ...order] : order) {
      const mine = state.lines[at];
      if (!mine.open) continue;
      const line = sheet.lines[at];
      const missing = subtract(plan.lines[at].target, read(mine.already));
      const own = missing.n < 0n ? ZERO : missing;
      if (line.apart || !line.vessel) {
        found[at] = { vessels: [0], before: ZERO, own, most: own };
        continue;
      }
      if (room && compare(own, room) > 0) {
        const steps = divide(room, read(line.division));
        const most = multiply(fraction(exact.floorOf(steps.n, steps.d)), read(line.division));
        const needed = divide(own, most);
        const count = Number(-exact.floorOf(-needed.n, needed.d));
        const vessels = Array.from({ length: count }, () => (last += 1));
        found[at] = { vessels, before: ZERO, own, most };
        continue;
      }
      let vessel = line.vessel;
      if (!fits(vessel, own)) {
        if (last <= sheet.vessels || !fits(last, own)) last += 1;
        vessel = last;
      }
      found[at] = { vessels: [vessel], before: loads.get(vessel) || ZERO, own, most: own };
      loads.set(vessel, add(loads.get(vessel) || ZERO, own));
    }
    return { lines: found, count: last };
  }

  const placesOf = (line) => exact.decimalsOf(read(line.division));
  const actualOf = (line) => (line.actual === null ? ZERO : read(line.actual));
  const heldBy = (state) => sum(state.lines.map(actualOf));

  // How a mass stands to its line: "none", "on", "within", "short" or "over".
  function standing(line, actual, tolerance) {
    if (compare(actual, line.target) === 0) return "on";
    const margin = multiply(line.exact, tolerance);
    if (compare(actual, add(line.exact, margin)) > 0 && compare(actual, line.target) > 0) return "over";
    if (compare(actual, subtract(line.exact, margin)) < 0 && compare(actual, line.target) < 0) return "short";
    return "within";
  }

  const MARKS = { none: "", on: "✓", within: "✓", short: "▼", over: "▲" };

  function verdict(sheet, plan, at, actual) {
    const tolerance = read(sheet.tolerance);
    const line = plan.lines[at];
    const kind = standing(line, actual, tolerance);
    const places = placesOf(sheet.lines[at]);
    const off = subtract(actual, line.target);
    const grams = `${exact.shown(exact.absolute(off), places)} g`;
    const share = percent(divide(subtract(actual, line.exact), line.exact));
    const limit = percent(tolerance);
    if (kind === "on") {
      return { kind, text: line.within ? "on target" : "on target, as near as this balance gets" };
    }
    if (kind === "over") return { kind, text: `${grams} too much, ${share} over: outside ${limit}` };
    if (kind === "short") return { kind, text: `${grams} still to go, ${share} short: outside ${limit}` };
    const side = off.n > 0n ? "over" : "under";
    return { kind, text: `${grams} ${side}, ${share} off: within ${limit}` };
  }

  // The line to weigh next: the chosen one while it is open, else the first that is; -1 when all are in.
  function currentOf(sheet, state, plan) {
    const tolerance = read(sheet.tolerance);
    const asking = state.lines.findIndex((line, at) => isOver(line, plan.lines[at], tolerance));
    if (asking >= 0) return asking;
    if (state.current !== null && state.lines[state.current].open) return state.current;
    return state.lines.findIndex((line) => line.open);
  }

  function isOver(line, planned, tolerance) {
    return line.open && line.actual !== null && standing(planned, read(line.actual), tolerance) === "over";
  }

  function rescueOf(sheet, state, plan) {
    const inside = new Map();
    state.lines.forEach((line, at) => {
      const name = plan.lines[at].material;
      inside.set(name, add(inside.get(name) || ZERO, actualOf(line)));
    });
    return exact.rescue(plan, inside, read(sheet.tolerance));
  }

  // Targets of all lines after a rescue. Lines of one material share what is to be added: those that are not
  // weighed yet take it, else the first of them is topped up.
  function targetsAfter(sheet, state, plan, found) {
    const targets = plan.lines.map((line, at) =>
      line.exact.n === 0n ? ZERO : actualOf(state.lines[at]),
    );
    for (const step of found.steps) {
      const same = plan.lines.map((_, at) => at).filter((at) => plan.lines[at].material === step.material);
      const empty = same.filter((at) => state.lines[at].actual === null);
      const takers = empty.length ? empty : [same[0]];
      const shares = sum(takers.map((at) => plan.lines[at].exact));
      let left = step.add;
      takers.forEach((at, number) => {
        const division = plan.lines[at].division;
        const quota = divide(multiply(step.add, plan.lines[at].exact), multiply(shares, division));
        const share =
          number === takers.length - 1
            ? left
            : multiply(fraction(exact.roundedOf(quota.n, quota.d)), division);
        targets[at] = add(targets[at], share);
        left = subtract(left, share);
      });
    }
    return targets;
  }

  function waterOf(sheet, dry) {
    const water = divide(multiply(dry, read(sheet.water)), fraction(100n));
    return `${exact.written(water, compare(water, fraction(100n)) >= 0 ? 0 : 1)} g`;
  }

  function progress(sheet, state) {
    const done = state.lines.filter((line) => !line.open).length;
    const begun = state.lines.some((line, at) => line.actual !== null && sheet.lines[at].exact !== "0/1");
    if (state.saved) return "✓ record saved";
    if (!sheet.lines.length) return "nothing to weigh";
    if (!begun) return "";
    return done === state.lines.length ? "✓ all in" : `${done} of ${state.lines.length} in`;
  }

  // ---- the record --------------------------------------------------------------------------------------

  // A number that is written with the decimals it has; JSON.stringify would drop them.
  class Figure {
    constructor(text) {
      this.text = text;
    }
  }

  function json(value, indent = "") {
    if (value instanceof Figure) return value.text;
    if (value === null || typeof value !== "object") return JSON.stringify(value);
    const inner = `${indent}  `;
    const parts = Array.isArray(value)
      ? value.map((one) => inner + json(one, inner))
      : Object.entries(value).map(([key, one]) => `${inner}${JSON.stringify(key)}: ${json(one, inner)}`);
    const [open, close] = Array.isArray(value) ? "[]" : "{}";
    return parts.length ? `${open}\n${parts.join(",\n")}\n${indent}${close}` : open + close;
  }

  const two = (number) => String(number).padStart(2, "0");

  // The time here with its offset from UTC, as ISO 8601 writes it.
  function moment(now) {
    const offset = -now.getTimezoneOffset();
    const size = Math.abs(offset);
    return (
      `${dateOf(now)}T${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}` +
      `${offset < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`
    );
  }

  const dateOf = (now) =>
    `${String(now.getFullYear()).padStart(4, "0")}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;

  const remarksOf = (state) =>
    [state.said.remarks.trim(), state.larger ? state.larger.why : ""].filter(Boolean).join("\n").slice(0, MOST_TEXT);

  const balanceOf = (state, line) =>
    line.balance in state.balances ? state.balances[line.balance] : line.balance;

  function recordOf(sheet, state, now) {
    const plan = planOf(sheet, state);
    const water = typed(state.said.water);
    const complete = state.lines.every((line) => line.actual !== null);
    // Portions of one line are one line of the record.
    const parts = sheet.lines.map((_, at) => at).filter((at) => sheet.lines[at].portion === 1);
    const rowsOf = (first) =>
      sheet.lines.map((_, at) => at).filter((at) => sheet.lines[at].of === sheet.lines[first].of);
    const actualOfLine = (rows) =>
      rows.some((at) => state.lines[at].actual === null)
        ? null
        : new Figure(exact.shown(sum(rows.map((at) => actualOf(state.lines[at]))), placesOf(sheet.lines[rows[0]])));
    return {
      version: 1,
      kind: "glost record",
      recorded_at: moment(now),
      person: state.said.person.trim(),
      project: state.said.project.trim(),
      recipe: sheet.recipe,
      test: sheet.test,
      file: sheet.file,
      revision: sheet.revision,
      batch: {
        base_mass_g: new Figure(exact.shown(plan.base)),
        total_mass_g: new Figure(exact.shown(sum(plan.lines.map((line) => line.target)), mostPlaces(sheet))),
      },
      lines: parts.map((first) => {
        const line = sheet.lines[first];
        const rows = rowsOf(first);
        return {
          material: line.material,
          name: line.name,
          base: line.base,
          target_g: new Figure(exact.shown(sum(rows.map((at) => plan.lines[at].target)), placesOf(line))),
          actual_g: actualOfLine(rows),
          lot: [...new Set(rows.map((at) => state.lots[at].trim()).filter(Boolean))].join(", "),
          balance: balanceOf(state, line).trim(),
        };
      }),
      water_g: water ? new Figure(exact.shown(water)) : null,
      sieve: state.said.sieve.trim(),
      remarks: remarksOf(state),
      checked_by: state.said.checked_by.trim(),
      total_actual_g: complete ? new Figure(exact.shown(heldBy(state), mostPlaces(sheet))) : null,
    };
  }

  const mostPlaces = (sheet) => Math.max(0, ...sheet.lines.map(placesOf));

  function fileName(sheet, now) {
    const plain = [sheet.recipe, sheet.test]
      .join(" ")
      .toLowerCase()
      .replace(/[^\p{Letter}\p{Number}]+/gu, "-")
      .replace(/^-+|-+$/g, "")
      .slice(0, 60);
    return `record-${plain || "batch"}-${dateOf(now)}-${two(now.getHours())}${two(now.getMinutes())}.json`;
  }

  function download(name, text) {
    const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    const link = make("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
  }

  // ---- the screen stays on -----------------------------------------------------------------------------

  let lock = null;
  async function stayAwake() {
    if (!("wakeLock" in navigator) || lock || document.visibilityState !== "visible") return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => {
        lock = null;
      });
    } catch {
      lock = null; // the battery is low, or the browser will not: weighing goes on without
    }
  }

  // ---- one sheet at the bench --------------------------------------------------------------------------

  function bench(article, sheet, number) {
    let state = load(sheet);
    let plan = planOf(sheet, state);
    const id = (name) => `${name}-${number}`;

    // -- the rows --

    const several = sheet.lines.some((line) => line.apart);
    const named = (line) => (line.portions > 1 ? `${line.shown}, portion ${line.portion} of ${line.portions}` : line.shown);
    const rows = sheet.lines.map((line, at) => {
      const box = make("input", { type: "checkbox", onchange: () => (box.checked ? tick(at) : reopen(at)) });
      const figure = make("b", { class: "grams" });
      const result = make("span", { class: "result" });
      const running = make("span", { class: "running" });
      const care = make(
        "ul",
        { class: "row-care", hidden: true },
        ...line.care.map((text) => make("li", { text })),
      );
      const name = make("span", { class: "name" }, make("b", { text: named(line) }));
      if (line.note) name.append(" ", make("small", { text: line.note }));
      if (!line.within) name.append(" ", make("small", { class: "mark", text: "! see the warning below" }));
      const pick = make(
        "button",
        { type: "button", class: "pick", onclick: () => choose(at) },
        name,
        figure,
        result,
        running,
      );
      const item = make("li", { class: "line" }, make("label", { class: "tick" }, box), pick, care);
      return { item, box, figure, result, running, care, pick };
    });
    const group = (base, title) => {
      const inside = rows.filter((_, at) => sheet.lines[at].base === base).map((row) => row.item);
      return inside.length ? [make("h3", { text: title }), make("ol", { class: "lines" }, ...inside)] : [];
    };

    // -- the panel --

    const layers = sheet.lines.map(() => make("i", {}, make("i")));
    const what = make("h3", { class: "what", id: id("now") });
    const where = make("p", { class: "where" });
    const large = { word: make("span"), figure: make("b") };
    const small = { word: make("span"), figure: make("b") };
    const figures = make(
      "div",
      { class: "figures" },
      make("p", { class: "large" }, large.word, " ", large.figure),
      make("p", { class: "small" }, small.word, " ", small.figure),
    );
    const modes = ["line", "cup"].map((mode) =>
      make("input", {
        type: "radio",
        name: id("mode"),
        value: mode,
        onchange: () => {
          state.mode = mode;
          store(sheet, state);
          redraw();
          announceNext("");
        },
      }),
    );
    const toggle = make(
      "fieldset",
      { class: "modes" },
      make("legend", { text: "the balance shows" }),
      make("label", {}, modes[0], make("span", { text: "this line" })),
      make("label", {}, modes[1], make("span", { text: "whole cup" })),
    );
    const reading = make("input", {
      id: id("reading"),
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      enterkeyhint: "done",
      maxlength: 20,
      "aria-describedby": id("verdict"),
      oninput: () => weigh(),
    });
    const readingLabel = make("label", { for: id("reading"), class: "unseen" });
    const take = make("button", { type: "submit", class: "primary" });
    const judged = make("p", { class: "verdict", id: id("verdict") });
    const settle = make("button", { type: "button", onclick: () => leaveAsItIs() });
    const undo = make("button", { type: "button", text: "Undo", onclick: () => undoLast() });
    const weighing = make(
      "form",
      {
        novalidate: true,
        onsubmit: (event) => {
          event.preventDefault();
          takeReading();
        },
      },
      figures,
      toggle,
      make("div", { class: "reading" }, readingLabel, make("span", { class: "field" }, reading, make("i", { text: "g" })), take),
      judged,
      settle,
    );

    const overText = make("p", { class: "verdict over" });
    const more = make("button", { type: "button", class: "primary", onclick: () => makeMore() });
    const moreText = make("p");
    const moreSteps = make("ul", { class: "steps" });
    const leave = make("button", { type: "button", text: "Leave it", onclick: () => leaveAsItIs() });
    const again = make("button", {
      type: "button",
      text: "Weigh it again",
      onclick: () => reopen(currentOf(sheet, state, plan)),
    });
    const overshoot = make(
      "div",
      { class: "overshoot", role: "group", tabindex: "-1", "aria-labelledby": id("now") },
      overText,
      moreText,
      moreSteps,
      more,
      make("div", { class: "others" }, leave, again),
      make("p", {
        class: "hint",
        text: "Weigh it again where the figure was misread or the excess came off the top clean.",
      }),
    );

    const finishedText = make("p", { class: "sum" });
    const toRecord = make("button", {
      type: "button",
      class: "primary",
      text: "On to the record",
      onclick: () => {
        recordHead.focus();
        recordHead.scrollIntoView({ block: "start" });
      },
    });
    const finished = make("div", { class: "finished" }, finishedText, toRecord);

    const panel = make(
      "section",
      { class: "now", "aria-labelledby": id("now") },
      make("div", { class: "cup", "aria-hidden": "true" }, ...layers),
      make("div", { class: "head" }, make("div", {}, what, where), undo),
      weighing,
      overshoot,
      finished,
    );

    const notice = make("p", { class: "notice", role: "status" });
    article
      .querySelector(".bench")
      .replaceChildren(
        notice,
        make("div", { class: "list" }, ...group(true, "Base"), ...group(false, "Additions")),
        panel,
      );

    // -- the record --

    const recordHead = make("h3", { text: "Record", tabindex: "-1", id: id("record") });
    const fields = [];
    const field = (label, get, set, options = {}) => {
      const input = make(options.long ? "textarea" : "input", {
        id: id(`field-${fields.length}`),
        maxlength: MOST_TEXT,
        autocomplete: "off",
        ...(options.long ? { rows: 3 } : { type: "text" }),
        ...(options.mass ? { inputmode: "decimal" } : {}),
        oninput: () => {
          set(input.value);
          state.saved = "";
          store(sheet, state);
          if (options.mass) input.setAttribute("aria-invalid", input.value.trim() && !typed(input.value) ? "true" : "false");
        },
      });
      fields.push(() => {
        if (input.value !== get()) input.value = get();
      });
      return make("p", { class: options.long ? "long" : "" }, make("label", { for: input.id, text: label }), input);
    };
    const said = (label, key, options) =>
      field(
        label,
        () => state.said[key],
        (text) => {
          state.said[key] = text;
        },
        options,
      );
    const balances = [...new Set(sheet.lines.map((line) => line.balance))];
    const balanceFields = balances.map((name) =>
      field(
        balances.length > 1 && name ? `Balance for the lines on ‘${name}’` : "Balance",
        () => balanceOf(state, { balance: name }),
        (text) => {
          state.balances[name] = text;
        },
      ),
    );
    const lotFields = sheet.lines.map((line, at) =>
      field(
        `Lot of ${line.shown}`,
        () => state.lots[at],
        (text) => {
          state.lots[at] = text;
        },
      ),
    );
    const summary = make("p", { class: "sum" });
    const savedText = make("p", { class: "notice", role: "status" });
    const printAll = make("button", {
      type: "button",
      text: `Print all ${held.length} sheets`,
      onclick: () => {
        document.body.dataset.print = "all";
        window.print();
      },
    });
    const sure = make(
      "dialog",
      { "aria-labelledby": id("sure") },
      make("h3", { id: id("sure"), text: "Start this sheet over?" }),
      make("p", { text: "All its figures and texts here are cleared. Records that you saved stay where they are." }),
      make(
        "form",
        { method: "dialog", class: "others" },
        make("button", { value: "keep", text: "Keep them" }),
        make("button", { value: "clear", class: "danger", text: "Clear and start over" }),
      ),
    );
    sure.addEventListener("close", () => {
      if (sure.returnValue === "clear") startOver();
      sure.returnValue = "";
    });
    article
      .querySelector(".record")
      .replaceChildren(
        recordHead,
        summary,
        make(
          "div",
          { class: "fields-in" },
          said("Weighed by", "person"),
          said("Project", "project"),
          ...balanceFields,
          said("Water poured in, grams", "water", { mass: true }),
          said("Sieved through", "sieve"),
          said("Checked by", "checked_by"),
          said("Remarks", "remarks", { long: true }),
        ),
        make("details", {}, make("summary", { text: "Lots" }), make("div", { class: "fields-in" }, ...lotFields)),
        make("p", { class: "others" }, make("button", { type: "button", class: "primary", text: "Save record", onclick: save })),
        savedText,
        make(
          "p",
          { class: "others" },
          make("button", { type: "button", text: "Print this sheet", onclick: () => window.print() }),
          ...(held.length > 1 ? [printAll] : []),
          make("button", { type: "button", text: "Start over", onclick: () => sure.showModal() }),
        ),
        sure,
      );

    // -- what can happen --

    function remember() {
      const { mode, current, lines, larger } = state;
      state.before = [...state.before, JSON.stringify({ mode, current, lines, larger })].slice(-MOST_UNDO);
      state.saved = "";
      delete state.changed;
    }

    function changed(words) {
      plan = planOf(sheet, state);
      reading.value = "";
      store(sheet, state);
      redraw();
      announceNext(words);
      showCurrent();
      stayAwake();
    }

    function enter(at, mass) {
      remember();
      const line = state.lines[at];
      line.actual = exact.shown(mass, placesOf(sheet.lines[at]));
      const { kind, text } = verdict(sheet, plan, at, mass);
      const { vessels } = placeOf(at);
      const went = subtract(mass, read(line.already));
      line.placed = [
        ...line.stood,
        ...vessels.map((vessel) => [vessel, exact.kept(divide(went, fraction(BigInt(vessels.length))))]),
      ];
      line.open = kind === "short" || kind === "over";
      if (kind === "short") state.current = at;
      else if (state.current === at) state.current = null;
      changed(`${sheet.lines[at].shown}, ${line.actual} g: ${text}.`);
    }

    const tick = (at) => enter(at, plan.lines[at].target);

    // Back to what stood in the cup before this line, or before its top-up.
    function reopen(at) {
      remember();
      const line = state.lines[at];
      const lost = line.actual;
      line.actual = read(line.already).n === 0n ? null : line.already;
      line.placed = line.stood;
      line.open = true;
      state.current = at;
      changed(`${sheet.lines[at].shown} is open again; ${lost} g was written down.`);
    }

    function choose(at) {
      const line = state.lines[at];
      if (!line.open) {
        say(`${sheet.lines[at].shown} is in, ${line.actual} g. Clear its tick to weigh it again.`);
        return;
      }
      state.current = at;
      reading.value = "";
      store(sheet, state);
      redraw();
      announceNext("");
    }

    function leaveAsItIs() {
      const at = currentOf(sheet, state, plan);
      remember();
      state.lines[at].open = false;
      changed(`${sheet.lines[at].shown} stays at ${state.lines[at].actual} g.`);
    }

    function makeMore() {
      const at = currentOf(sheet, state, plan);
      const found = rescueOf(sheet, state, plan);
      const targets = targetsAfter(sheet, state, plan, found);
      remember();
      const within = new Map(found.steps.map((step) => [step.material, step.within]));
      const why = found.leave
        ? state.larger && state.larger.why
        : `Made larger for ${sheet.lines[at].shown}: base ${exact.shown(found.base)} g instead of ${sheet.base} g.`;
      state.larger = {
        base: exact.kept(found.base),
        targets: targets.map((target, line) => exact.shown(target, placesOf(sheet.lines[line]))),
        within: plan.lines.map((line) => within.get(line.material) ?? true),
        why: why || "",
      };
      state.lines.forEach((line, at) => {
        if (plan.lines[at].exact.n === 0n) return;
        const missing = compare(targets[at], actualOf(line)) > 0;
        line.already = line.actual === null ? "0" : line.actual;
        line.stood = line.placed;
        line.open = missing;
        if (!missing && line.actual === null) line.actual = "0";
      });
      state.current = null;
      changed(found.leave ? "The targets have changed." : why);
    }

    function shownOf(material) {
      const found = sheet.lines.find((line) => line.material === material);
      return found ? found.shown : material;
    }

    function undoLast() {
      if (!state.before.length) return;
      Object.assign(state, JSON.parse(state.before.pop()));
      state.saved = "";
      changed("Undone.");
    }

    function startOver() {
      try {
        localStorage.removeItem(keyOf(sheet));
      } catch {
        keeps = false;
      }
      state = fresh(sheet);
      changed("All figures are cleared.");
      put(savedText, "");
    }

    function save() {
      if (state.said.water.trim() && !typed(state.said.water)) {
        put(savedText, "The water is no mass in grams: write a number, such as 60, or leave it empty.");
        return;
      }
      const now = new Date();
      const name = fileName(sheet, now);
      download(name, `${json(recordOf(sheet, state, now))}\n`);
      state.saved = moment(now);
      store(sheet, state);
      const without = state.lines.filter((line) => line.actual === null).length;
      put(
        savedText,
        `Saved as ${name} among your downloads.${without ? ` ${without === 1 ? "One line has" : `${without} lines have`} no figure yet; the record says so.` : ""}`,
      );
    }

    // -- reading the balance --

    // {mass} of the current line from what is typed, {error} where that cannot be, {} where nothing is.
    function readingOf(at) {
      const text = reading.value;
      if (!text.trim()) return {};
      const shown = typed(text);
      if (!shown) return { error: "Write what the balance shows, in grams, such as 12.5." };
      if (modeOf(at) === "line") return { mass: add(read(state.lines[at].already), shown) };
      const { before } = placeOf(at);
      const went = subtract(shown, before);
      if (went.n >= 0n) return { mass: add(read(state.lines[at].already), went) };
      return {
        error: `The cup holds ${exact.shown(before, placesOf(sheet.lines[at]))} g already. Was the balance set to zero? Then choose “this line”.`,
      };
    }

    // Where the line that is weighed goes.
    const placeOf = (at) =>
      vesselsOf(sheet, { ...state, lines: state.lines.map((line, n) => (n === at ? { ...line, open: true } : line)) }, plan, at)
        .lines[at];

    // A line that is weighed apart, or in portions, is never on top of the cup.
    const single = (at) => placeOf(at).vessels.length === 1 && placeOf(at).vessels[0] !== 0;
    const modeOf = (at) => (single(at) ? state.mode : "line");

    function takeReading() {
      const at = currentOf(sheet, state, plan);
      const { mass, error } = readingOf(at);
      if (error) {
        reading.setAttribute("aria-invalid", "true");
        say(error);
        reading.focus();
      } else {
        enter(at, mass || plan.lines[at].target);
      }
    }

    // What is typed, judged while it is typed.
    function weigh() {
      const at = currentOf(sheet, state, plan);
      if (at < 0) return;
      const { mass, error } = readingOf(at);
      const line = state.lines[at];
      const places = placesOf(sheet.lines[at]);
      reading.setAttribute("aria-invalid", "false");
      put(take, mass ? `Take ${exact.shown(mass, places)} g` : "✓ On target");
      if (mass && modeOf(at) === "line" && read(line.already).n !== 0n) {
        put(take, `Take ${exact.shown(subtract(mass, read(line.already)), places)} g`);
      }
      let shown = { kind: "none", text: "" };
      if (error) shown = { kind: "error", text: error };
      else if (mass) shown = verdict(sheet, plan, at, mass);
      else if (line.actual !== null && read(line.already).n === 0n) {
        shown = verdict(sheet, plan, at, read(line.actual));
      } else if (line.actual !== null) shown = { kind: "none", text: `${line.actual} g of it is in already` };
      judged.dataset.kind = shown.kind;
      put(judged, `${MARKS[shown.kind] || ""} ${shown.text}`.trim());
    }

    // -- drawing --

    function redraw() {
      plan = planOf(sheet, state);
      const at = currentOf(sheet, state, plan);
      const tolerance = read(sheet.tolerance);
      const places = vesselsOf(sheet, state, plan, at);
      const running = new Map();
      const grows = (vessel, mass) => running.set(vessel, add(running.get(vessel) || ZERO, mass));
      rows.forEach((row, number) => {
        const line = sheet.lines[number];
        const { actual, already, open } = state.lines[number];
        const planned = plan.lines[number];
        const decimals = placesOf(line);
        const asked = exact.shown(planned.target, decimals);
        const next = places.lines[number];
        const mine = next ? [...state.lines[number].stood] : state.lines[number].placed;
        mine.forEach(([vessel, mass]) => grows(vessel, read(mass)));
        if (next && next.vessels.length === 1) grows(next.vessels[0], next.own);
        const into = next ? next.vessels[0] : mine.length ? mine[mine.length - 1][0] : 0;
        row.box.checked = !open;
        row.box.disabled = planned.exact.n === 0n;
        row.box.setAttribute("aria-label", `${line.shown}, ${asked} g, is in`);
        row.item.classList.toggle("current", number === at);
        row.item.classList.toggle("done", !open);
        if (number === at) row.pick.setAttribute("aria-current", "step");
        else row.pick.removeAttribute("aria-current");
        row.care.hidden = number !== at || !line.care.length;
        put(row.figure, `${asked} g`);
        const holds = `${exact.shown(running.get(into) || ZERO, decimals)}`;
        const many = next && next.vessels.length > 1;
        put(row.running, many ? `${next.vessels.length} vessels` : !into ? "apart" : places.count > 1 ? `vessel ${into}: ${holds}` : `cup ${holds}`);
        let shown = { kind: "none", text: several && line.on ? `on ‘${line.on}’` : "" };
        if (actual !== null && planned.exact.n !== 0n) {
          const judgement = verdict(sheet, plan, number, read(actual));
          const topUp = open && read(already).n !== 0n;
          shown = topUp
            ? { kind: "short", text: `${exact.shown(subtract(planned.target, read(actual)), decimals)} g more` }
            : { kind: judgement.kind, text: `${actual} g, ${judgement.text}` };
        }
        row.result.dataset.kind = shown.kind;
        put(row.result, `${MARKS[shown.kind]} ${shown.text}`.trim());
        layers[number].style.flexGrow = String(Number(exact.written(planned.target, 6)) || 0.001);
        const full = planned.target.n === 0n ? ZERO : divide(actual === null ? ZERO : read(actual), planned.target);
        layers[number].firstChild.style.width = `${Math.min(100, Number(exact.written(full, 4)) * 100)}%`;
        layers[number].className = shown.kind === "over" ? "over" : number === at ? "current" : "";
      });

      const over = at >= 0 && isOver(state.lines[at], plan.lines[at], tolerance);
      weighing.hidden = at < 0 || over;
      overshoot.hidden = !over;
      finished.hidden = at >= 0;
      undo.hidden = !state.before.length;
      settle.hidden = true;
      if (at < 0) drawFinished();
      else if (over) drawOver(at);
      else drawWeighing(at);
      drawRecord();
      fill(article, sheet, state);
      const link = choice && choice.querySelectorAll(".state")[number - 1];
      if (link) put(link, progress(sheet, state));
      put(
        notice,
        !keeps
          ? "This browser keeps nothing for this page: what you enter is gone after a reload."
          : state.changed
            ? "The recipe has changed since this sheet was last used; its earlier figures do not fit and are left out."
            : state.larger
              ? state.larger.why
              : "",
      );
      const water = article.querySelector(".water dd");
      if (water.dataset.planned === undefined) water.dataset.planned = water.textContent;
      if (sheet.water !== null) {
        const dry = sum(plan.lines.map((line) => line.target));
        const anew = state.larger ? `; for the larger batch ${waterOf(sheet, dry)}` : "";
        put(water, water.dataset.planned + anew);
      }
    }

    function drawWeighing(at) {
      const line = sheet.lines[at];
      const mine = state.lines[at];
      const places = placesOf(line);
      const mode = modeOf(at);
      const place = placeOf(at);
      const count = place.vessels.length;
      const topUp = read(mine.already).n !== 0n;
      const own = `${exact.shown(place.own, places)} g`;
      // The display shows its own steps: what is weighed apart stands in no running total.
      const whole = `${exact.shown(add(place.before, place.own), places)} g`;
      put(what, named(line));
      const todo = state.lines.filter((one) => one.open).length;
      const inVessels = Math.max(sheet.vessels, ...place.vessels) > 1 && !line.apart;
      const fresh = place.before.n === 0n ? ": tare it empty" : "";
      const vessel =
        count > 1
          ? `in ${count} portions of at most ${exact.shown(place.most, places)} g, each in a vessel of its own; type their sum`
          : inVessels && place.vessels[0]
            ? `vessel ${place.vessels[0]}${fresh}`
            : "";
      const apart = line.apart ? `weigh apart on ‘${line.on}’, tip in at the end` : several && line.on && `on ‘${line.on}’`;
      put(where, [apart, vessel, todo === 1 ? "the last line" : `${todo} to go`].filter(Boolean).join(" · "));
      const [first, second] = mode === "cup" ? [small, large] : [large, small];
      put(first.word, topUp ? "add on top" : "weigh in");
      put(first.figure, count > 1 ? `${own} in ${count} portions` : own);
      const cupWord = inVessels ? "vessel" : "cup";
      put(second.word, !single(at) ? "" : mode === "cup" ? `until the ${cupWord} shows` : `${cupWord} then holds`);
      put(second.figure, single(at) ? whole : "");
      modes[0].checked = mode === "line";
      modes[1].checked = mode === "cup";
      toggle.disabled = !single(at);
      put(
        readingLabel,
        `What the balance shows in grams, ${mode === "cup" ? "the whole cup" : topUp ? "what is added alone" : "this line alone"}`,
      );
      settle.hidden = mine.actual === null;
      put(settle, `Leave it at ${mine.actual} g`);
      weigh();
    }

    function drawOver(at) {
      const line = sheet.lines[at];
      const found = rescueOf(sheet, state, plan);
      const { text } = verdict(sheet, plan, at, read(state.lines[at].actual));
      put(what, `Too much ${line.shown}`);
      put(where, `${state.lines[at].actual} g is in`);
      put(overText, `▲ ${text}`);
      const base = exact.shown(found.base, 0, 2);
      const adding = found.steps.filter((step) => step.add.n !== 0n);
      if (found.leave) {
        put(more, "Take it up further down");
        put(moreText, "The same material comes again below: weigh that much less there.");
      } else {
        put(more, `Make more: base ${base} g`);
        const total = exact.shown(found.total, mostPlaces(sheet));
        const outside = found.steps.filter((step) => !step.within).map((step) => shownOf(step.material));
        put(
          moreText,
          [
            `${exact.shown(found.factor, 0, 3)} times the batch puts it right, ${total} g in the end:`,
            outside.length ? `still outside the tolerance is ${outside.join(", ")}.` : "every line is then within tolerance.",
            found.underCapacity === false
              ? `That is more than the balance ‘${sheet.main.shown}’ carries at once: this page names the vessels to go on in.`
              : "",
          ].join(" "),
        );
      }
      moreSteps.replaceChildren(
        ...adding.map((step) => {
          const first = sheet.lines.find((one) => one.material === step.material);
          const grams = `${exact.shown(step.add, placesOf(first))} g`;
          return make("li", {}, make("b", { text: grams }), step.inside.n === 0n ? " " : " more ", first.shown);
        }),
      );
    }

    function drawFinished() {
      const total = heldBy(state);
      put(what, "All is in");
      put(where, `${exact.shown(total, mostPlaces(sheet))} g dry`);
      put(finishedText, sheet.water === null ? "Now the water." : `Water: ${waterOf(sheet, total)}, ${sheet.water} % of what is in.`);
    }

    function drawRecord() {
      fields.forEach((update) => update());
      const total = `${exact.shown(heldBy(state), mostPlaces(sheet))} g`;
      const left = state.lines.filter((line) => line.open).length;
      put(summary, left ? `${total} in so far; ${left === 1 ? "one line is" : `${left} lines are`} still open.` : `${total} of dry material is in.`);
    }

    function announceNext(words) {
      const at = currentOf(sheet, state, plan);
      let next = "All is in.";
      if (at >= 0 && !overshoot.hidden) next = `${what.textContent}. Choose: make more, leave it, or weigh it again.`;
      else if (at >= 0) {
        const also = small.figure.textContent && `, ${small.word.textContent} ${small.figure.textContent}`;
        next = `Next: ${what.textContent}, ${large.word.textContent} ${large.figure.textContent}${also}.`;
      }
      say(`${words} ${next}`.trim());
    }

    function showCurrent() {
      const at = currentOf(sheet, state, plan);
      if (at >= 0) rows[at].item.scrollIntoView({ block: "nearest" });
      // The button that was pressed may be gone: keyboard and screen reader must not fall back to the top.
      if (document.activeElement === document.body || !document.activeElement.getClientRects().length) {
        // Not the button that makes more: a second press of Enter must not choose it.
        const next = [take, overshoot, toRecord].find((place) => place.getClientRects().length);
        if (next) next.focus({ preventScroll: true });
      }
    }

    window.addEventListener("storage", (event) => {
      if (event.key !== keyOf(sheet)) return;
      state = load(sheet);
      redraw();
    });
    redraw();
    return { showCurrent };
  }

  // What was weighed, put into the blanks of the printed sheet.
  function fill(article, sheet, state) {
    const all = (name, texts) =>
      article.querySelectorAll(`[data-fill="${name}"]`).forEach((place, at) => put(place, texts[at] || ""));
    const begun = state.lines.some((line, at) => line.actual !== null && sheet.lines[at].exact !== "0/1");
    all("weighed", state.lines.map((line, at) => (sheet.lines[at].exact === "0/1" ? "" : line.actual)));
    all("lot", state.lots);
    all("total", [begun && state.lines.every((line) => !line.open) ? exact.shown(heldBy(state), mostPlaces(sheet)) : ""]);
    all("date", [begun ? dateOf(new Date()) : ""]);
    all("weighed by", [state.said.person]);
    all("checked by", [state.said.checked_by]);
    all("balance", [begun ? [...new Set(sheet.lines.map((line) => balanceOf(state, line)))].filter(Boolean).join(", ") : ""]);
    all("remarks", [remarksOf(state)]);
  }

  // ---- which sheet is open -----------------------------------------------------------------------------

  const benches = new Map();

  function route(moved) {
    const place = location.hash ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
    const asked = place && place.closest("article.sheet");
    const open = asked || (articles.length === 1 ? articles[0] : null);
    const before = document.querySelector("article.open");
    for (const article of articles) article.classList.toggle("open", article === open);
    document.body.classList.toggle("choosing", !open);
    document.body.dataset.print = open ? "one" : "all";
    if (open && !benches.has(open)) {
      const at = articles.indexOf(open);
      if (open.querySelector(".bench")) benches.set(open, bench(open, held[at], at + 1));
    }
    if (!moved || open === before) {
      if (place && place !== open && open) place.scrollIntoView();
      return;
    }
    if (open) {
      const head = open.querySelector("h2");
      head.setAttribute("tabindex", "-1");
      window.scrollTo(0, 0);
      head.focus({ preventScroll: true });
    } else if (before) {
      choice.querySelector(`a[href="#${before.id}"]`).focus();
    }
  }

  document.documentElement.classList.add("js");
  if (choice) {
    articles.forEach((article, at) => {
      article.prepend(make("a", { href: "#choice", class: "back screen", text: "‹ All tests" }));
      put(choice.querySelectorAll(".state")[at], progress(held[at], load(held[at])));
    });
    choice.append(
      ...(articles.length
        ? [make("p", { class: "others" }, make("button", { type: "button", text: `Print all ${articles.length} sheets`, onclick: () => window.print() }))]
        : []),
    );
  }
  window.addEventListener("hashchange", () => route(true));
  window.addEventListener("beforeprint", () => {
    articles.forEach((article, at) => {
      if (held[at].lines.length && !benches.has(article)) fill(article, held[at], load(held[at]));
    });
  });
  window.addEventListener("afterprint", () => route(false));
  document.addEventListener("visibilitychange", () => {
    if (document.querySelector("article.open li.done")) stayAwake();
  });
  route(false);
})();
