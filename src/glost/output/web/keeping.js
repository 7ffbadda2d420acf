// What the page keeps of the batches, in two places of this browser.
//
// localStorage can be read at once and tells other windows of a change, but a browser writes it to the disk seconds
// late; IndexedDB is written when a transaction ends. Each batch has a count that grows with every change: of two
// copies the one with the higher count holds. One place that is denied, full or lost leaves the other.

"use strict";

const keeping = (() => {
  const PREFIX = "glost batch 2 ";
  const HOUSE = "glost house 2";
  const EARLIER = "glost sheet ";
  const DAY_MS = 24 * 60 * 60 * 1000;
  const MOST_LINES = 2000;

  const batches = new Map();
  const listeners = [];
  let local = true;
  let database = null;
  let opening = true;
  let unreadable = 0;
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

  const plain = ({ targets: _, ...batch }) => batch;

  function toLocal(batch) {
    if (!local) return;
    for (;;) {
      try {
        localStorage.setItem(PREFIX + batch.id, JSON.stringify(plain(batch)));
        return;
      } catch {
        // Full: what is done with, and stands in the other place, makes room.
        const gone = database && [...batches.values()].find((one) => one.id !== batch.id && one.closed && inLocal(one.id));
        if (!gone) {
          local = false;
          return;
        }
        localStorage.removeItem(PREFIX + gone.id);
      }
    }
  }

  function inLocal(id) {
    try {
      return localStorage.getItem(PREFIX + id) !== null;
    } catch {
      return false;
    }
  }

  function toDatabase(value) {
    if (!database) return;
    try {
      const work = database.transaction("batches", "readwrite", { durability: "strict" });
      work.objectStore("batches").put(value);
      work.onabort = () => {
        database = null;
        tell(null);
      };
    } catch {
      database = null;
    }
  }

  function tell(id) {
    listeners.forEach((listener) => listener(id));
  }

  function readLocal() {
    try {
      for (let at = 0; at < localStorage.length; at += 1) {
        const key = localStorage.key(at);
        if (key.startsWith(PREFIX)) take(parsed(localStorage.getItem(key)));
      }
      house = houseOf(parsed(localStorage.getItem(HOUSE))) || house;
    } catch {
      local = false;
    }
  }

  function parsed(value) {
    try {
      return JSON.parse(value);
    } catch {
      return null;
    }
  }

  // Whether it was newer than what is known.
  function take(value) {
    const batch = sound(value);
    if (!batch) {
      unreadable += 1;
      return false;
    }
    const known = batches.get(batch.id);
    if (known && known.rev >= batch.rev) return false;
    batches.set(batch.id, batch);
    return true;
  }

  function openDatabase() {
    let asked;
    try {
      asked = indexedDB.open("glost bench", 1);
    } catch {
      opening = false;
      return;
    }
    asked.onupgradeneeded = () => asked.result.createObjectStore("batches", { keyPath: "id" });
    asked.onerror = asked.onblocked = () => {
      opening = false;
      tell(null);
    };
    asked.onsuccess = () => {
      database = asked.result;
      database.onversionchange = () => database && database.close();
      const all = database.transaction("batches").objectStore("batches").getAll();
      all.onsuccess = () => {
        opening = false;
        const there = new Map(all.result.map((one) => [one.id, one]));
        const kept = houseOf(there.get(HOUSE));
        if (kept && kept.rev > house.rev) house = kept;
        there.delete(HOUSE);
        const newer = [...there.values()].filter(take).map((one) => one.id);
        newer.forEach((id) => toLocal(batches.get(id)));
        for (const batch of batches.values()) {
          const other = there.get(batch.id);
          if (!other || !(other.rev >= batch.rev)) toDatabase(plain(batch));
        }
        sweep();
        newer.forEach(tell);
        tell(null);
      };
      all.onerror = () => {
        opening = false;
      };
    };
  }

  // What was thrown away a day ago goes for good.
  function sweep() {
    for (const batch of [...batches.values()]) {
      if (batch.thrown && Date.now() - Date.parse(batch.thrown) > DAY_MS) forget(batch.id);
    }
  }

  function forget(id) {
    batches.delete(id);
    try {
      localStorage.removeItem(PREFIX + id);
    } catch {
      local = false;
    }
    try {
      if (database) database.transaction("batches", "readwrite").objectStore("batches").delete(id);
    } catch {
      database = null;
    }
  }

  // ---- what the page asks for --------------------------------------------------------------------------

  function put(batch) {
    batch.rev += 1;
    batch.touched = new Date().toISOString();
    batch.targets = targetsOf(batch.sheet);
    batches.set(batch.id, batch);
    toLocal(batch);
    toDatabase(plain(batch));
  }

  // A batch that another window has gone on with since, or null.
  function newer(batch) {
    if (!local) return null;
    try {
      const there = localStorage.getItem(PREFIX + batch.id);
      if (there !== null && take(parsed(there))) return batches.get(batch.id);
    } catch {
      local = false;
    }
    return null;
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
          unreadable += 1;
        }
      }
    } catch {
      local = false;
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
      local = false;
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
    toDatabase({ id: HOUSE, ...house });
  }

  window.addEventListener("storage", (event) => {
    if (event.key === HOUSE) house = houseOf(parsed(event.newValue)) || house;
    else if (event.key && event.key.startsWith(PREFIX) && event.newValue !== null) {
      const value = parsed(event.newValue);
      if (take(value)) tell(value.id);
    }
  });

  readLocal();
  openDatabase();

  return {
    belongs,
    carried,
    carry,
    drop: forget,
    dropEarlier,
    earlier,
    fresh,
    get: (id) => batches.get(id) || null,
    all: () => [...batches.values()],
    listen: (listener) => listeners.push(listener),
    newer,
    onPage,
    put,
    underWay,
    unreadable: () => unreadable,
    works: () => local || opening || database !== null,
  };
})();
