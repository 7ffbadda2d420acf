// Keeps things of one kind in two places of this browser.
//
// localStorage can be read at once and tells other windows of a change, but a browser writes it to the disk seconds
// late; IndexedDB is written when a transaction ends. Each thing has an id and a count, rev, that grows with every
// change: of two copies the one with the higher count holds. One place that is denied, full or lost leaves the other.

"use strict";

const places = (() => {
  function parsed(value) {
    try {
      return JSON.parse(value);
    } catch {
      return null;
    }
  }

  const TRIAL = "glost trial"; // no key of what is kept begins like it

  // name, store: of the database. prefix: of the keys in localStorage. sound(value): the thing that was kept, or null
  // where that is none: another program may write here as well. plain(thing): what is kept of it. mayGo(thing): it makes
  // room in localStorage where that is full. arrived(there): takes out of the map what in the database is no such thing.
  // ready(): all that is kept is known.
  function open({ name, store, prefix, sound, plain = (thing) => thing, mayGo = () => false, arrived = () => {}, ready = () => {} }) {
    const things = new Map();
    const listeners = [];
    let local = true;
    let room = true; // what was last tried there could be written
    let database = null;
    let opening = true;
    let unreadable = 0;

    function toLocal(thing) {
      if (!local) return;
      for (;;) {
        try {
          localStorage.setItem(prefix + thing.id, JSON.stringify(plain(thing)));
          room = true;
          return;
        } catch {
          // Full: what is done with, and stands in the other place, makes room.
          const gone = database && [...things.values()].find((one) => one.id !== thing.id && mayGo(one) && inLocal(one.id));
          if (!gone) {
            local = false;
            return;
          }
          localStorage.removeItem(prefix + gone.id);
        }
      }
    }

    function inLocal(id) {
      try {
        return localStorage.getItem(prefix + id) !== null;
      } catch {
        return false;
      }
    }

    // Whether the database takes it; what comes of it then is told to those who listen.
    function toDatabase(value) {
      if (!database) return false;
      try {
        const work = database.transaction(store, "readwrite", { durability: "strict" });
        work.objectStore(store).put(value);
        work.onabort = () => {
          database = null;
          tell(null);
        };
        return true;
      } catch {
        database = null;
        return false;
      }
    }

    function outOfDatabase(id) {
      try {
        if (database) database.transaction(store, "readwrite").objectStore(store).delete(id);
      } catch {
        database = null;
      }
    }

    function tell(id) {
      listeners.forEach((listener) => listener(id));
    }

    // Whether it was newer than what is known.
    function take(value) {
      const thing = sound(value);
      if (!thing) {
        unreadable += 1;
        return false;
      }
      const known = things.get(thing.id);
      if (known && known.rev >= thing.rev) return false;
      things.set(thing.id, thing);
      return true;
    }

    function readLocal() {
      try {
        for (let at = 0; at < localStorage.length; at += 1) {
          const key = localStorage.key(at);
          if (key.startsWith(prefix)) take(parsed(localStorage.getItem(key)));
        }
      } catch {
        local = false;
      }
    }

    function openDatabase() {
      let asked;
      const without = () => {
        opening = false;
        tell(null);
      };
      try {
        asked = indexedDB.open(name, 1);
      } catch {
        opening = false;
        return;
      }
      asked.onupgradeneeded = () => asked.result.createObjectStore(store, { keyPath: "id" });
      asked.onerror = asked.onblocked = without;
      asked.onsuccess = () => {
        database = asked.result;
        database.onversionchange = () => database && database.close();
        const all = database.transaction(store).objectStore(store).getAll();
        all.onsuccess = () => {
          opening = false;
          const there = new Map(all.result.map((one) => [one.id, one]));
          arrived(there);
          const newer = [...there.values()].filter(take).map((one) => one.id);
          newer.forEach((id) => toLocal(things.get(id)));
          for (const thing of things.values()) {
            const other = there.get(thing.id);
            if (!other || !(other.rev >= thing.rev)) toDatabase(plain(thing));
          }
          ready();
          newer.forEach(tell);
          tell(null);
        };
        all.onerror = () => {
          opening = false;
        };
      };
    }

    function forget(id) {
      things.delete(id);
      try {
        localStorage.removeItem(prefix + id);
      } catch {
        local = false;
      }
      outOfDatabase(id);
    }

    function put(thing) {
      thing.rev += 1;
      things.set(thing.id, thing);
      toLocal(thing);
      toDatabase(plain(thing));
    }

    // A thing that another window has gone on with since, or null.
    function newer(thing) {
      if (!local) return null;
      try {
        const there = localStorage.getItem(prefix + thing.id);
        if (there !== null && take(parsed(there))) return things.get(thing.id);
      } catch {
        local = false;
      }
      return null;
    }

    window.addEventListener("storage", (event) => {
      if (event.key && event.key.startsWith(prefix) && event.newValue !== null) {
        const value = parsed(event.newValue);
        if (take(value)) tell(value.id);
      }
    });

    // Whether anything can be kept is known before there is something to keep.
    function tryOut() {
      try {
        localStorage.setItem(TRIAL, "1");
        localStorage.removeItem(TRIAL);
      } catch {
        room = false;
      }
    }

    function start() {
      readLocal();
      tryOut();
      openDatabase();
    }

    return {
      things,
      denied: () => {
        local = false;
      },
      forget,
      listen: (listener) => listeners.push(listener),
      newer,
      opening: () => opening,
      outOfDatabase,
      put,
      start,
      tell,
      toDatabase,
      unreadable: () => unreadable,
      unread: () => {
        unreadable += 1;
      },
      works: () => (local && room) || opening || database !== null,
    };
  }

  return { open, parsed };
})();
