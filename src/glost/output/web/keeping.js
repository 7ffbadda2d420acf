// What the page keeps of the batches, in the two places of this browser (see places.js).

"use strict";

const keeping = (() => {
  const PREFIX = "glost batch 2 ";
  const HOUSE = "glost house 2";
  const EARLIER = "glost sheet ";
  const DAY_MS = 24 * 60 * 60 * 1000;
  const MOST_LINES = 2000;

  const { parsed } = places;
  let house = { rev: 0, said: {}, lots: {} };

  // ---- what a batch belongs to -------------------------------------------------------------------------

  // The file and what is to be weighed; not the revision, which every commit changes, nor the page.
  const known = new WeakMap();
  function targetsOf(sheet) {
    if (!known.has(sheet)) {
      const marks = [
        sheet.recipe,
        sheet.test,
        sheet.base,
        sheet.lines.map((line) => [line.material, line.name, line.exact, line.target, line.division]),
      ];
      // The very same test in a further cup of one session.
      if (sheet.again) marks.push(sheet.again);
      known.set(sheet, JSON.stringify(marks));
    }
    return known.get(sheet);
  }

  // A page made from another folder shows more or less of the same path.
  const oneFile = (one, other) => one === other || one.endsWith(`/${other}`) || other.endsWith(`/${one}`);

  // What is of one file of this page is not of another, however much their paths look alike.
  let files = new Set();
  const onPage = (sheets) => {
    files = new Set(sheets.map((sheet) => sheet.file));
  };

  function belongs(batch, sheet) {
    return (
      batch.targets === targetsOf(sheet) &&
      (batch.sheet.file === sheet.file || (!files.has(batch.sheet.file) && oneFile(batch.sheet.file, sheet.file)))
    );
  }

  // The batch of a sheet that is under way: the last one touched.
  function underWay(sheet) {
    const mine = [...batches.values()].filter((one) => !one.closed && !one.thrown && belongs(one, sheet));
    const exactly = mine.filter((one) => one.sheet.file === sheet.file);
    return (exactly.length ? exactly : mine).sort((a, b) => (a.touched < b.touched ? 1 : -1))[0] || null;
  }

  // ---- what is read back -------------------------------------------------------------------------------

  const text = (value) => typeof value === "string";
  const number = (value) => text(value) && value.length < 400 && exact.read(value) !== null;

  function soundSheet(sheet) {
    return (
      [sheet.recipe, sheet.test, sheet.shown, sheet.file, sheet.sieve].every(text) &&
      number(sheet.base) &&
      number(sheet.tolerance) &&
      (sheet.water === null || number(sheet.water)) &&
      [sheet.water_said, sheet.water_by].every((one) => one === undefined || text(one)) &&
      (sheet.main === null || (number(sheet.main.capacity) && number(sheet.main.cup) && text(sheet.main.shown))) &&
      Array.isArray(sheet.lines) &&
      sheet.lines.length > 0 &&
      sheet.lines.length <= MOST_LINES &&
      sheet.lines.every(
        (line) =>
          [line.material, line.name, line.shown, line.balance, line.on, line.note].every(text) &&
          number(line.exact) &&
          number(line.target) &&
          number(line.division) &&
          (line.minimum === null || number(line.minimum)) &&
          Array.isArray(line.care) &&
          line.care.every(text),
      )
    );
  }

  function soundState(state, sheet) {
    const places = (placed) =>
      Array.isArray(placed) && placed.every(([vessel, mass]) => Number.isInteger(vessel) && vessel >= 0 && number(mass));
    return (
      Array.isArray(state.lines) &&
      state.lines.length === sheet.lines.length &&
      state.lines.every(
        (line) =>
          (line.actual === null || number(line.actual)) && number(line.already) && places(line.placed) && places(line.stood),
      ) &&
      (state.larger === null || (number(state.larger.base) && state.larger.targets.every(number))) &&
      Array.isArray(state.lots) &&
      state.lots.every(text) &&
      Object.values(state.said).every(text) &&
      Object.values(state.balances).every(text) &&
      Array.isArray(state.before) &&
      Array.isArray(state.rescues)
    );
  }

  // A batch as it was kept, or null where that is none: another program may write here as well.
  function sound(value) {
    try {
      const fits =
        value.v === 2 &&
        text(value.id) &&
        Number.isInteger(value.rev) &&
        soundSheet(value.sheet) &&
        soundState(value.state, value.sheet) &&
        [value.touched, value.thrown].every(text) &&
        Array.isArray(value.handed);
      return fits ? { ...value, targets: targetsOf(value.sheet) } : null;
    } catch {
      return null;
    }
  }

  // ---- the two places ----------------------------------------------------------------------------------

  const kept = places.open({
    name: "glost bench",
    store: "batches",
    prefix: PREFIX,
    sound,
    plain: ({ targets: _, ...batch }) => batch,
    mayGo: (batch) => batch.closed,
    arrived: (there) => {
      const other = houseOf(there.get(HOUSE));
      if (other && other.rev > house.rev) house = other;
      there.delete(HOUSE);
    },
    ready: sweep,
  });
  const batches = kept.things;

  // What was thrown away a day ago goes for good.
  function sweep() {
    for (const batch of [...batches.values()]) {
      if (batch.thrown && Date.now() - Date.parse(batch.thrown) > DAY_MS) kept.forget(batch.id);
    }
  }

  // ---- what the page asks for --------------------------------------------------------------------------

  function put(batch) {
    batch.touched = new Date().toISOString();
    batch.targets = targetsOf(batch.sheet);
    kept.put(batch);
  }

  let counted = 0;
  function fresh(sheet, state) {
    const random = new Uint32Array(2);
    crypto.getRandomValues(random);
    counted += 1;
    const id = `${Date.now().toString(36)}-${counted}-${[...random].map((one) => one.toString(36)).join("")}`;
    return { v: 2, id, rev: 0, touched: "", closed: false, thrown: "", sheet, state, handed: [], targets: targetsOf(sheet) };
  }

  // ---- what an earlier page kept -----------------------------------------------------------------------

  // [{key, state, sheet}] of batches that an earlier page kept by recipe, test, revision and mass: with the sheet of this
  // page where the figures fit, else with one that is made from the figures themselves.
  function earlier(sheets) {
    const found = [];
    try {
      const keys = Array.from({ length: localStorage.length }, (_, at) => localStorage.key(at));
      for (const key of keys.filter((one) => one.startsWith(EARLIER))) {
        const [recipe, test, , base] = parsed(key.slice(EARLIER.length)) || [];
        const state = parsed(localStorage.getItem(key));
        const marks = state && parsed(state.of);
        if (!text(recipe) || !text(test) || !Array.isArray(marks) || !marks.length) continue;
        const same = (sheet) =>
          sheet.recipe === recipe &&
          sheet.test === test &&
          sheet.base === base &&
          JSON.stringify(sheet.lines.map((line) => [line.material, line.exact, line.target])) === state.of;
        try {
          found.push({ key, state, sheet: sheets.find(same) || bare(recipe, test, base, marks) });
        } catch {
          kept.unread();
        }
      }
    } catch {
      kept.denied();
    }
    return found;
  }

  // A sheet from what is left of it. The base comes first, and its exact masses add up to what was asked for.
  function bare(recipe, test, base, marks) {
    let sum = exact.ZERO;
    const lines = marks.map(([material, mass, target], at) => {
      const inBase = exact.compare(sum, exact.read(base)) < 0;
      sum = exact.add(sum, exact.read(mass));
      const places = (target.split(".")[1] || "").length;
      const division = places ? `0.${"0".repeat(places - 1)}1` : "1";
      return {
        name: material, shown: material, material, base: inBase, of: at, exact: mass, target, division, minimum: null,
        within: true, rounds: true, portion: 1, portions: 1, vessel: 1, balance: "", on: "", apart: false, note: "",
        carries: null, care: [], warns: [],
      };
    });
    return {
      recipe, test, sets: "", shown: test ? `${recipe}, ${test}` : recipe, step: test, anchor: "", file: "", revision: null,
      base, total: "0", tolerance: "0.02", water: null, sieve: "", main: null, vessels: 1, number: 1, count: 1, balances: [],
      lines,
    };
  }

  function dropEarlier(key) {
    try {
      localStorage.removeItem(key);
    } catch {
      kept.denied();
    }
  }

  // ---- what carries over from batch to batch -----------------------------------------------------------

  function houseOf(value) {
    const fits =
      value && Number.isInteger(value.rev) && value.said && typeof value.said === "object" && value.lots && typeof value.lots === "object";
    return fits ? value : null;
  }

  const today = () => {
    const now = new Date();
    return `${now.getFullYear()}-${now.getMonth() + 1}-${now.getDate()}`;
  };

  // What was last said under that name: {text, today}; text is "" where nothing was.
  function carried(kind, name) {
    const found = Object.hasOwn(house[kind], name) ? house[kind][name] : null;
    return found && text(found.text) ? { text: found.text, today: found.day === today() } : { text: "", today: false };
  }

  function carry(kind, name, said) {
    house[kind][name] = { text: said, day: today() };
    house.rev += 1;
    try {
      localStorage.setItem(HOUSE, JSON.stringify(house));
    } catch {
      // The figures have the room: this is only a convenience.
    }
    kept.toDatabase({ id: HOUSE, ...house });
  }

  window.addEventListener("storage", (event) => {
    if (event.key === HOUSE) house = houseOf(parsed(event.newValue)) || house;
  });

  try {
    house = houseOf(parsed(localStorage.getItem(HOUSE))) || house;
  } catch {
    kept.denied();
  }
  kept.start();

  return {
    belongs,
    carried,
    carry,
    drop: kept.forget,
    dropEarlier,
    earlier,
    fresh,
    get: (id) => batches.get(id) || null,
    all: () => [...batches.values()],
    listen: kept.listen,
    newer: kept.newer,
    onPage,
    put,
    underWay,
    unreadable: kept.unreadable,
    works: kept.works,
  };
})();
