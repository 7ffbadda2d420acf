// The list at the kiln door. All that is said is kept at once (see places.js), pictures in the database alone, and goes
// out as one file.

"use strict";

(() => {
  const held = JSON.parse(document.getElementById("held").textContent);
  const told = document.getElementById("told");
  const PHOTO = "photo ";
  const HIGH = 220;
  const FIELDS = ["name", "date", "kiln", "cone", "reached", "atmosphere", "body", "notes"];
  const TEXTS = ["place", "surface", "colour", "flow", "body", "others", "remarks"];
  const LABELS = {
    name: "Name of the firing", date: "Lit on", kiln: "Kiln", cone: "Cone", reached: "Cone reached",
    atmosphere: "Atmosphere", notes: "Notes", place: "Place", surface: "Surface", colour: "Colour",
    flow: "Ran how far, mm", body: "Clay body", others: "Other faults, with commas", remarks: "Remarks",
  };
  const HINTS = {
    kiln: "small electric", cone: "6", reached: "6 1/2", place: "middle shelf, front", surface: "satin",
    colour: "pale blue, milky where thick", flow: "4", body: "house stoneware",
  };
  const LONG = ["notes", "remarks"];

  // ---- what is kept ------------------------------------------------------------------------------------

  const id = `door ${held.collection}\n${held.name}`;
  const photos = new Map();
  const text = (value) => typeof value === "string" && value.length <= held.longest;

  function sound(value) {
    try {
      const fits =
        value.v === 1 &&
        text(value.id) &&
        Number.isInteger(value.rev) &&
        FIELDS.every((key) => text(value.firing[key])) &&
        value.tiles.length <= held.most_tiles &&
        value.tiles.every(
          (tile) =>
            [tile.key, tile.batch, tile.test, tile.name, tile.photo, ...TEXTS.map((key) => tile[key])].every(text) &&
            typeof tile.inside === "boolean" &&
            tile.faults.every(text),
        ) &&
        value.handed.every(text) &&
        text(value.saved);
      return fits ? value : null;
    } catch {
      return null;
    }
  }

  const kept = places.open({
    name: "glost kiln",
    store: "kept",
    prefix: "glost kiln 1 ",
    sound,
    arrived: (there) => {
      for (const [key, one] of there) {
        if (!key.startsWith(PHOTO)) continue;
        if (one.data instanceof Uint8Array) photos.set(key, one);
        there.delete(key);
      }
    },
    ready: () => {
      open();
      sweep();
      build();
    },
  });

  // What no tile has any more goes.
  function sweep() {
    const used = new Set([...kept.things.values()].flatMap((one) => one.tiles.map((tile) => tile.photo)));
    for (const key of [...photos.keys()].filter((one) => !used.has(one))) {
      photos.delete(key);
      kept.outOfDatabase(key);
    }
  }

  const freshTile = (one, name) => ({
    key: crypto.getRandomValues(new Uint32Array(2)).join("-"), batch: one.batch, test: one.test, name, inside: false,
    ...Object.fromEntries(TEXTS.map((key) => [key, ""])), faults: [], photo: "",
  });
  const freshState = () => ({
    v: 1, id, rev: 0, handed: [], saved: "", tiles: [],
    firing: { ...Object.fromEntries(FIELDS.map((key) => [key, ""])), name: held.name, date: held.date, kiln: held.kiln },
  });

  const said = (tile) => TEXTS.some((key) => tile[key].trim()) || tile.faults.length > 0 || tile.photo !== "";

  let state = freshState();

  // What was kept, with the tiles of this page. What an earlier page held and this one does not is recorded by now, if it
  // was handed over; else it stays.
  function open() {
    const there = kept.things.get(id);
    const waits = new Set(held.tiles.map((one) => one.batch));
    const inside = there ? there.tiles.filter((tile) => tile.inside) : [];
    if (there && there.handed.length && inside.length && !inside.some((tile) => waits.has(tile.batch))) {
      kept.forget(id);
      state = freshState();
    } else {
      state = there || state;
    }
    state.tiles = state.tiles.filter((tile) => waits.has(tile.batch) || tile.inside || said(tile));
    const known = new Set(state.tiles.map((tile) => tile.batch));
    held.tiles.forEach((one, at) => {
      if (!known.has(one.batch)) state.tiles.push(freshTile(one, free(String(at + 1))));
    });
  }

  // A name that no tile has: that one, or with a letter behind it.
  function free(name) {
    const taken = new Set(state.tiles.map((tile) => tile.name));
    for (let at = 0; taken.has(name) && at < 26; at += 1) {
      const other = `${name.replace(/[a-z]$/, "")}${String.fromCharCode(97 + at)}`;
      if (!taken.has(other)) return other;
    }
    return name;
  }

  function keep() {
    state.saved = "";
    kept.put(state);
    sums();
  }

  function tell(words) {
    told.textContent = words;
  }

  // ---- the page ----------------------------------------------------------------------------------------

  function make(tag, about = {}, ...inside) {
    const made = document.createElement(tag);
    for (const [key, value] of Object.entries(about)) {
      if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
      else if (value === true) made.setAttribute(key, "");
      else if (value !== false) made.setAttribute(key, value);
    }
    made.append(...inside.filter((one) => one !== null && one !== ""));
    return made;
  }

  let counted = 0;
  function field(key, where, then, more = {}) {
    counted += 1;
    const name = `f${counted}`;
    const about = {
      id: name, "data-key": key, autocomplete: "off", maxlength: LONG.includes(key) ? held.longest : held.longest_line,
      ...(HINTS[key] ? { placeholder: HINTS[key] } : {}), ...more,
      oninput: (event) => {
        where[key] = event.target.value;
        then();
        keep();
      },
    };
    const input = LONG.includes(key)
      ? make("textarea", { ...about, rows: "2" })
      : make("input", { type: key === "date" ? "date" : "text", ...(key === "flow" ? { inputmode: "decimal" } : {}), ...about });
    input.value = where[key];
    return make("div", { class: `field ${key}` }, make("label", { for: name }, LABELS[key]), input);
  }

  // A press that is asked for once more, at the same place.
  function twice(words, again, then) {
    const button = make("button", {
      type: "button", class: "quiet",
      onclick: () => {
        if (button.textContent === again) {
          then();
          return;
        }
        button.textContent = again;
        button.classList.add("danger");
      },
      onblur: () => {
        button.textContent = words;
        button.classList.remove("danger");
      },
    }, words);
    return button;
  }

  const shownOf = (tile) => held.tiles.find((one) => one.batch === tile.batch) || { shown: tile.test, about: "" };

  const progress = (tile) =>
    tile.inside
      ? ["in this firing", ...tile.faults, tile.others.trim(), tile.photo ? "photo" : ""].filter(Boolean).join(", ")
      : "";

  const rows = new Map();

  function tileOf(tile) {
    const about = shownOf(tile);
    const state_ = make("span", { class: "state" });
    const name = make("b", {}, tile.name);
    const inside = make("input", {
      type: "checkbox",
      onchange: () => {
        tile.inside = inside.checked;
        keep();
      },
    });
    // Whatever is said of a tile puts it into the firing.
    const saying = () => {
      tile.inside = true;
      inside.checked = true;
    };
    const chips = make("fieldset", { class: "faults" }, make("legend", {}, "Faults"));
    for (const fault of held.faults) {
      const chip = make("button", {
        type: "button", "aria-pressed": String(tile.faults.includes(fault)),
        onclick: () => {
          const on = tile.faults.includes(fault);
          tile.faults = on ? tile.faults.filter((one) => one !== fault) : held.faults.filter((one) => one === fault || tile.faults.includes(one));
          chip.setAttribute("aria-pressed", String(!on));
          saying();
          keep();
        },
      }, fault);
      chips.append(chip);
    }
    const naming = make("input", {
      type: "text", maxlength: held.longest_line, autocomplete: "off", "data-key": "name", id: `n${tile.key}`,
      oninput: () => {
        tile.name = naming.value;
        name.textContent = tile.name;
        keep();
      },
    });
    naming.value = tile.name;
    const made = make(
      "details", { class: "tile", "data-batch": tile.batch, "data-tile": tile.key },
      make("summary", {}, make("span", { class: "who" }, name, " ", about.shown), make("small", {}, about.about), state_),
      make(
        "div", { class: "inside" },
        make("label", { class: "tick" }, inside, make("span", {}, "in this firing")),
        make("div", { class: "field" }, make("label", { for: `n${tile.key}` }, "Tile"), naming),
        field("place", tile, saying),
        field("surface", tile, saying),
        field("colour", tile, saying),
        field("flow", tile, saying),
        chips,
        field("others", tile, saying),
        field("remarks", tile, saying),
        field("body", tile, saying),
        photoOf(tile, saying),
        make("button", {
          type: "button", class: "quiet more",
          onclick: () => {
            if (state.tiles.length >= held.most_tiles) return;
            const another = freshTile(tile, free(tile.name));
            state.tiles.splice(state.tiles.indexOf(tile) + 1, 0, another);
            another.inside = true;
            keep();
            build(another.key);
          },
        }, "One more tile of this batch"),
      ),
    );
    inside.checked = tile.inside;
    rows.set(tile, () => {
      state_.textContent = progress(tile);
      made.classList.toggle("in", tile.inside);
    });
    return made;
  }

  function photoOf(tile, saying) {
    const place = make("div", { class: "photo" });
    const show = (words) => {
      const photo = photos.get(tile.photo);
      const canvas = make("canvas", { role: "img", "aria-label": `photo of tile ${tile.name}` });
      place.replaceChildren(
        make("p", { class: "aside", role: "status" }, words || (tile.photo && !photo ? "The photo is not in this window: load the page again, or take it anew." : "")),
        ...(photo ? [canvas] : []),
        ...[["Take a photo", { capture: "environment" }], ["Choose a picture", {}]].map(([words, about]) => {
          const input = make("input", { type: "file", accept: "image/*", class: "unseen", ...about, onchange: () => take(input) });
          return make("label", { class: "button" }, words, input);
        }),
        tile.photo ? twice("Take the photo away", "Take it away for good", () => {
          const gone = tile.photo;
          tile.photo = "";
          keep();
          photos.delete(gone);
          kept.outOfDatabase(gone);
          show("");
        }) : "",
      );
      if (photo) pictures.draw(canvas, photo.data, HIGH).catch(() => show("This photo cannot be shown; take it anew."));
    };
    const take = async (input) => {
      const file = input.files[0];
      if (!file) return;
      show("The photo is made small \u2026");
      try {
        const made = await pictures.small(file, held.longest_side, held.most_bytes);
        const key = PHOTO + crypto.getRandomValues(new Uint32Array(3)).join("-");
        photos.set(key, { id: key, ...made });
        const safe = kept.toDatabase(photos.get(key));
        const gone = tile.photo;
        tile.photo = key;
        saying();
        keep();
        if (gone) {
          photos.delete(gone);
          kept.outOfDatabase(gone);
        }
        show(safe ? "" : "This browser keeps no pictures: hand the file over before you close the page.");
      } catch {
        show("This browser cannot read that picture: take it as JPEG. What was there is as it was.");
      }
    };
    show("");
    return place;
  }

  function build(openKey = "") {
    const open = new Set([...document.querySelectorAll("details.tile[open]")].map((one) => one.dataset.tile));
    if (openKey) open.add(openKey);
    rows.clear();
    const about = make("details", { class: "about" }, make("summary", {}, "The firing"), make("div", { class: "inside" },
      ...FIELDS.map((key) => field(key, state.firing, () => {
        document.getElementById("title").textContent = state.firing.name || held.name;
      }))));
    about.open = !openKey && !state.firing.date ? true : Boolean(document.querySelector("details.about[open]"));
    const tiles = state.tiles.map(tileOf);
    for (const one of tiles) one.open = open.has(one.dataset.tile);
    document.getElementById("title").textContent = state.firing.name || held.name;
    document.getElementById("door").replaceChildren(about, ...tiles, handing());
    sums();
    const asked = tiles.find((one) => one.dataset.tile === openKey);
    if (asked) asked.scrollIntoView({ block: "start" });
  }

  // ---- handing over ------------------------------------------------------------------------------------

  const insideNow = () => state.tiles.filter((tile) => tile.inside);
  let summing = () => {};

  // Paper has the tiles as they stand here, with room for what nobody has said yet.
  const listed = document.querySelector("#list tbody");
  window.addEventListener("beforeprint", () => {
    listed.replaceChildren(...state.tiles.map((tile) => {
      const about = shownOf(tile);
      const faults = [...tile.faults, tile.others.trim()].filter(Boolean).join(", ");
      const cells = [tile.place, tile.surface, tile.colour, tile.flow, faults, tile.remarks];
      return make("tr", {},
        make("th", { scope: "row" }, tile.inside ? `\u2713 ${tile.name}` : tile.name),
        make("td", {}, about.shown, make("small", {}, about.about)),
        ...cells.map((cell) => make("td", {}, cell)));
    }));
  });

  function sums() {
    for (const show of rows.values()) show();
    summing();
    document.getElementById("door").toggleAttribute("data-known", !kept.opening()); // all that was kept is here
  }

  function handing() {
    const line = make("p", { class: "sum" });
    const before = make("p", { class: "aside" });
    const share = make("button", { type: "button", class: "primary", onclick: () => hand(true) }, "Share the firing");
    const save = make("button", { type: "button", class: "primary", onclick: () => hand(false) }, "Save the firing");
    share.hidden = ways.sharable("fired.json", "{}") === null;
    summing = () => {
      const left = state.tiles.filter((tile) => !tile.inside).map((tile) => tile.name);
      line.textContent = `${insideNow().length} of ${state.tiles.length} tiles are in this firing` +
        (left.length ? `; not in it: ${left.join(", ")}` : "");
      before.textContent = [
        state.handed.length ? `Handed over ${state.handed.length === 1 ? "once" : `${state.handed.length} times`}, last on ${state.handed[state.handed.length - 1].slice(0, 16).replace("T", " ")}. Look whether the file is there.` : "",
        kept.unreadable() ? "Something that was kept here cannot be read any more." : "",
        kept.works() ? "" : "This browser keeps nothing: hand the file over before you close the page.",
      ].filter(Boolean).join(" ");
    };
    return make("section", { class: "handing" }, make("h2", {}, "Hand over"), line, before,
      make("p", { class: "aside" }, "One file with all tiles and their photos; glost record takes it in."), share, save,
      twice("Clear this page", "Clear all of it for good", () => {
        kept.forget(id);
        state = freshState();
        open();
        sweep();
        build();
        tell("The page is empty again.");
      }));
  }

  // What would be refused when it is taken in, told while somebody still stands before the kiln.
  function flaw() {
    const firing = state.firing;
    const tiles = insideNow();
    const names = new Set();
    if (!tiles.length) return "No tile is in this firing: tick those that were.";
    if (!firing.name.trim()) return "The firing needs a name.";
    if (!/^\d{4}-\d{2}-\d{2}$/.test(firing.date)) return "Say on which day the kiln was lit.";
    for (const [what, words] of [["the firing", firing.name], ...tiles.map((tile) => [`tile ${tile.name}`, tile.name])]) {
      if (words.includes('"')) return `A quotation mark stands in the name of ${what}: take it away.`;
    }
    for (const key of ["cone", "reached"]) {
      if (firing[key].trim() && !/^\D{0,6}\d/.test(firing[key].trim())) return `${LABELS[key]}: write it such as 6, 06 or 6 1/2.`;
    }
    for (const tile of tiles) {
      const name = tile.name.trim().replace(/\s+/g, " ").toLowerCase();
      if (!name) return `A tile of ${tile.test} has no name.`;
      if (names.has(name)) return `Two tiles are called ${tile.name}: give each a name of its own.`;
      names.add(name);
      if (tile.flow.trim() && !flowOf(tile)) return `Tile ${tile.name}: write how far it ran in mm, such as 4.`;
      if (tile.photo && !photos.has(tile.photo)) return `Tile ${tile.name}: its photo is not in this window; load the page again, or take it anew.`;
    }
    return "";
  }

  const flowOf = (tile) => {
    const bare = tile.flow.trim().replace(/\s*mm$/i, "").replace(",", ".");
    return /^\d{1,3}(\.\d{1,2})?$/.test(bare) ? bare : "";
  };

  function fileOf() {
    const firing = Object.fromEntries(FIELDS.map((key) => [key, state.firing[key].trim()]));
    return `${ways.json({
      version: held.version,
      kind: held.kind,
      recorded_at: state.saved,
      firing,
      tiles: insideNow().map((tile) => {
        const photo = photos.get(tile.photo);
        return {
          name: tile.name.trim(),
          test: tile.test,
          batch: tile.batch,
          ...Object.fromEntries(["place", "surface", "colour", "body", "remarks"].map((key) => [key, tile[key].trim()])),
          flow_mm: flowOf(tile) ? new ways.Figure(flowOf(tile).replace(/^0+(?=\d)/, "")) : null,
          faults: [...new Set([...tile.faults, ...tile.others.split(",").map((one) => one.trim()).filter(Boolean)])],
          photo: photo ? { type: "image/jpeg", width: photo.width, height: photo.height, data: pictures.base64(photo.data) } : null,
        };
      }),
    })}\n`;
  }

  function handed(now) {
    state.handed.push(ways.moment(now));
    kept.put(state);
    sums();
  }

  async function hand(sharing) {
    const wrong = flaw();
    tell(wrong);
    if (wrong) return;
    const now = new Date();
    if (!state.saved) state.saved = ways.moment(now);
    const name = `${ways.nameOf(`fired ${state.firing.name}`, now)}.json`;
    const file = fileOf();
    if (sharing) {
      const made = ways.sharable(name, file);
      try {
        await navigator.share({ files: [made] });
      } catch {
        tell("It was not shared; nothing is lost. Try again, or save it.");
        return;
      }
    } else {
      ways.download(name, file);
    }
    handed(now);
    tell(`${name} was handed to ${sharing ? "another app" : "the browser"}: look whether it is there.`);
  }

  // ---- begin -------------------------------------------------------------------------------------------

  document.documentElement.classList.add("js");
  kept.listen((changed) => {
    const there = kept.things.get(id);
    if (changed === id && there && there !== state) {
      open();
      build();
    } else {
      sums();
    }
  });
  kept.start();
  open();
  build();
})();
