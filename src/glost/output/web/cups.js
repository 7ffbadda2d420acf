// Many cups on one page: two orders, jar by jar and cup by cup, of one state.
//
// Each cup is a batch of its own, kept and recorded as that of a sheet (see keeping.js), and weighed from the same panel
// (see sheet.js). What is here says which cup and line comes next, and draws what is about all cups.

"use strict";

const cups = (() => {
  const { begun, isOver, mostPlaces, placesOf, planOf, poured, targetOf, verdict, vesselsOf, waterFor, weighs } = plans;
  const { add, compare, divide, fraction, largest, multiply, read, sum } = exact;
  const FEW = 12; // so many cups of a jar are listed at once; of more, those around the current one
  const BEFORE = 2;
  const AFTER = 8;
  const MANY = 24; // of more cups the map is folded

  const count = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;

  // told: {jars, sheets} of the page. page: what sheet.js lends.
  function lead({ jars, sheets, margin }, page) {
    const { articles, benchAt, button, choice, grams, make, put, say } = page;

    // ---- what there is to weigh, in either order ---------------------------------------------------------

    const weighable = sheets.map((_, cup) => articles[cup].querySelector(".bench") !== null);
    const byJar = jars.map((jar) =>
      sheets.flatMap((sheet, cup) =>
        weighable[cup]
          ? sheet.lines.flatMap((line, at) => (line.material === jar.material && weighs(line) ? [{ cup, at }] : []))
          : [],
      ),
    );
    const inJars = byJar.flat();
    const inCups = sheets.flatMap((sheet, cup) =>
      weighable[cup] ? sheet.lines.flatMap((line, at) => (weighs(line) ? [{ cup, at }] : [])) : [],
    );
    const jarOf = new Map(byJar.flatMap((pours, jar) => pours.map(({ cup, at }) => [`${cup} ${at}`, jar])));

    let order = keeping.carried("said", "order").text === "cup" ? "cup" : "jar";
    let now = null; // {cup, at} that is weighed next, null where nothing is left
    let acted = -1; // the cup that something was done to last
    let note = "";
    let followers = [];
    let whole = false; // all cups of the jar are listed
    let all = true;

    const stateOf = (cup) => {
      const batch = keeping.underWay(sheets[cup]);
      return batch ? batch.state : null;
    };
    const isOpen = ({ cup, at }, state = stateOf(cup)) => (state ? state.lines[at].open : true);
    // The same for many lines: what is kept of each cup is looked up once.
    function opens() {
      const states = sheets.map((_, cup) => stateOf(cup));
      return (one) => isOpen(one, states[one.cup]);
    }
    const sequence = () => (order === "jar" ? inJars : inCups);
    const same = (one, other) => one !== null && other !== null && one.cup === other.cup && one.at === other.at;
    const several = new Set(sheets.map((sheet) => sheet.recipe)).size > 1;
    const nameOf = (cup) => (several ? sheets[cup].shown : sheets[cup].step || sheets[cup].recipe);
    const called = (cup) => `cup ${cup + 1}`;

    // A line of which too much is in: it is asked about before all else.
    function asking(cup) {
      const state = stateOf(cup);
      if (!state) return -1;
      const plan = planOf(sheets[cup], state);
      return state.lines.findIndex((line, at) => isOver(line, plan.lines[at], read(sheets[cup].tolerance)));
    }

    // The next open line from this one on, in the order of the session, and from its begin again.
    function after(place) {
      const those = sequence();
      const open = opens();
      const at = place ? those.findIndex((one) => same(one, place)) : -1;
      return those.slice(at + 1).find(open) || those.slice(0, at + 1).find(open) || null;
    }

    // Where a page that was opened anew goes on: behind the line that was taken last.
    function found() {
      for (let cup = 0; cup < sheets.length; cup += 1) {
        const at = weighable[cup] ? asking(cup) : -1;
        if (at >= 0) return { cup, at };
      }
      let last = null;
      let latest = -Infinity;
      for (const one of inCups) {
        const state = stateOf(one.cup);
        const time = state && state.lines[one.at].at ? Date.parse(state.lines[one.at].at) : -Infinity;
        // Of the same second the one that comes later in the order is the last.
        const later = last !== null && time === latest && placed(one) > placed(last);
        if (time > latest || later) {
          latest = time;
          last = one;
        }
      }
      acted = last ? last.cup : -1;
      return after(last);
    }

    const placed = (place) => sequence().findIndex((one) => same(one, place));

    // ---- going from line to line -------------------------------------------------------------------------

    // Shows a cup's panel at that line. guarded: something was just taken, so that for a moment nothing is.
    function go(place, guarded, words = "") {
      now = place;
      if (!place) {
        address("#");
        page.moved();
        drawDone();
        say(`${words} All cups are in.`.trim());
        if (doneHead.getClientRects().length) doneHead.focus();
        return;
      }
      const bench = benchAt(place.cup);
      address(`#${sheets[place.cup].anchor}`);
      page.moved();
      bench.lead(place.at, guarded);
      drawJar();
      bench.announceNext(words);
      bench.showCurrent();
      // In the order of the jars the current line is that of the jar's list.
      const row = order === "jar" && rows.find((one) => same(one, place));
      if (row) row.item.scrollIntoView({ block: "nearest" });
      articles[place.cup].querySelector(".now").scrollIntoView({ block: "nearest" });
    }

    const capital = (text) => text[0].toUpperCase() + text.slice(1);
    const address = (hash) => window.history.replaceState(null, "", hash);

    // Something was done to a cup: to the line at, or to no single one.
    function taken(cup, at, words) {
      acted = cup;
      note = "";
      const over = asking(cup);
      if (over >= 0) go({ cup, at: over }, true, words);
      else if (at >= 0 && isOpen({ cup, at })) go({ cup, at }, true, words);
      else if (now && isOpen(now)) go(now, true, words);
      else go(after(now || { cup, at }), true, words);
      draw();
    }

    // Whether what is told of other cups is that another window has gone on: nothing to undo here.
    const settled = () => note !== "";

    // Another window has gone on.
    function settle(cup, words) {
      note = words;
      if (now && now.cup === cup && !isOpen(now)) go(after(now), true, words);
      else if (now && now.cup === cup) benchAt(cup).lead(now.at, true);
      draw();
    }

    function chosen(cup, at) {
      now = { cup, at };
      drawJar();
    }

    // A cup was opened by its address.
    function opened(cup) {
      if (!weighable[cup]) return;
      if (!now || now.cup !== cup || !isOpen(now)) {
        const over = asking(cup);
        const mine = sequence().filter((one) => one.cup === cup);
        const at = over >= 0 ? over : (mine.find((one) => isOpen(one)) || { at: -1 }).at;
        if (at >= 0) {
          now = { cup, at };
          benchAt(cup).lead(at, false);
        }
      }
      drawJar();
    }

    // ---- what holds for all cups -------------------------------------------------------------------------

    // Changes what is kept of another cup, where it has been begun.
    function change(cup, apply) {
      const batch = keeping.underWay(sheets[cup]);
      if (batch) {
        apply(batch.state);
        batch.record = "";
        keeping.put(batch);
      }
      if (weighable[cup] && articles[cup].querySelector(".now")) benchAt(cup).refresh();
    }

    // The lot of a jar is asked once: it is that of all cups that are still to be filled, and of those without any.
    function follow({ material }, but) {
      followers = sheets.flatMap((sheet, cup) => {
        const state = stateOf(cup);
        return cup === but || !state
          ? []
          : sheet.lines.flatMap((line, at) =>
              line.material === material && (state.lines[at].open || !state.lots[at]) ? [{ cup, at }] : [],
            );
      });
    }

    function lot(text, but) {
      sheets.forEach((sheet, cup) => {
        if (cup !== but && !stateOf(cup)) change(cup, () => {}); // what is not begun takes what is said today
      });
      for (const { cup, at } of followers) {
        change(cup, (state) => {
          state.lots[at] = text;
        });
      }
    }

    function mode(chosenMode, but) {
      sheets.forEach((_, cup) => {
        if (cup !== but) {
          change(cup, (state) => {
            state.mode = chosenMode;
          });
        }
      });
    }

    // ---- the cups of the current jar ---------------------------------------------------------------------

    const listHead = make("h3");
    const listWhy = make("p", { class: "why" });
    const listed = make("ol", { class: "lines" });
    const more = button("", () => {
      whole = !whole;
      drawJar();
    });
    const list = make("div", { class: "list jar-list" }, listHead, listWhy, listed, make("p", { class: "others" }, more));
    const switches = ["jar", "cup"].map((kind) =>
      make("input", { type: "radio", name: "order", value: kind, onchange: () => setOrder(kind) }),
    );
    const orderOf = () =>
      make(
        "fieldset",
        { class: "order" },
        make("legend", { text: "Order" }),
        make("label", {}, switches[0], make("span", { text: "Jar by jar" })),
        make("label", {}, switches[1], make("span", { text: "Cup by cup" })),
      );
    let rows = [];
    let drawnJar = -1;

    function setOrder(kind) {
      order = kind;
      keeping.carry("said", "order", kind);
      if (!now || !isOpen(now)) now = found();
      draw();
    }

    function rowOf({ cup, at }) {
      const sheet = sheets[cup];
      const line = sheet.lines[at];
      const box = make("input", {
        type: "checkbox",
        onchange: () => {
          const bench = benchAt(cup);
          if (box.checked) bench.tick(at);
          else bench.reopen(at);
          draw();
        },
      });
      const figure = make("b", { class: "grams" });
      const result = make("span", { class: "result" });
      const portion = line.portions > 1 ? `, portion ${line.portion} of ${line.portions}` : "";
      const name = make("span", { class: "name" }, make("b", { text: `${cup + 1}` }), ` ${nameOf(cup)}${portion}`);
      if (!line.within) name.append(" ", make("small", { class: "mark", text: "! off by more than is allowed" }));
      const pick = make("button", { type: "button", class: "pick", onclick: () => go({ cup, at }, false) }, name, figure, result);
      const item = make("li", { class: "line" }, make("label", { class: "tick" }, box), pick);
      return { cup, at, box, figure, result, item, pick };
    }

    // In the place of the lines of the cup, where the order is that of the jars.
    function drawJar() {
      if (!now) return;
      const bench = articles[now.cup].querySelector(".bench");
      const own = bench && bench.querySelector(".list:not(.jar-list)");
      if (!own) return;
      own.hidden = order === "jar";
      list.hidden = order !== "jar";
      if (order !== "jar") return;
      if (list.parentNode !== bench) own.after(list);
      const jar = jarOf.get(`${now.cup} ${now.at}`);
      if (jar !== drawnJar) {
        drawnJar = jar;
        whole = false;
        rows = byJar[jar].map(rowOf);
        listed.replaceChildren(...rows.map((row) => row.item));
      }
      put(listHead, `Jar ${jar + 1} of ${jars.length}: ${jars[jar].shown}`);
      put(listWhy, jars[jar].why);
      const current = rows.findIndex((row) => same(row, now));
      rows.forEach((row, number) => {
        const state = stateOf(row.cup);
        const sheet = sheets[row.cup];
        const plan = planOf(sheet, state || page.freshState(sheet));
        const line = state ? state.lines[row.at] : { open: true, actual: null, taken: null };
        const asked = grams(plan.lines[row.at].target, placesOf(sheet.lines[row.at]));
        row.box.checked = !line.open;
        row.box.setAttribute("aria-label", `${capital(called(row.cup))}, ${asked.replace("\u00a0", " ")}, is in`);
        row.item.classList.toggle("current", number === current);
        row.item.classList.toggle("done", !line.open);
        if (number === current) row.pick.setAttribute("aria-current", "step");
        else row.pick.removeAttribute("aria-current");
        put(row.figure, asked);
        const judged = line.actual === null ? { kind: "none", text: "" } : verdict(sheet, plan, row.at, read(line.actual));
        const how = { read: ", read", ticked: ", ticked", partly: ", in part ticked" }[line.taken] || "";
        row.result.dataset.kind = judged.kind;
        put(row.result, line.actual === null ? "" : `${page.MARKS()[judged.kind]} ${line.actual}\u00a0g${how}: ${judged.text}`);
        row.item.hidden = !whole && rows.length > FEW && (number < current - BEFORE || number > current + AFTER);
      });
      const folded = rows.filter((row) => row.item.hidden).length;
      more.hidden = rows.length <= FEW;
      put(more, whole ? "Show those around the current one" : `Show ${count(folded, "more cup")}`);
    }

    // ---- the first screen --------------------------------------------------------------------------------

    const progress = make("p", { class: "sum" });
    const onward = button("", () => go(now && isOpen(now) ? now : found(), false), "primary");
    const jarList = make("ol", { class: "jars" });
    const jarRows = jars.map((jar, at) => {
      const state = make("span", { class: "state" });
      const why = jar.why ? [" ", make("small", { text: jar.why })] : [];
      const pick = make(
        "button",
        { type: "button", class: "jar-pick", onclick: () => {
          const first = byJar[at].find((one) => isOpen(one)) || byJar[at][0];
          if (first) go(first, false);
        } },
        make("span", {}, make("b", { text: jar.shown }), " ", make("span", { "data-now": "sum", "data-of": `${at + 1}`, text: `${jar.total}\u00a0g` }), ...why),
        state,
      );
      jarList.append(make("li", {}, pick));
      return state;
    });
    const doneHead = make("h2", { text: "Hand over", tabindex: "-1" });
    const doneText = make("p");
    const told = make("p", { class: "notice", role: "status" });
    const hand = button("Hand over all records", () => page.handPage((words) => put(told, words)), "primary");
    const fields = [
      ["Weighed by", "person"],
      ["Project", "project"],
      ["Checked by", "checked_by"],
    ].map(([label, key]) => {
      const input = make("input", {
        id: `all-${key}`, type: "text", maxlength: handing.MOST_TEXT, autocomplete: "off",
        oninput: () => {
          if (key !== "checked_by") keeping.carry("said", key, input.value);
          sheets.forEach((sheet, cup) => {
            // Who checks is said of no other day, so that a cup that is not begun has to keep it itself.
            if (key === "checked_by" && weighable[cup] && !stateOf(cup)) keeping.put(keeping.fresh(sheet, page.freshState(sheet)));
            change(cup, (state) => {
              state.said[key] = input.value;
            });
          });
        },
      });
      return { key, input, row: make("p", {}, make("label", { for: input.id, text: `${label}, of all cups` }), input) };
    });
    const sure = make(
      "dialog",
      { "aria-labelledby": "sure-all" },
      make("h3", { id: "sure-all", text: "Start all cups over?" }),
      make("p", { text: "What was weighed goes to the other batches of this browser, where it stays until it is thrown away; all cups are empty again." }),
      make(
        "form",
        { method: "dialog", class: "others" },
        make("button", { value: "keep", text: "Keep them" }),
        make("button", { value: "clear", class: "danger", text: "Clear and start over" }),
      ),
    );
    let cleared = [];
    sure.addEventListener("close", () => {
      if (sure.returnValue === "clear") startOver();
      sure.returnValue = "";
    });
    const back = button("Undo: bring them back", () => {
      close(cleared, false);
      cleared = [];
      page.moved();
    });

    function close(batches, closed) {
      for (const batch of batches) {
        batch.closed = closed;
        keeping.put(batch);
      }
      now = found();
      sheets.forEach((_, cup) => change(cup, () => {}));
    }

    function startOver() {
      cleared = sheets.map((sheet) => keeping.underWay(sheet)).filter(Boolean);
      close(cleared, true);
      page.moved();
      put(told, "All cups are empty; what was weighed is among the other batches of this browser.");
    }

    const front = make(
      "div",
      { class: "front screen" },
      progress,
      orderOf(),
      make("p", { class: "others" }, onward),
      make("section", { class: "contents" }, make("h2", { text: "Jars" }), jarList),
    );
    const done = make(
      "section",
      { class: "handing screen" },
      doneHead,
      doneText,
      make("div", { class: "fields-in" }, ...fields.map((one) => one.row)),
      make(
        "p",
        { class: "others" },
        hand,
        button("Print this session", () => window.print()),
        button("Start all cups over", () => sure.showModal()),
        back,
      ),
      told,
      sure,
    );

    function begin() {
      now = found();
      choice.querySelector(".map").before(front);
      choice.querySelector(".map").after(done);
      for (const section of choice.querySelectorAll(".set-out > section:not(.care):not(.remarks), #choice > .statements")) fold(section);
      // What is said at the scale of a studio is no first screen any more; a jar's cautions stand in the panel as well.
      if (sheets.length > MANY) {
        for (const section of choice.querySelectorAll(".map, .care, .remarks")) fold(section);
      }
      draw();
    }

    // On the screen only the heads of what is looked up once; on paper all of it stands.
    function fold(section) {
      const head = section.querySelector("h2");
      if (!head) return;
      const words = head.textContent;
      const toggle = button(words, () => {
        const folded = section.classList.toggle("folded");
        toggle.setAttribute("aria-expanded", String(!folded));
      });
      toggle.className = "fold";
      toggle.setAttribute("aria-expanded", "false");
      head.replaceChildren(toggle);
      section.classList.add("folded");
    }

    // Somebody looks for a cup: the map must be seen.
    function searching() {
      const toggle = choice.querySelector(".map.folded .fold");
      if (toggle) toggle.click();
    }

    function drawDone() {
      const left = inCups.filter(opens()).length;
      all = left === 0;
      const some = sheets.filter((sheet, cup) => stateOf(cup) && begun(sheet, stateOf(cup))).length;
      put(
        doneText,
        all
          ? `All cups are in. Each makes a record of its own; all go in one file, for glost record.`
          : some
            ? `${count(some, "cup")} begun, ${count(left, "weighing")} to go. What there is can be handed over at any time.`
            : "Nothing is weighed yet. At the end each cup makes a record of its own; all go in one file, for glost record.",
      );
      hand.hidden = some === 0;
      back.hidden = cleared.length === 0;
    }

    function draw() {
      const states = sheets.map((_, cup) => stateOf(cup));
      const open = (one) => isOpen(one, states[one.cup]);
      // While a panel stands there it is left where it is until something is done: see settle.
      if (now && !open(now) && !document.querySelector("article.open")) now = after(now);
      const left = inCups.filter(open).length;
      put(progress, left === inCups.length ? `${count(left, "weighing")} to do.` : `${inCups.length - left} of ${count(inCups.length, "weighing")} done.`);
      onward.hidden = left === 0;
      const first = now && jarOf.get(`${now.cup} ${now.at}`);
      const begin = left === inCups.length ? "Begin" : "Go on";
      put(onward, now ? `${begin}: ${order === "jar" ? `${jars[first].shown}, ` : ""}${called(now.cup)}` : "");
      switches.forEach((one) => {
        one.checked = one.value === order;
      });
      jarRows.forEach((place, jar) => {
        const those = byJar[jar];
        const done = those.filter((one) => !open(one)).length;
        put(place, done === 0 ? count(those.length, "cup") : done === those.length ? "✓ all in" : `${done} of ${those.length} in`);
      });
      for (const { key, input } of fields) {
        const texts = new Set(states.filter(Boolean).map((state) => state.said[key]));
        const text = texts.size === 1 ? [...texts][0] : texts.size ? "" : key === "checked_by" ? "" : carriedToday(key);
        if (document.activeElement !== input && input.value !== text) input.value = text;
      }
      drawDone();
      drawJar();
      grown();
    }

    const carriedToday = (key) => {
      const { text, today } = keeping.carried("said", key);
      return today ? text : "";
    };

    // ---- what a cup's panel says of the others -----------------------------------------------------------

    // What was done last, where that was in another cup.
    function elsewhere(cup) {
      if (note) return note;
      const bench = acted >= 0 && acted !== cup ? benchAt(acted) : null;
      const text = bench ? bench.last() : "";
      return text && `${capital(called(acted))}: ${text}`;
    }

    function undo() {
      if (acted >= 0) benchAt(acted).undo();
    }

    function left(cup) {
      const open = sequence().filter(opens());
      if (order === "cup" || !now) {
        const mine = open.filter((one) => one.cup === cup).length;
        return mine === 1 ? "the last of this cup" : `${mine} to go in this cup`;
      }
      const jar = jarOf.get(`${now.cup} ${now.at}`);
      const here = open.filter((one) => jarOf.get(`${one.cup} ${one.at}`) === jar).length;
      return here <= 1 ? "the last cup of this jar" : `${here} cups to go with this jar`;
    }

    // The cup is in: on to what is left.
    function finished(cup, place) {
      if (!place.querySelector(".on-to-all")) {
        const on = button("", () => go(after(null), false), "on-to-all");
        place.append(make("div", { class: "others" }, on));
      }
      const next = after(null);
      put(place.querySelector(".on-to-all"), next ? `Go on with ${called(next.cup)}` : "Hand over all cups");
    }

    // ---- cups that were made larger ----------------------------------------------------------------------

    // What the page says of a cup, a jar or of all together, where a cup is larger than it was planned; null where that
    // stands as it was planned. Whoever goes on with the paper sets out, fetches and pours what the screen asks for.
    let anyLarger = false;

    function grown() {
      const states = sheets.map((_, cup) => stateOf(cup));
      const larger = states.map((state) => Boolean(state && state.larger));
      const any = larger.includes(true);
      if (!any && !anyLarger) return;
      anyLarger = any;
      const now = sheets.map((sheet, cup) => planOf(sheet, states[cup] || page.freshState(sheet)));
      const dry = now.map(targetOf);
      const of = (mass, cup) => grams(mass, mostPlaces(sheets[cup]));
      const most = Math.max(0, ...sheets.map(mostPlaces));
      const sumOf = (jar) => {
        const pours = byJar[jar];
        if (!pours.some(({ cup }) => larger[cup])) return null;
        return sum(pours.map(({ cup, at }) => now[cup].lines[at].target));
      };
      const coarsest = (jar) => largest(byJar[jar].map(({ cup, at }) => read(sheets[cup].lines[at].division)));
      const placesIn = (jar) => Math.max(0, ...byJar[jar].map(({ cup, at }) => placesOf(sheets[cup].lines[at])));
      const says = {
        mass: (cup) => (larger[cup] ? of(dry[cup], cup) : null),
        water: (cup) => (larger[cup] && sheets[cup].water !== null ? poured(waterFor(sheets[cup], dry[cup])) : null),
        vessels: (cup) => {
          if (!larger[cup]) return null;
          const { loads } = vesselsOf(sheets[cup], states[cup], now[cup], -1);
          const those = [...loads].filter(([vessel]) => vessel > 0).sort(([one], [other]) => one - other);
          if (those.length < 2) return null;
          const masses = those.map(([, mass]) => of(mass, cup)).join(", ");
          const on = sheets[cup].main ? ` on '${sheets[cup].main.shown}'` : "";
          return `${called(cup)}, made larger, is ${those.length} vessels${on}, of ${masses}, tipped together in the end`;
        },
        sum: (jar) => {
          const mass = sumOf(jar);
          return mass && grams(mass, placesIn(jar));
        },
        fetch: (jar) => {
          const mass = sumOf(jar);
          if (!mass) return null;
          const steps = divide(multiply(mass, add(fraction(1n), read(margin))), coarsest(jar));
          const whole = fraction(-exact.floorOf(-steps.n, steps.d));
          return grams(multiply(whole, coarsest(jar)), placesIn(jar));
        },
        fullest: () => (any ? grams(largest(dry), most) : null),
        "all-water": () =>
          any ? poured(sum(sheets.flatMap((sheet, cup) => (sheet.water === null ? [] : [waterFor(sheet, dry[cup])])))) : null,
      };
      for (const place of choice.querySelectorAll("[data-now]")) {
        if (place.dataset.printed === undefined) place.dataset.printed = place.textContent;
        const text = says[place.dataset.now](Number(place.dataset.of) - 1);
        const bare = place.dataset.bare === undefined ? text : text && text.replace("\u00a0g", "");
        put(place, text === null ? place.dataset.printed : bare);
        if (place.dataset.now === "vessels") place.closest("div").hidden = place.textContent === "";
      }
      const which = sheets.flatMap((_, cup) =>
        larger[cup] ? [`${called(cup)} (base ${exact.shown(now[cup].base, 0, 2)}\u00a0g, ${of(dry[cup], cup)} in all)`] : [],
      );
      const rest = choice.querySelector(".shared, .fetch .warning, .remarks .warning")
        ? " What is said of bases to mix once, and each word of attention, is of the cups as they were planned."
        : "";
      const said = choice.querySelector(".grown");
      said.hidden = !any;
      put(said, any ? `Made larger: ${which.join(", ")}. The masses of cups, vessels, water and jars are those of now.${rest}` : "");
      for (const lead of choice.querySelectorAll(".set-out .warning > b:first-child")) {
        put(lead, any ? "Attention, of the cups as they were planned:" : "Attention:");
      }
    }

    // The table of what to fetch has a row a jar.
    choice.querySelectorAll(".fetch tbody tr").forEach((row, jar) => {
      ["sum", "fetch"].forEach((what, column) => {
        const cell = row.cells[column + 2];
        const place = cell.querySelector("b") || cell;
        Object.assign(place.dataset, { now: what, of: `${jar + 1}`, bare: "" });
      });
    });

    // ---- on paper ----------------------------------------------------------------------------------------

    // What is weighed, and what is asked for by now: whoever goes on with the paper must weigh what the screen asks for.
    function fill() {
      grown();
      const places = sheets.map((sheet, cup) => {
        const state = stateOf(cup);
        return state && state.larger ? vesselsOf(sheet, state, planOf(sheet, state), -1).lines : [];
      });
      for (const row of choice.querySelectorAll("tr[data-cup]")) {
        const cup = Number(row.dataset.cup);
        const at = Number(row.dataset.line);
        const state = stateOf(cup);
        const grams = row.querySelector("[data-fill=grams]");
        const then = row.querySelector("[data-fill=then]");
        const into = row.querySelector("[data-fill=into]");
        for (const place of [grams, into, then]) {
          if (place.dataset.printed === undefined) place.dataset.printed = place.textContent;
        }
        const line = state && state.lines[at];
        const larger = state && state.larger;
        const decimals = placesOf(sheets[cup].lines[at]);
        put(grams, larger ? exact.shown(planOf(sheets[cup], state).lines[at].target, decimals) : grams.dataset.printed);
        // What has no room in its vessel any more goes into another.
        const { vessels = [] } = places[cup][at] || {};
        const moved = vessels.length > 1 || (vessels[0] && vessels[0] !== sheets[cup].lines[at].vessel);
        put(into, moved ? (vessels.length > 1 ? `${vessels.length} vessels` : `vessel ${vessels[0]}`) : into.dataset.printed);
        // What the cup holds then depends on what is in it by now.
        put(then, state && begun(sheets[cup], state) ? "" : then.dataset.printed);
        const partly = line && line.open && line.actual !== null ? " +" : "";
        put(row.querySelector("[data-fill=weighed]"), line && line.actual !== null ? `${line.actual}${partly}` : "");
        put(row.querySelector("[data-fill=done]"), line && !line.open ? "✓" : "");
      }
    }

    keeping.listen((id) => {
      // The panel of the cup hears of it in the same turn, and goes on from what it then knows.
      queueMicrotask(() => {
        if (id !== null && now && !isOpen(now) && document.querySelector("article.open")) go(after(now), true);
        draw();
      });
    });

    return { begin, chosen, draw, elsewhere, fill, finished, follow, left, lot, mode, opened, searching, settle, settled, taken, undo };
  }

  return { lead };
})();
