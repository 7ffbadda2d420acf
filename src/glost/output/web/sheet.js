// The weighing page: leads from line to line, keeps what the balance showed, and hands over a record of it.
//
// Text goes into the page through textContent alone, never as markup. Masses are exact (see rescue.js) and
// kept as decimal text. Everything stays in this browser: the page's policy lets nothing be sent.

"use strict";

(() => {
  const { ZERO, add, compare, divide, fraction, multiply, read, subtract, sum } = exact;
  const {
    actualOf, balanceOf, begun, currentOf, heldBy, isOver, mostPlaces, placesOf, planOf, rescueOf, targetOf, targetsAfter,
    timesOf, verdict, vesselsOf, waterOf, weighs,
  } = plans;
  const { MOST_TEXT, dayOf, daysOf, moment, remarksOf, typed } = handing;
  const told = JSON.parse(document.getElementById("held").textContent);
  // One sheet after the other, or many cups of one session: those have an order of their own (see cups.js).
  const held = Array.isArray(told) ? told : told.sheets;
  keeping.onPage(held);
  const articles = [...document.querySelectorAll("article.sheet")];
  const choice = document.getElementById("choice");
  const MOST_UNDO = 30;
  // After a line was taken nothing is taken for so long: a wet glove bounces, and the button means the next line by then.
  // A press in that time makes it a little longer, so that a hand that goes on tapping books nothing.
  const GUARD_MS = 700;
  const AGAIN_MS = 350;

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

  const button = (text, onclick, kind = null) => make("button", { type: "button", class: kind, text, onclick });

  function put(element, text) {
    if (element.textContent !== text) element.textContent = text;
  }

  // Says something to a screen reader; the same words twice are said twice.
  const voice = make("p", { class: "unseen", role: "status", "aria-live": "polite" });
  (document.querySelector("main") || document.body).append(voice);
  function say(text) {
    put(voice, voice.textContent === text ? `${text}\u00a0` : text);
  }

  // No line is broken between a figure and its unit.
  const grams = (mass, places) => `${exact.shown(mass, places)}\u00a0g`;
  const KEEPS_NOTHING =
    "This browser keeps nothing for this page: what you enter is gone after a reload. Hand the record over before you leave.";
  const lines = (count) => (count === 1 ? "one line" : `${count} lines`);

  // A key that is held down must not go from line to line.
  document.addEventListener(
    "keydown",
    (event) => {
      if (event.repeat && (event.key === "Enter" || event.key === " ") && event.target.closest(".now, .list")) {
        event.preventDefault();
      }
    },
    true,
  );

  // ---- what a new batch starts with --------------------------------------------------------------------

  const CARRIED = ["person", "project"];

  // What was said today carries over to the next cup; a lot of another day is only offered.
  function freshState(sheet) {
    const today = (kind, name) => {
      const found = keeping.carried(kind, name);
      return found.today ? found.text : "";
    };
    const said = Object.fromEntries(CARRIED.map((name) => [name, today("said", name)]));
    const state = plans.fresh(sheet, said, sheet.lines.map((line) => today("lots", line.material)));
    for (const name of new Set(sheet.lines.map((line) => line.balance))) {
      const found = today("said", `balance ${name}`);
      if (found) state.balances[name] = found;
    }
    if (today("said", "mode") === "cup") state.mode = "cup";
    return state;
  }

  // What an earlier page kept is kept as a batch of its own from now on.
  for (const { key, state, sheet } of keeping.earlier(held)) {
    try {
      const batch = keeping.fresh(sheet, plans.grown(sheet, state));
      if (state.saved) batch.handed.push({ at: state.saved, how: "file", name: "" });
      if (begun(sheet, batch.state) || state.saved) keeping.put(batch);
      keeping.dropEarlier(key);
    } catch {
      // Left where it is: nothing here knows how to read it.
    }
  }

  function progress(batch) {
    if (!batch) return "";
    const { sheet, state } = batch;
    if (!begun(sheet, state)) return "";
    const done = state.lines.filter((line) => !line.open).length;
    if (batch.record && batch.handed.length) return "handed over";
    return done === state.lines.length ? "✓ all in" : `${done} of ${state.lines.length} in`;
  }

  // ---- the screen stays on -----------------------------------------------------------------------------

  let lock = null;
  let awake = "wakeLock" in navigator ? "" : "This browser cannot keep the screen on: set the time after which it goes dark.";
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

  // ---- handing over ------------------------------------------------------------------------------------

  // Asks once for a name that is missing; then goes on either way.
  const naming = make("input", { id: "naming", type: "text", maxlength: MOST_TEXT, autocomplete: "off" });
  const nameless = make(
    "dialog",
    { "aria-labelledby": "nameless" },
    make(
      "form",
      { method: "dialog" },
      make("h3", { id: "nameless", text: "Who weighed it?" }),
      make("p", { text: "A record without a name tells nobody whom to ask." }),
      make("p", { class: "fields-in" }, make("label", { for: "naming", text: "Weighed by" }), naming),
      make(
        "div",
        { class: "others" },
        make("button", { value: "name", class: "primary", text: "Use this name" }),
        make("button", { value: "none", text: "Without a name" }),
      ),
    ),
  );
  document.body.append(nameless);

  function askName(batches, then) {
    const without = batches.filter((one) => !one.state.said.person.trim() && !one.state.asked);
    if (!without.length) {
      then();
      return;
    }
    naming.value = keeping.carried("said", "person").text;
    nameless.returnValue = "";
    nameless.addEventListener(
      "close",
      () => {
        if (!nameless.returnValue) return; // Escape: nothing is handed over
        const name = nameless.returnValue === "name" ? naming.value.trim() : "";
        for (const batch of without) {
          batch.state.asked = true;
          batch.state.said.person = name;
          batch.record = "";
          keeping.put(batch);
        }
        if (name) keeping.carry("said", "person", name);
        then();
      },
      { once: true },
    );
    nameless.showModal();
  }

  const pasted = make("textarea", { id: "pasted", rows: 8, readonly: true, class: "long" });
  const toCopy = make(
    "dialog",
    { "aria-labelledby": "to-copy" },
    make(
      "form",
      { method: "dialog" },
      make("h3", { id: "to-copy", text: "Copy this text by hand" }),
      make("label", { for: "pasted", text: "This browser did not copy it. Select all of it, copy it, and send it." }),
      pasted,
      make("div", { class: "others" }, make("button", { text: "Done" })),
    ),
  );
  document.body.append(toCopy);

  // Hands a text over, as a file, to be shared, or copied; tells(words) says what is known of it, and no more.
  async function handOver(how, batches, tells) {
    const text = batches.length === 1 ? handing.textOf(batches[0]) : handing.together(batches);
    const now = new Date();
    const times = batches.length === 1 ? batches[0].handed.filter((one) => one.how === "file").length : 0;
    const plain = batches.length === 1 ? batches[0].name : handing.nameOf(`records of ${batches.length} batches`, now);
    const name = `${plain}${how === "file" && times ? `-${times + 1}` : ""}.json`;
    const handed = (words, called) => {
      for (const batch of batches) {
        batch.handed = [...batch.handed, { at: moment(now), how, name: called }].slice(-20);
        keeping.put(batch);
      }
      tells(words);
    };
    if (how === "file") {
      handing.download(name, text);
      handed(`Handed to the browser as ${name}: check that it is there.`, name);
    } else if (how === "share") {
      const file = handing.sharable(name, text);
      try {
        await navigator.share({ files: [file], title: name });
        handed(`Passed on as ${file.name}: check that it has arrived.`, file.name);
      } catch (error) {
        tells(error.name === "AbortError" ? "Not shared: it was called off." : "Not shared: this browser would not. Take the file, or copy the text.");
      }
    } else {
      try {
        await navigator.clipboard.writeText(text);
        handed("Copied as text: paste it where it is to go.", "");
      } catch {
        pasted.value = text;
        toCopy.showModal();
        pasted.select();
        handed("Shown as text, to be copied by hand.", "");
      }
    }
  }

  const mayShare = handing.sharable("record.json", "{}") !== null;
  const ways = (hand) => [
    ...(mayShare ? [button("Share record", () => hand("share"), "primary")] : []),
    button("Save record", () => hand("file"), mayShare ? null : "primary"),
    button("Copy as text", () => hand("copy")),
  ];

  // ---- many cups ---------------------------------------------------------------------------------------

  const benches = new Map();
  const made = new Map();

  // What leads from cup to cup, where the page is of many.
  const led = Array.isArray(told)
    ? null
    : cups.lead(told, {
        articles, askName, benchAt, button, choice, freshState, grams, handPage, make, MARKS: () => MARKS, moved: () => route(false), put, say,
      });

  const board = boards.lead(held, {
    freshState,
    make,
    say,
    refresh: (at) => {
      if (benches.has(articles[at])) benches.get(articles[at]).refresh();
    },
  });

  // ---- one sheet at the bench --------------------------------------------------------------------------

  // batch: a certain one, for which the page may have no sheet; else the one of this sheet that is under way.
  function bench(article, sheet, number, certain = null) {
    const many = certain ? null : led; // what leads from cup to cup, where this is one of many
    const cupAt = number - 1;
    let batch = certain || keeping.underWay(sheet);
    let state = batch ? batch.state : freshState(sheet);
    let plan = planOf(sheet, state);
    let doubt = null; // a figure that is more likely a slip, until it is decided on
    let aside = null; // what is said in the place of what was taken last
    let blank = null; // the batch that was cleared, until something else is taken
    const id = (name) => `${name}-${number}`;

    // -- the rows --

    const several = sheet.lines.some((line) => line.apart);
    // Of many cups the one that is meant comes first: the jar is the same for all of them.
    const titled = (text) => (many ? `Cup ${cupAt + 1}: ${text}` : text);
    const named = (line) => (line.portions > 1 ? `${line.shown}, portion ${line.portion} of ${line.portions}` : line.shown);
    const rows = sheet.lines.map((line, at) => {
      const box = make("input", { type: "checkbox", onchange: () => act(() => (box.checked ? tick(at) : reopen(at))) });
      const figure = make("b", { class: "grams" });
      const result = make("span", { class: "result" });
      const running = make("span", { class: "running" });
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
      const item = make("li", { class: "line" }, make("label", { class: "tick" }, box), pick);
      return { item, box, figure, result, running, pick };
    });
    const group = (base, title) => {
      const inside = rows.filter((_, at) => sheet.lines[at].base === base).map((row) => row.item);
      return inside.length ? [make("h3", { text: title }), make("ol", { class: "lines" }, ...inside)] : [];
    };

    // -- the panel --

    const layers = sheet.lines.map(() => make("i", {}, make("i")));
    const whose = make("p", {
      class: "whose",
      text: [sheet.recipe, sheet.step, `cup ${sheet.number} of ${sheet.count}`].filter(Boolean).join(" · "),
    });
    const what = make("h3", { class: "what", id: id("now") });
    const where = make("p", { class: "where" });
    const careful = make("section", { class: "careful", tabindex: "0", "aria-label": "Cautions" });
    const large = { word: make("span"), figure: make("b") };
    const small = { word: make("span"), figure: make("b") };
    const figures = make(
      "div",
      { class: "figures" },
      make("p", { class: "large" }, large.word, " ", large.figure),
      make("p", { class: "small" }, small.word, " ", small.figure),
    );
    const modes = ["line", "cup"].map((mode) =>
      make("input", { type: "radio", name: id("mode"), value: mode, onchange: () => setMode(mode) }),
    );
    const toggle = make(
      "fieldset",
      { class: "modes" },
      make("legend", { text: "the balance shows" }),
      make("label", {}, modes[0], make("span", { text: "this line" })),
      make("label", {}, modes[1], make("span", { text: "whole cup" })),
    );
    const known = make("datalist", { id: id("known-lots") });
    const lot = make("input", {
      id: id("lot"),
      type: "text",
      maxlength: MOST_TEXT,
      autocomplete: "off",
      list: id("known-lots"),
      placeholder: "on the bag",
      onfocus: () => many && many.follow(currentLine(), cupAt),
      oninput: () => {
        setLot(currentOf(sheet, state, plan), lot.value);
        if (many) many.lot(lot.value, cupAt);
      },
    });
    const lotLabel = make("label", { for: id("lot"), text: "lot" });
    const options = make("div", { class: "options" }, toggle, make("p", { class: "lot" }, lotLabel, lot, known));
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
    const settle = button("", () => act(leaveAsItIs));
    const weighing = make(
      "form",
      {
        novalidate: true,
        onsubmit: (event) => {
          event.preventDefault();
          // A figure that was typed since is no bounce of the last press.
          act(takeReading, reading.value.trim() !== "");
        },
      },
      figures,
      make("div", { class: "reading" }, readingLabel, make("span", { class: "field" }, reading, make("i", { text: "g" })), take),
      judged,
      settle,
    );

    // A figure that is more likely a slip.
    const doubtText = make("p", { class: "verdict over" });
    const doubtOffers = make("div", { class: "others" });
    const correct = button("Correct the figure", () => act(correctReading), "primary");
    const doubting = make(
      "div",
      { class: "doubting", role: "group", tabindex: "-1", "aria-labelledby": id("now") },
      doubtText,
      correct,
      doubtOffers,
    );

    const overText = make("p", { class: "verdict over" });
    const more = button("", () => act(makeMore), "primary");
    const moreText = make("p");
    const moreSteps = make("ul", { class: "steps" });
    const leave = button("Leave it", () => act(leaveAsItIs));
    const again = button("Weigh it again", () => act(() => reopen(currentOf(sheet, state, plan))));
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
    const toRecord = button(
      "On to the record",
      () => {
        if (locked()) return;
        recordHead.focus();
        recordHead.scrollIntoView({ block: "start" });
      },
      "primary",
    );
    const finished = make("div", { class: "finished" }, finishedText, toRecord);

    // What was taken last, with the way back beside the thumb.
    const lastText = make("span");
    const undo = button("Undo", () => act(() => (many && many.elsewhere(cupAt) ? many.undo() : undoLast())));
    const openAgain = button("Weigh it again", () => act(() => reopen(aside.at)));
    const last = make("div", { class: "last" }, lastText, openAgain, undo);

    const panel = make(
      "section",
      { class: "now", "aria-labelledby": id("now") },
      make("div", { class: "cup", "aria-hidden": "true" }, ...layers),
      make("div", { class: "head" }, whose, what, where),
      careful,
      make("div", { class: "work" }, weighing, doubting, overshoot, finished, last, options),
    );

    const currentLine = () => sheet.lines[Math.max(0, currentOf(sheet, state, plan))];
    const notice = make("p", { class: "notice", role: "status" });
    const dim = make("p", { class: "dim", text: awake });
    article
      .querySelector(".bench")
      .replaceChildren(
        notice,
        make("div", { class: "list" }, ...group(true, "Base"), ...group(false, "Additions"), ...(awake ? [dim] : [])),
        panel,
      );

    // -- the record --

    const recordHead = make("h3", { text: "Record", tabindex: "-1", id: id("record") });
    const fields = [];
    const field = (label, get, set, asks = {}) => {
      const input = make(asks.long ? "textarea" : "input", {
        id: id(`field-${fields.length}`),
        maxlength: MOST_TEXT,
        autocomplete: "off",
        ...(asks.long ? { rows: 3 } : { type: "text" }),
        ...(asks.mass ? { inputmode: "decimal" } : {}),
        oninput: () => {
          set(input.value);
          if (asks.mass) input.setAttribute("aria-invalid", input.value.trim() && !typed(input.value) ? "true" : "false");
        },
      });
      fields.push(() => {
        if (input.value !== get()) input.value = get();
      });
      return make("p", { class: asks.long ? "long" : "" }, make("label", { for: input.id, text: label }), input);
    };
    const said = (label, key, asks) =>
      field(
        label,
        () => state.said[key],
        (text) => {
          state.said[key] = text;
          if (CARRIED.includes(key)) keeping.carry("said", key, text);
          written();
        },
        asks,
      );
    const balances = [...new Set(sheet.lines.map((line) => line.balance))];
    const balanceFields = balances.map((name) =>
      field(
        balances.length > 1 && name ? `Balance for the lines on ‘${name}’` : "Balance",
        () => balanceOf(state, { balance: name }),
        (text) => {
          state.balances[name] = text;
          keeping.carry("said", `balance ${name}`, text);
          written();
        },
      ),
    );
    const lotFields = sheet.lines.map((line, at) =>
      field(
        `Lot of ${line.shown}`,
        () => state.lots[at],
        (text) => setLot(at, text),
      ),
    );
    const summary = make("p", { class: "sum" });
    const handedText = make("p", { class: "notice", role: "status" });
    const printAll = button(`Print all ${held.length} sheets`, () => {
      document.body.dataset.print = "all";
      window.print();
    });
    const unclear = button("Undo: bring them back", () => act(bringBack));
    const sure = make(
      "dialog",
      { "aria-labelledby": id("sure") },
      make("h3", { id: id("sure"), text: "Start this sheet over?" }),
      make("p", { text: "Its figures go to the list of batches, where they stay until they are thrown away; the sheet is empty again." }),
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
        make("p", { class: "others" }, ...ways(handOn), button("All records of this page", handAll)),
        handedText,
        make(
          "p",
          { class: "others" },
          button("Print this sheet", () => window.print()),
          ...(held.length > 1 && !certain ? [printAll] : []),
          button("Start over", () => sure.showModal()),
          unclear,
        ),
        sure,
      );

    // -- what can happen --

    let guarded = 0;
    let waiting = null;
    const locked = () => performance.now() < guarded;

    function guard(milliseconds) {
      guarded = Math.max(guarded, performance.now() + milliseconds);
      panel.classList.add("guarded");
      take.setAttribute("aria-disabled", "true");
      undo.setAttribute("aria-disabled", "true");
      clearTimeout(waiting);
      const free = () => {
        if (locked()) {
          waiting = setTimeout(free, guarded - performance.now() + 1);
          return;
        }
        panel.classList.remove("guarded");
        take.removeAttribute("aria-disabled");
        undo.removeAttribute("aria-disabled");
        weigh();
      };
      waiting = setTimeout(free, milliseconds + 1);
    }

    // Everything that books something comes through here.
    function act(action, meant = false) {
      if (locked() && !meant) {
        guard(AGAIN_MS);
        redraw();
        return;
      }
      const other = batch && keeping.newer(batch);
      if (other) {
        adopt(other);
        return;
      }
      action();
    }

    // Another window has gone on with this batch: what was typed here for a line that may be in is not booked.
    function adopt(other) {
      const text = reading.value.trim();
      batch = other;
      state = other.state;
      doubt = null;
      reading.value = "";
      aside = {
        elsewhere: true,
        text: text
          ? `Another window has gone on with this batch: ${text} that stood here was not taken.`
          : "Another window has gone on with this batch.",
      };
      redraw();
      say(aside.text);
      if (many) many.settle(cupAt, aside.text);
    }

    function kept() {
      if (!batch) batch = keeping.fresh(sheet, state);
      batch.state = state;
      keeping.put(batch);
    }

    // A text was written: what has been handed over is no longer all.
    function written() {
      if (batch) batch.record = "";
      kept();
      drawHanded("");
    }

    function setMode(mode) {
      state.mode = mode;
      keeping.carry("said", "mode", mode);
      if (batch) kept();
      if (many) many.mode(mode, cupAt);
      redraw();
      announceNext("");
    }

    function setLot(at, text) {
      if (at < 0) return;
      const material = sheet.lines[at].material;
      sheet.lines.forEach((line, other) => {
        // Portions of one line come out of one jar, and so does what is not weighed yet.
        if (line.material === material && (other === at || state.lines[other].open)) state.lots[other] = text;
      });
      keeping.carry("lots", material, text);
      written();
      fields.forEach((update) => update());
      if (document.activeElement !== lot && at === currentOf(sheet, state, plan)) lot.value = state.lots[at];
    }

    function remember() {
      const { mode, current, lines: weighed, larger, rescues, last: words } = state;
      state.before = [...state.before, JSON.stringify({ mode, current, lines: weighed, larger, rescues, last: words })].slice(-MOST_UNDO);
      if (batch) batch.record = "";
      blank = null;
      aside = null;
      doubt = null;
    }

    // at: the line that it was done to, -1 where it was no single one.
    function changed(words, at = -1) {
      plan = planOf(sheet, state);
      reading.value = "";
      kept();
      guard(GUARD_MS);
      redraw();
      drawHanded("");
      if (many) many.taken(cupAt, at, words);
      else {
        announceNext(words);
        showCurrent();
      }
      stayAwake();
    }

    function enter(at, mass, taken) {
      remember();
      const line = state.lines[at];
      const { vessels } = placeOf(at);
      line.actual = exact.shown(mass, placesOf(sheet.lines[at]));
      line.taken = line.already !== "0" && line.takenBefore !== taken ? (line.takenBefore === null ? null : "partly") : taken;
      line.at = moment(new Date());
      const { kind, text } = verdict(sheet, plan, at, mass);
      const went = subtract(mass, read(line.already));
      line.placed = [
        ...line.stood,
        ...vessels.map((vessel) => [vessel, exact.kept(divide(went, fraction(BigInt(vessels.length))))]),
      ];
      line.open = kind === "short" || kind === "over";
      if (kind === "short") state.current = at;
      else if (state.current === at) state.current = null;
      const own = grams(went, placesOf(sheet.lines[at]));
      state.last = `${own} ${named(sheet.lines[at])} ${taken === "ticked" ? "taken, ticked" : "taken, as read"}`;
      changed(`${sheet.lines[at].shown}, ${line.actual} g: ${text}.`, at);
    }

    const tick = (at) => enter(at, plan.lines[at].target, "ticked");

    // Back to what stood in the cup before this line, or before its top-up.
    function reopen(at) {
      remember();
      const line = state.lines[at];
      const lost = line.actual;
      const before = read(line.already).n !== 0n;
      line.actual = before ? line.already : null;
      line.taken = before ? line.takenBefore : null;
      line.at = before ? line.atBefore : null;
      line.placed = line.stood;
      line.open = true;
      state.current = at;
      state.last = `${named(sheet.lines[at])} is open again; ${lost}\u00a0g was written down`;
      changed(`${sheet.lines[at].shown} is open again; ${lost} g was written down.`, at);
    }

    function choose(at) {
      const line = state.lines[at];
      if (locked()) return;
      if (!line.open) {
        const zero = !weighs(sheet.lines[at]);
        aside = { at: zero ? -1 : at, text: `${named(sheet.lines[at])} is in, ${line.actual}\u00a0g` };
        redraw();
        say(`${sheet.lines[at].shown} is in, ${line.actual} g. Clear its tick to weigh it again.`);
        return;
      }
      aside = null;
      doubt = null;
      state.current = at;
      reading.value = "";
      if (batch) kept();
      if (many) many.chosen(cupAt, at);
      redraw();
      announceNext("");
    }

    function leaveAsItIs() {
      const at = currentOf(sheet, state, plan);
      remember();
      state.lines[at].open = false;
      state.last = `${named(sheet.lines[at])} stays at ${state.lines[at].actual}\u00a0g`;
      changed(`${sheet.lines[at].shown} stays at ${state.lines[at].actual} g.`, at);
    }

    function makeMore() {
      const at = currentOf(sheet, state, plan);
      const found = rescueOf(sheet, state, plan);
      const targets = targetsAfter(sheet, state, plan, found);
      remember();
      const within = new Map(found.steps.map((step) => [step.material, step.within]));
      const base = exact.shown(found.base, 0, 2);
      const why = found.leave
        ? state.larger && state.larger.why
        : `Made larger for ${sheet.lines[at].shown}: base ${base} g instead of ${sheet.base} g.`;
      state.rescues = [
        ...state.rescues,
        {
          at: moment(new Date()),
          material: sheet.lines[at].material,
          target: exact.shown(plan.lines[at].target, placesOf(sheet.lines[at])),
          actual: state.lines[at].actual,
          base: exact.shown(found.base),
        },
      ];
      state.larger = {
        base: exact.kept(found.base),
        targets: targets.map((target, line) => exact.shown(target, placesOf(sheet.lines[line]))),
        within: plan.lines.map((line) => within.get(line.material) ?? true),
        why: why || "",
      };
      state.lines.forEach((line, other) => {
        if (plan.lines[other].exact.n === 0n) return;
        const missing = compare(targets[other], actualOf(line)) > 0;
        line.already = line.actual === null ? "0" : line.actual;
        line.stood = line.placed;
        line.takenBefore = line.taken;
        line.atBefore = line.at;
        line.open = missing;
        if (!missing && line.actual === null) line.actual = "0";
      });
      state.current = null;
      state.last = found.leave ? "The targets have changed" : `Made larger: base ${base}\u00a0g`;
      changed(found.leave ? "The targets have changed." : why);
    }

    function shownOf(material) {
      const found = sheet.lines.find((line) => line.material === material);
      return found ? found.shown : material;
    }

    function undoLast() {
      if (!state.before.length) return;
      const closed = state.lines.map((line) => !line.open);
      Object.assign(state, JSON.parse(state.before.pop()));
      if (batch) batch.record = "";
      aside = { text: "Undone" };
      doubt = null;
      changed("Undone.", state.lines.findIndex((line, at) => line.open && closed[at]));
    }

    // The figures stay in the list of batches; the sheet gets new ones.
    function startOver() {
      if (batch) {
        batch.closed = true;
        keeping.put(batch);
        blank = batch;
      }
      batch = null;
      state = freshState(sheet);
      aside = null;
      doubt = null;
      plan = planOf(sheet, state);
      reading.value = "";
      redraw();
      drawHanded("All figures are cleared here; they stay in the list of batches.");
      announceNext("All figures are cleared.");
    }

    function bringBack() {
      batch = blank;
      blank = null;
      batch.closed = false;
      state = batch.state;
      keeping.put(batch);
      plan = planOf(sheet, state);
      redraw();
      drawHanded("");
      announceNext("The figures are back.");
    }

    function handOn(how) {
      const wrong = handing.flaw(state);
      if (wrong) {
        drawHanded(wrong);
        return;
      }
      kept();
      askName([batch], () =>
        handOver(how, [batch], (words) => {
          const without = state.lines.filter((line) => line.actual === null).length;
          drawHanded(`${words}${without ? ` ${without === 1 ? "One line has" : `${without} lines have`} no figure yet; the record says so.` : ""}`);
          redraw();
        }),
      );
    }

    function handAll() {
      handPage(drawHanded);
    }

    // -- reading the balance --

    // {shown, mass} of the current line from what is typed, {error} where that cannot be, {} where nothing is. slip: what
    // it more likely is.
    function readingOf(at) {
      const text = reading.value;
      if (!text.trim()) return {};
      const shown = typed(text);
      if (!shown) return { error: "Write what the balance shows, in grams, such as 12.5." };
      const mode = modeOf(at);
      const place = placeOf(at);
      const { before, own, vessels } = place;
      const carries = sheet.lines[at].carries ? multiply(read(sheet.lines[at].carries), fraction(BigInt(vessels.length))) : null;
      const slip = slips.likely(shown, { mode, own, before, tolerance: read(sheet.tolerance), most: carries, single: single(at) });
      const went = mode === "cup" ? subtract(shown, before) : shown;
      const mass = add(read(state.lines[at].already), went);
      if (went.n >= 0n) return { shown, mass, slip };
      const error = `The cup holds ${grams(before, placesOf(sheet.lines[at]))} already. Was the balance set to zero? Then choose “this line”.`;
      return { shown, error, slip: slip && slip.offers.length ? slip : null };
    }

    // What stands against a figure, in words.
    function doubtOf(at, shown, slip) {
      const line = sheet.lines[at];
      const places = placesOf(line);
      const { before, own } = placeOf(at);
      const wrote = exact.shown(shown);
      const alone = grams(own, places);
      const whole = grams(add(before, own), places);
      const asked = modeOf(at) === "cup" ? whole : alone;
      const too = slip.beyond
        ? `‘${line.on || (sheet.main ? sheet.main.shown : "the balance")}’ carries ${line.carries}\u00a0g and cannot show ${wrote}. `
        : "";
      if (slip.why === "whole") return `${too}${wrote} is about what the whole cup shows now (${whole}); this line alone is ${alone}.`;
      if (slip.why === "alone") return `${too}${wrote} is about this line alone (${alone}); the whole cup would show ${whole}. Was the balance set to zero?`;
      if (slip.why === "point") {
        const power = slip.shift < 0n ? -slip.shift : slip.shift;
        const times = slip.shift < 0n ? `a ${power === 10n ? "tenth" : power === 100n ? "hundredth" : "thousandth"} of` : `${power} times`;
        return `${too}${wrote} is about ${times} the ${asked} asked for: is the point in the wrong place?`;
      }
      return too ? too.trim() : `${wrote} is far from the ${asked} asked for.`;
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
      if (at < 0) return;
      const { shown, mass, error, slip } = readingOf(at);
      if (slip) {
        doubt = { at, shown, slip };
        guard(GUARD_MS);
        redraw();
        announceNext(doubtOf(at, shown, slip));
        showCurrent();
      } else if (error) {
        reading.setAttribute("aria-invalid", "true");
        say(error);
        reading.focus();
      } else if (mass) {
        enter(at, mass, "read");
      } else {
        enter(at, plan.lines[at].target, "ticked");
      }
    }

    function correctReading() {
      doubt = null;
      redraw();
      reading.focus();
      reading.select();
    }

    // It was meant so: the figure as it stands, or as it is offered.
    function takeAs(mode, shown) {
      const { at } = doubt;
      const went = mode === "cup" ? subtract(shown, placeOf(at).before) : shown;
      const mass = add(read(state.lines[at].already), went);
      if (mode !== modeOf(at) && single(at)) state.mode = mode;
      enter(at, mass, "read");
    }

    // What is typed, judged while it is typed.
    function weigh() {
      const at = currentOf(sheet, state, plan);
      if (at < 0) return;
      const { mass, error, slip } = readingOf(at);
      const line = state.lines[at];
      const places = placesOf(sheet.lines[at]);
      reading.setAttribute("aria-invalid", error && reading.value.trim() ? "true" : "false");
      const went = mass && subtract(mass, modeOf(at) === "line" ? read(line.already) : ZERO);
      if (error) put(take, slip ? "Check the figure" : "Not a figure");
      else if (mass) put(take, slip ? "Check the figure" : `Take ${grams(went, places)}`);
      else put(take, locked() ? "✓ Taken" : "✓ On target");
      let shown = { kind: "none", text: "" };
      if (error) shown = { kind: "error", text: error };
      else if (mass) shown = verdict(sheet, plan, at, mass);
      else if (line.actual !== null && read(line.already).n === 0n) {
        shown = verdict(sheet, plan, at, read(line.actual));
      } else if (line.actual !== null) shown = { kind: "none", text: `${line.actual}\u00a0g of it is in already` };
      judged.dataset.kind = shown.kind;
      put(judged, `${MARKS[shown.kind] || ""} ${shown.text}`.trim());
    }

    // -- drawing --

    function redraw() {
      plan = planOf(sheet, state);
      const at = currentOf(sheet, state, plan);
      const tolerance = read(sheet.tolerance);
      const places = vesselsOf(sheet, state, plan, at);
      rows.forEach((row, line) => drawRow(row, line, at, places));
      const over = at >= 0 && isOver(state.lines[at], plan.lines[at], tolerance);
      if (doubt && (doubt.at !== at || over)) doubt = null;
      weighing.hidden = at < 0 || over || doubt !== null;
      options.hidden = weighing.hidden;
      doubting.hidden = doubt === null;
      overshoot.hidden = !over;
      finished.hidden = at >= 0;
      settle.hidden = true;
      drawCare(at);
      if (at < 0) drawFinished();
      else if (over) drawOver(at);
      else if (doubt) drawDoubt(at);
      else drawWeighing(at);
      drawLast();
      drawRecord();
      fill(article, sheet, batch ? batch : { state, sheet });
      put(
        notice,
        !keeping.works()
          ? KEEPS_NOTHING
          : state.larger
            ? state.larger.why
            : "",
      );
    }

    function drawRow(row, number, at, places) {
      const line = sheet.lines[number];
      const { actual, already, open, taken } = state.lines[number];
      const planned = plan.lines[number];
      const decimals = placesOf(line);
      const asked = grams(planned.target, decimals);
      const next = places.lines[number];
      row.box.checked = !open;
      row.box.disabled = planned.exact.n === 0n;
      row.box.setAttribute("aria-label", `${line.shown}, ${asked.replace("\u00a0", " ")}, is in`);
      row.item.classList.toggle("current", number === at);
      row.item.classList.toggle("done", !open);
      if (number === at) row.pick.setAttribute("aria-current", "step");
      else row.pick.removeAttribute("aria-current");
      put(row.figure, asked);
      put(row.running, runningOf(number, next, places.count, decimals));
      let shown = { kind: "none", text: several && line.on ? `on ‘${line.on}’` : "" };
      if (actual !== null && planned.exact.n !== 0n) {
        const judgement = verdict(sheet, plan, number, read(actual));
        const topUp = open && read(already).n !== 0n;
        const how = { read: "read", ticked: "ticked", partly: "in part ticked" }[taken];
        shown = topUp
          ? { kind: "short", text: `${grams(next.own, decimals)} more` }
          : { kind: judgement.kind, text: `${actual}\u00a0g${how ? `, ${how}` : ""}: ${judgement.text}` };
      }
      row.result.dataset.kind = shown.kind;
      put(row.result, `${MARKS[shown.kind]} ${shown.text}`.trim());
      layers[number].style.flexGrow = String(Number(exact.written(planned.target, 6)) || 0.001);
      const full = planned.target.n === 0n ? ZERO : divide(actual === null ? ZERO : read(actual), planned.target);
      layers[number].firstChild.style.width = `${Math.min(100, Number(exact.written(full, 4)) * 100)}%`;
      layers[number].className = shown.kind === "over" ? "over" : number === at ? "current" : "";
    }

    // What the vessel shows when this line is in, in the order in which the lines still go in.
    function runningOf(number, next, count, decimals) {
      if (!next) {
        const mine = state.lines[number].placed;
        return count > 1 && mine.length && mine[mine.length - 1][0] ? `vessel ${mine[mine.length - 1][0]}` : "";
      }
      if (next.vessels.length > 1) return `${next.vessels.length} vessels`;
      if (!next.vessels[0]) return "apart";
      const holds = exact.shown(next.shows, decimals);
      return count > 1 ? `vessel ${next.vessels[0]}: ${holds}` : `cup ${holds}`;
    }

    function drawCare(at) {
      const line = at < 0 ? null : sheet.lines[at];
      careful.hidden = !line || !line.care.length;
      if (careful.hidden || careful.dataset.line === String(at)) return;
      careful.dataset.line = String(at);
      const warns = line.warns && line.warns.length ? `: ${line.warns.join(", ")}` : "";
      careful.setAttribute("aria-label", `Cautions for ${line.shown}`);
      careful.replaceChildren(
        make("h4", { text: `Care with ${line.shown}${warns}` }),
        make("ul", {}, ...line.care.map((text) => make("li", { text }))),
      );
      careful.scrollTop = 0;
    }

    function drawLast() {
      const other = many && !aside ? many.elsewhere(cupAt) : "";
      put(lastText, aside ? aside.text : other || state.last || (state.before.length ? "Last step" : ""));
      openAgain.hidden = !aside || aside.at === undefined || aside.at < 0 || state.lines[aside.at].open;
      // What another window did is not undone beside the word that it did something.
      const settled = aside ? aside.elsewhere : many && many.settled();
      undo.hidden = (!other && !state.before.length) || !openAgain.hidden || Boolean(settled);
      last.hidden = undo.hidden && openAgain.hidden && !lastText.textContent;
      unclear.hidden = !blank;
    }

    function drawWeighing(at) {
      const line = sheet.lines[at];
      const mine = state.lines[at];
      const places = placesOf(line);
      const mode = modeOf(at);
      const place = placeOf(at);
      const count = place.vessels.length;
      const topUp = read(mine.already).n !== 0n;
      const own = grams(place.own, places);
      put(what, titled(named(line)));
      const todo = state.lines.filter((one) => one.open).length;
      const inVessels = Math.max(sheet.vessels, ...place.vessels) > 1 && !line.apart;
      const fresh = place.before.n === 0n ? ": tare it empty" : "";
      const vessel =
        count > 1
          ? `in ${count} portions of at most ${grams(place.most, places)}, each in a vessel of its own; type their sum`
          : inVessels && place.vessels[0]
            ? `vessel ${place.vessels[0]}${fresh}`
            : "";
      const apart = line.apart
        ? `weigh apart on ‘${line.on}’, in a cup of its own; tip it in when the running total is done`
        : several && line.on && `on ‘${line.on}’`;
      const left = many ? many.left(cupAt) : todo === 1 ? "the last line" : `${todo} to go`;
      put(where, [apart, vessel, left].filter(Boolean).join(" · "));
      const [first, second] = mode === "cup" ? [small, large] : [large, small];
      put(first.word, topUp ? "add on top" : "weigh in");
      put(first.figure, count > 1 ? `${own} in ${count} portions` : own);
      const cupWord = inVessels ? "vessel" : "cup";
      put(second.word, !single(at) ? "" : mode === "cup" ? `until the ${cupWord} shows` : `${cupWord} then holds`);
      put(second.figure, single(at) ? grams(place.shows, places) : "");
      modes[0].checked = mode === "line";
      modes[1].checked = mode === "cup";
      toggle.disabled = !single(at);
      put(
        readingLabel,
        `What the balance shows in grams, ${mode === "cup" ? "the whole cup" : topUp ? "what is added alone" : "this line alone"}`,
      );
      put(lotLabel, "lot");
      lotLabel.setAttribute("aria-label", `Lot of ${line.shown}, weighed now`);
      if (lot.value !== state.lots[at]) lot.value = state.lots[at];
      const offered = keeping.carried("lots", line.material).text;
      known.replaceChildren(...(offered ? [make("option", { value: offered })] : []));
      settle.hidden = mine.actual === null;
      put(settle, `Leave it at ${mine.actual}\u00a0g`);
      weigh();
    }

    function drawDoubt(at) {
      const { shown, slip } = doubt;
      const line = sheet.lines[at];
      const places = placesOf(line);
      put(what, titled(`Check the figure: ${named(line)}`));
      put(where, `${exact.shown(shown)} was typed`);
      put(doubtText, `? ${doubtOf(at, shown, slip)}`);
      const before = placeOf(at).before;
      const mode = modeOf(at);
      const offers = slip.offers.map((one) => {
        const went = grams(one.mode === "cup" ? subtract(one.shown, before) : one.shown, places);
        const words = one.mode !== mode
          ? one.mode === "cup" ? `The whole cup: ${went} went in` : `This line alone: ${went} went in`
          : `It showed ${grams(one.shown, places)}`;
        return button(words, () => act(() => takeAs(one.mode, one.shown)));
      });
      const went = mode === "cup" ? subtract(shown, before) : shown;
      if (went.n >= 0n) offers.push(button(`${exact.shown(shown)} is right`, () => act(() => takeAs(mode, shown))));
      doubtOffers.replaceChildren(...offers);
    }

    function drawOver(at) {
      const line = sheet.lines[at];
      const found = rescueOf(sheet, state, plan);
      const { text } = verdict(sheet, plan, at, read(state.lines[at].actual));
      put(what, titled(`Too much ${line.shown}`));
      put(where, `${state.lines[at].actual}\u00a0g is in`);
      put(overText, `▲ ${text}`);
      const base = exact.shown(found.base, 0, 2);
      const adding = found.steps.filter((step) => step.add.n !== 0n);
      if (found.leave) {
        put(more, "Take it up further down");
        put(moreText, "The same material comes again below: weigh that much less there.");
      } else {
        put(more, `Make more: base ${base}\u00a0g`);
        const total = grams(found.total, mostPlaces(sheet));
        const outside = found.steps.filter((step) => !step.within).map((step) => shownOf(step.material));
        put(
          moreText,
          [
            `${exact.shown(found.factor, 0, 3)} times the batch puts it right, ${total} in the end:`,
            outside.length ? `still outside the tolerance is ${outside.join(", ")}.` : "every line is then within tolerance.",
            found.underCapacity === false ? tooMuchFor(found.total) : "",
          ].join(" "),
        );
      }
      moreSteps.replaceChildren(
        ...adding.map((step) => {
          const first = sheet.lines.find((one) => one.material === step.material);
          return make("li", {}, make("b", { text: grams(step.add, placesOf(first)) }), step.inside.n === 0n ? " " : " more ", first.shown);
        }),
      );
    }

    // The batch is more than its balance carries: another one may do, else it goes on in further vessels.
    function tooMuchFor(total) {
      const carried = (one) => compare(add(total, read(one.cup)), read(one.capacity)) <= 0;
      const other = (sheet.balances || []).find(carried);
      const said = `That is more than the balance ‘${sheet.main.shown}’ carries at once:`;
      return other
        ? `${said} ‘${other.shown}’ carries it, else this page names the vessels to go on in.`
        : `${said} this page names the vessels to go on in.`;
    }

    function drawFinished() {
      const total = heldBy(state);
      put(what, titled("All is in"));
      put(where, `${grams(total, mostPlaces(sheet))} dry`);
      put(finishedText, sheet.water === null ? "Now the water." : `Water: ${waterOf(sheet, total)}, ${sheet.water_said || `${sheet.water}\u00a0%`} of what is in${sheet.water_by ? `, ${sheet.water_by}` : ""}.`);
      if (many) many.finished(cupAt, finished);
    }

    function drawRecord() {
      fields.forEach((update) => update());
      const total = grams(heldBy(state), mostPlaces(sheet));
      const left = state.lines.filter((line) => line.open).length;
      const ticked = state.lines.filter((line) => line.taken === "ticked").length;
      const known = ticked ? ` ${lines(ticked)} ${ticked === 1 ? "was" : "were"} ticked and not read off; the record says which.` : "";
      put(summary, `${left ? `${total} in so far; ${left === 1 ? "one line is" : `${left} lines are`} still open.` : `${total} of dry material is in.`}${known}`);
    }

    function drawHanded(words) {
      const earlier = batch && batch.record && batch.handed.length ? batch.handed[batch.handed.length - 1] : null;
      put(handedText, words || (earlier ? `Handed over ${dayOf(earlier.at)}${earlier.name ? ` as ${earlier.name}` : ""}: check that it is there.` : ""));
    }

    function announceNext(words) {
      const at = currentOf(sheet, state, plan);
      let next = "All is in.";
      if (at >= 0 && !doubting.hidden) next = "Correct it, or choose what it was.";
      else if (at >= 0 && !overshoot.hidden) next = `${what.textContent}. Choose: make more, leave it, or weigh it again.`;
      else if (at >= 0) {
        const also = small.figure.textContent && `, ${small.word.textContent} ${small.figure.textContent}`;
        next = `Next: ${what.textContent}, ${large.word.textContent} ${large.figure.textContent}${also}.`;
      }
      say(`${words} ${next}`.replaceAll("\u00a0", " ").trim());
    }

    function showCurrent(loaded = false) {
      const at = currentOf(sheet, state, plan);
      if (at >= 0 && (!loaded || begun(sheet, state))) rows[at].item.scrollIntoView({ block: "nearest" });
      if (loaded) return;
      // The button that was pressed may be gone: keyboard and screen reader must not fall back to the top.
      if (document.activeElement === document.body || !document.activeElement.getClientRects().length) {
        // Not the button that makes more: a second press of Enter must not choose it.
        const next = [take, doubting, overshoot, toRecord].find((place) => place.getClientRects().length);
        if (next) next.focus({ preventScroll: true });
      }
    }

    keeping.listen((changedId) => {
      if (changedId === null) {
        redraw();
        return;
      }
      const other = keeping.get(changedId);
      if (batch ? batch.id === changedId && other !== batch : !certain && !blank && other === keeping.underWay(sheet) && other) adopt(other);
    });
    redraw();
    drawHanded("");
    return {
      showCurrent,
      announceNext,
      // Leads to a line of this cup; where another cup was acted on, nothing is taken here for a moment either.
      lead: (at, guarded) => {
        if (at >= 0 && state.lines[at].open) state.current = at;
        if (guarded) guard(GUARD_MS);
        reading.value = "";
        doubt = null;
        redraw();
      },
      tick: (at) => act(() => tick(at)),
      reopen: (at) => act(() => reopen(at)),
      undo: undoLast,
      last: () => (state.before.length ? state.last || "Last step" : ""),
      state: () => state,
      // Where the batch was thrown away, or another one taken up, from the list.
      refresh: () => {
        if (certain) batch = keeping.get(certain.id) || batch;
        else if (!blank) batch = keeping.underWay(sheet);
        state = batch ? batch.state : freshState(sheet);
        redraw();
        drawHanded("");
      },
    };
  }

  const MARKS = { none: "", on: "✓", within: "✓", short: "▼", over: "▲" };

  // ---- on paper ----------------------------------------------------------------------------------------

  // What was weighed, and what is asked for by now, put into the printed sheet: whoever goes on with the paper must
  // weigh what the screen asks for.
  function fill(article, sheet, { state }) {
    const all = (name, texts) =>
      article.querySelectorAll(`[data-fill="${name}"]`).forEach((place, at) => {
        if (place.dataset.printed === undefined) place.dataset.printed = place.textContent;
        put(place, texts === null ? place.dataset.printed : texts[at] || "");
      });
    const plan = planOf(sheet, state);
    const at = currentOf(sheet, state, plan);
    const { lines: next, count, loads } = vesselsOf(sheet, state, plan, at);
    const some = begun(sheet, state);
    const most = mostPlaces(sheet);
    const places = sheet.lines.map(placesOf);
    const bare = (mass, decimals) => exact.shown(mass, decimals);
    article.querySelectorAll("table.paper input.box").forEach((box, n) => {
      box.checked = Boolean(state.lines[n]) && !state.lines[n].open && weighs(sheet.lines[n]);
    });
    all("grams", state.larger ? plan.lines.map((line, n) => bare(line.target, places[n])) : null);
    // What has no room in the vessel that it stands under names the one it goes into, or lies in.
    const running = (one, n) => {
      const lies = state.lines[n].placed.map(([vessel]) => vessel);
      const into = one ? one.vessels : lies.slice(-1);
      if (into.length > 1) return `${into.length} vessels`;
      const elsewhere = into[0] && into[0] !== sheet.lines[n].vessel ? `vessel ${into[0]}` : "";
      return [elsewhere, one && one.shows ? bare(one.shows, places[n]) : ""].filter(Boolean).join(": ");
    };
    all("running", some ? next.map(running) : null);
    const vessels = [...new Set(sheet.lines.map((line) => line.vessel).filter(Boolean))];
    const holds = (vessel) => grams(loads.get(vessel) || ZERO, places[sheet.lines.findIndex((line) => line.vessel === vessel)]);
    all(
      "vessel",
      some ? vessels.map((one) => `vessel ${one} of ${count}: tare it empty; it holds ${holds(one)} in the end`) : null,
    );
    all("target", state.larger ? [bare(targetOf(plan), most)] : null);
    all(
      "weighed",
      state.lines.map((line, n) => {
        if (!weighs(sheet.lines[n]) || line.actual === null) return "";
        const more = line.open && read(line.already).n !== 0n && next[n];
        return more ? `${line.actual} + ${bare(next[n].own, places[n])}:` : line.actual;
      }),
    );
    all("lot", state.lots);
    all("total", [some && state.lines.every((line) => !line.open) ? bare(heldBy(state), most) : ""]);
    all("date", [daysOf(state)]);
    all("weighed by", [state.said.person]);
    all("checked by", [state.said.checked_by]);
    all("balance", [some ? [...new Set(sheet.lines.map((line) => balanceOf(state, line)))].filter(Boolean).join(", ") : ""]);
    all("remarks", [remarksOf(state)]);
    const mass = article.querySelector(".mass");
    if (mass) {
      if (mass.dataset.printed === undefined) mass.dataset.printed = mass.textContent;
      const now = `made larger: base ${exact.shown(plan.base, 0, 2)}\u00a0g, ${grams(targetOf(plan), most)} in all`;
      put(mass, state.larger ? `${now} (planned: ${mass.dataset.printed})` : mass.dataset.printed);
    }
    article
      .querySelectorAll(".planned .warning b, :scope > .warning b")
      .forEach((lead) => put(lead, state.larger ? "Attention, of the batch as it was planned:" : "Attention:"));
    const water = article.querySelector(".water dd");
    if (water && sheet.water !== null) {
      if (water.dataset.printed === undefined) water.dataset.printed = water.textContent;
      const anew = state.larger ? `; for the larger batch ${waterOf(sheet, targetOf(plan))}` : "";
      put(water, water.dataset.printed + anew);
    }
  }

  // ---- all records of this page ------------------------------------------------------------------------

  // Those that have not been thrown away, of the sheets of this page, the first one weighed first.
  function pageBatches() {
    return keeping
      .all()
      .filter((one) => !one.thrown && begun(one.sheet, one.state) && held.some((sheet) => keeping.belongs(one, sheet)))
      .sort((a, b) => Date.parse(timesOf(a.state)[0] || a.touched) - Date.parse(timesOf(b.state)[0] || b.touched));
  }

  function handPage(tells) {
    const batches = pageBatches();
    if (!batches.length) {
      tells("Nothing has been weighed on this page yet.");
      return;
    }
    const wrong = batches.find((one) => handing.flaw(one.state));
    if (wrong) {
      tells(`${wrong.sheet.shown}: ${handing.flaw(wrong.state)}`);
      return;
    }
    askName(batches, () =>
      handOver(mayShare ? "share" : "file", batches, (words) => {
        tells(`${batches.length === 1 ? "One record" : `${batches.length} records`}. ${words}`);
        drawList();
      }),
    );
  }

  // ---- the shelf: every batch that this browser holds --------------------------------------------------

  const shelf = make("section", { class: "shelf screen", "aria-label": "Batches in this browser" });
  const shelfHead = make("h2", { text: "Batches in this browser" });
  const shelfText = make("p", { class: "notice", role: "status" });
  let shelfSaid = "";
  const forgets = make("p", { class: "notice screen", role: "status" });

  const KINDS = [
    ["Begun", (one) => one.state.lines.some((line) => line.open) && !handedOver(one)],
    ["All in, not handed over", (one) => !one.state.lines.some((line) => line.open) && !handedOver(one)],
    ["Handed over", handedOver],
  ];

  // As it stands now: where something was changed since, it is not.
  function handedOver(batch) {
    return batch.handed.length > 0 && (Boolean(batch.record) || !timesOf(batch.state).length);
  }

  const sheetAt = (batch) => held.findIndex((sheet) => keeping.belongs(batch, sheet) && keeping.underWay(sheet) === batch);

  function drawShelf() {
    const all = keeping.all().filter((one) => begun(one.sheet, one.state));
    const there = all.filter((one) => !one.thrown).sort((a, b) => (a.touched < b.touched ? 1 : -1));
    const thrown = all.filter((one) => one.thrown).sort((a, b) => (a.thrown < b.thrown ? 1 : -1));
    // On the page of one sheet the batch that stands below says all of itself.
    const own = !choice && all.length === 1 && sheetAt(all[0]) >= 0 && !all[0].thrown;
    // The cups of a session stand below, each with its state.
    if (led) there.splice(0, there.length, ...there.filter((one) => sheetAt(one) < 0));
    shelf.hidden = own || (!there.length && !thrown.length && !keeping.unreadable());
    if (shelf.hidden) {
      shelf.replaceChildren();
      return;
    }
    const parts = [];
    for (const [title, fits] of KINDS) {
      const some = there.filter(fits);
      if (some.length) parts.push(make("h3", { text: title }), make("ul", {}, ...some.map(shelved)));
    }
    if (!led && pageBatches().length > 1) {
      parts.push(make("p", { class: "others" }, button("All records of this page", () => handPage(sayOnShelf))));
    }
    if (keeping.unreadable()) {
      parts.push(make("p", { class: "remark", text: "Something else that is kept here cannot be read by this page, and is left as it is." }));
    }
    if (thrown.length) {
      parts.push(
        make(
          "details",
          {},
          make("summary", { text: `Thrown away, kept for a day: ${thrown.length}` }),
          make("ul", {}, ...thrown.map(shelved)),
        ),
      );
    }
    put(shelfText, shelfSaid);
    const opened = [...shelf.querySelectorAll("details")].map((one) => one.open);
    if (choice && !led) shelf.replaceChildren(shelfHead, shelfText, ...parts);
    else {
      const summary = make("summary", {}, `${led ? "Other batches" : "Batches"} in this browser: ${there.length}`);
      shelf.replaceChildren(make("details", { class: "folded" }, summary, shelfText, ...parts));
    }
    shelf.querySelectorAll("details").forEach((one, at) => {
      one.open = Boolean(opened[at]);
    });
  }

  function sayOnShelf(words) {
    shelfSaid = words;
    drawList();
  }

  function shelved(batch) {
    const { sheet, state } = batch;
    const times = timesOf(state);
    const done = state.lines.filter((line) => !line.open).length;
    const earlier = batch.handed[batch.handed.length - 1];
    const told = [
      times.length ? `begun ${dayOf(times[0])}` : "begun on a day that is not known",
      done === state.lines.length ? "all in" : `${done} of ${state.lines.length} in`,
      earlier ? `handed over ${dayOf(earlier.at)}${earlier.name ? ` as ${earlier.name}` : ""}${handedOver(batch) ? "" : ", changed since"}` : "",
    ];
    const head = make("p", {}, make("b", { text: sheet.shown }), " ", make("small", { text: told.filter(Boolean).join(" · ") }));
    if (sheet.file) head.append(" ", make("small", { text: sheet.file }));
    const label = (words) => ({ "aria-label": `${words}: ${sheet.shown}, ${told[0]}` });
    const named = (words, onclick) => {
      const made = button(words, onclick);
      made.setAttribute("aria-label", label(words)["aria-label"]);
      return made;
    };
    if (batch.thrown) {
      const back = named("Take it back", () => {
        batch.thrown = "";
        keeping.put(batch);
        sayOnShelf(`${sheet.shown} is back.`);
      });
      return make("li", {}, head, make("p", { class: "others" }, back));
    }
    const at = sheetAt(batch);
    const goOn = done === state.lines.length ? "Look at it" : "Go on";
    const href = at >= 0 ? `#${held[at].anchor}` : `#batch/${batch.id}`;
    const hand = (how) => {
      const wrong = handing.flaw(state);
      if (wrong) sayOnShelf(`${sheet.shown}: ${wrong}`);
      else askName([batch], () => handOver(how, [batch], (words) => sayOnShelf(`${sheet.shown}: ${words}`)));
    };
    return make(
      "li",
      {},
      head,
      make(
        "p",
        { class: "others" },
        make("a", { href, class: "button", text: goOn, ...label(goOn) }),
        ...(mayShare ? [named("Share record", () => hand("share"))] : []),
        named("Save record", () => hand("file")),
        named("Throw away", () => {
          batch.thrown = new Date().toISOString();
          keeping.put(batch);
          shelfSaid = "";
          drawList();
          shelfText.replaceChildren(
            `${sheet.shown} is thrown away. `,
            button("Undo", () => {
              batch.thrown = "";
              keeping.put(batch);
              sayOnShelf(`${sheet.shown} is back.`);
            }),
          );
        }),
      ),
    );
  }

  // ---- the list to choose from -------------------------------------------------------------------------

  const places = choice ? [...choice.querySelectorAll(".state")] : [];

  function drawList() {
    places.forEach((place, at) => put(place, progress(keeping.underWay(held[at]))));
    put(forgets, keeping.works() ? "" : KEEPS_NOTHING);
    drawShelf();
    board.draw();
    if (led) led.draw();
  }

  function search(asked) {
    const words = asked.toLowerCase().split(/\s+/).filter(Boolean);
    let found = 0;
    if (led) led.searching();
    for (const item of choice.querySelectorAll("[data-find]")) {
      const fits = words.every((word) => item.dataset.find.includes(word));
      item.hidden = !fits;
      if (fits) found += 1;
    }
    for (const list of choice.querySelectorAll("li.several")) list.hidden = !list.querySelector("li:not([hidden])");
    say(found === 1 ? "One test is left." : `${found} tests are left.`);
  }

  // ---- which sheet is open -----------------------------------------------------------------------------

  const title = document.title;
  const heading = make("h1", { class: "unseen", text: title });
  document.querySelector("main").prepend(heading);

  function partOf(hash) {
    try {
      return decodeURIComponent(hash.slice(1));
    } catch {
      return "";
    }
  }

  // The article for a batch of which this page has no sheet: the recipe has changed since, or it is another page's.
  function articleOf(batch) {
    if (!made.has(batch.id)) {
      const { sheet } = batch;
      const article = make(
        "article",
        { class: "sheet", "aria-labelledby": `name-${batch.id}` },
        make("header", {}, make("p", { class: "kind", text: "A batch as it was begun" }), make("h2", { id: `name-${batch.id}`, text: sheet.shown })),
        make("p", { class: "mass", text: `base ${sheet.base} g` }),
        make("p", { class: "warning", text: "This page holds no sheet with these targets: the recipe has changed since, or it is of another page. What is asked for here is what was asked for then." }),
        make("div", { class: "bench screen" }),
        make("div", { class: "record screen" }),
      );
      document.querySelector("main").append(article);
      articles.push(article);
      made.set(batch.id, article);
      withBack(article);
      benches.set(article, bench(article, sheet, batch.id, batch));
    }
    return made.get(batch.id);
  }

  function withBack(article) {
    article.prepend(make("a", { href: choice ? "#choice" : "#", class: "back screen", text: led ? "‹ All cups" : choice ? "‹ All tests" : "‹ Back to the sheet" }));
  }

  function openOf(part) {
    const kept = part.startsWith("batch/") ? keeping.get(part.slice(6)) : null;
    if (kept) return { open: articleOf(kept), place: null };
    const place = part ? document.getElementById(part) : null;
    const asked = place && place.closest("article.sheet");
    return { open: asked || (held.length === 1 && !led ? articles[0] : null), place };
  }

  // The bench of a sheet or cup, made when it is first needed; null where nothing carries it.
  function benchAt(at) {
    const article = articles[at];
    if (!benches.has(article) && article.querySelector(".bench")) benches.set(article, bench(article, held[at], at + 1));
    return benches.get(article) || null;
  }

  function route(moved) {
    const before = document.querySelector("article.open");
    const { open, place } = openOf(partOf(location.hash));
    for (const article of articles) article.classList.toggle("open", article === open);
    document.body.classList.toggle("choosing", !open);
    heading.hidden = !open;
    document.body.dataset.print = open ? "one" : "all";
    const at = articles.indexOf(open);
    if (open && benches.has(open) && open !== before) benches.get(open).refresh();
    else if (open) benchAt(at);
    document.title = open ? `${open.querySelector("h2").textContent.replace(/\s+/g, " ").trim()}: ${led ? "many cups" : "batch sheet"}` : title;
    drawList();
    if (open && benches.has(open)) stayAwake();
    if (led && open && at < held.length && moved) led.opened(at);
    if (!moved || open === before) {
      if (place && place !== open && open) place.scrollIntoView();
      else if (open && benches.has(open)) benches.get(open).showCurrent(true);
      return;
    }
    if (open) {
      const head = open.querySelector("h2");
      head.setAttribute("tabindex", "-1");
      window.scrollTo(0, 0);
      head.focus({ preventScroll: true });
    } else if (before) {
      const links = [...document.querySelectorAll("#choice a")];
      const back = links.find((link) => link.getAttribute("href") === `#${before.id}`) || links[0];
      if (back) back.focus();
    }
  }

  document.documentElement.classList.add("js");
  if (choice) {
    articles.forEach(withBack);
    if (led) led.begin();
    if (led) choice.querySelector(".set-out").before(shelf);
    else choice.prepend(shelf);
    if (held.length > 12) {
      const find = make("input", { id: "find", type: "text", autocomplete: "off", oninput: () => search(find.value) });
      choice.querySelector("h1").after(
        make("p", { class: "fields-in screen" }, make("label", { for: "find", text: "Find by name, test, cone or folder" }), find),
      );
    }
    choice.querySelector("h1").after(forgets);
    choice.append(
      ...(held.length && !led ? [make("p", { class: "others" }, button(`Print all ${held.length} sheets`, () => window.print()))] : []),
    );
  } else {
    articles[0].before(shelf);
  }
  window.addEventListener("hashchange", () => route(true));
  window.addEventListener("beforeprint", () => {
    if (led) led.fill();
    held.forEach((sheet, at) => {
      const batch = keeping.underWay(sheet);
      if (batch && !benches.has(articles[at])) fill(articles[at], sheet, batch);
    });
  });
  window.addEventListener("afterprint", () => route(false));
  document.addEventListener("visibilitychange", () => {
    if (document.querySelector("article.open .now")) stayAwake();
  });
  keeping.listen((id) => {
    // A batch that was only in the slower place may be the one that the address names.
    if (id !== null && partOf(location.hash) === `batch/${id}`) route(false);
    drawList();
  });
  route(false);
})();
