// The ways out of the browser, and what goes out: JSON, names and times. What became of a file afterwards no page can
// know, so that none of them says more than that it was handed over.

"use strict";

const ways = (() => {
  // ---- JSON and time -----------------------------------------------------------------------------------

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

  const dateOf = (now) =>
    `${String(now.getFullYear()).padStart(4, "0")}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;

  // The time here with its offset from UTC, as ISO 8601 writes it.
  function moment(now) {
    const offset = -now.getTimezoneOffset();
    const size = Math.abs(offset);
    return (
      `${dateOf(now)}T${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}` +
      `${offset < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`
    );
  }

  function nameOf(words, now) {
    const plain = words
      .toLowerCase()
      .replace(/[^\p{Letter}\p{Number}]+/gu, "-")
      .replace(/^-+|-+$/g, "")
      .slice(0, 60)
      .replace(/-+$/, "");
    return `${plain}-${dateOf(now)}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}`;
  }

  // ---- the ways out ------------------------------------------------------------------------------------

  function download(name, text) {
    const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    const link = document.createElement("a");
    link.href = address;
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
  }

  // A file that this browser would share, or null: some share no JSON, but any of them plain text.
  function sharable(name, text) {
    if (!navigator.share || !navigator.canShare) return null;
    for (const [ending, type] of [["", "application/json"], [".txt", "text/plain"]]) {
      try {
        const file = new File([text], `${name}${ending}`, { type });
        if (navigator.canShare({ files: [file] })) return file;
      } catch {
        return null;
      }
    }
    return null;
  }

  return { Figure, dateOf, download, json, moment, nameOf, sharable, two };
})();
