"use strict";

/** Graphic symbols in the manner of ISO 1219-1, in our own drawing: on a line from left to right, around 0, 0. */
const Symbols = {
  words: {
    line: "open passage or line",
    restriction: "restriction: jet, bleed, slot or clearance",
    adjustable: "restriction that a needle or valve sets",
    check: "one-way valve: passes from the seat toward the ball only",
    open_check: "normally open check with its spring: shuts when blown into",
    plugged: "plugged: the line ends",
    diaphragm: "diaphragm: bulges toward the lower pressure",
    leak: "leak at a joint or seal",
    switch: "valve that leads the line or shuts it",
    gone: "closed by what else is fitted",
  },

  /** Strokes of each symbol; `wipe` is how much of the line it covers. */
  drawn: {
    line: [],
    restriction: ["M-11,10Q0,2 11,10", "M-11,-10Q0,-2 11,-10"],
    adjustable: ["M-11,10Q0,2 11,10", "M-11,-10Q0,-2 11,-10", "M-12,13L11,-12", "*M12,-13l-7,2l4.5,4.5z"],
    check: ["M5,-11L-9,0L5,11", "oM-4,0a6,6 0 1,0 12,0a6,6 0 1,0 -12,0", "M8,0L13,0"],
    open_check: [
      "M2,-11L-12,0L2,11",
      "M-9,-3L-6.5,3L-4,-3L-1.5,3",
      "oM0,0a6,6 0 1,0 12,0a6,6 0 1,0 -12,0",
      "M12,0L16,0",
    ],
    plugged: ["M-9,-9L9,9", "M-9,9L9,-9"],
    leak: ["M-3,-11L-3,11", "M3,-11L3,11"],
    switch: [
      "oM-18,-10h18v20h-18z",
      "oM0,-10h18v20h-18z",
      "M-15,0L-5,0",
      "*M-3,0l-6,-3.5v7z",
      "M3,0L7,0M7,-5L7,5",
      "M15,0L11,0M11,-5L11,5",
    ],
    gone: ["M-12,-8L-12,8", "M12,-8L12,8"],
  },

  wipe: { check: [-9, 13], open_check: [-12, 16], gone: [-11, 11], switch: [-18, 18], plugged: [-2, 2] },

  /** Which symbol stands for a way as it is, and whether it is turned round. */
  of(way, how) {
    if (how.how === "plugged") return { name: "plugged" };
    if (how.how === "closed") return { name: "gone" };
    if (way.gate) return { name: "switch" };
    if (how.checked) return { name: "open_check" };
    if (how.passes) return { name: "check", turned: how.passes === way.a };
    if (way.kind === "check_valve") return { name: "check" };
    if (way.kind === "seat") return { name: "adjustable" };
    if (way.kind === "joint" || way.kind === "rupture") return { name: "leak" };
    if (["restriction", "slot", "clearance"].includes(way.kind)) return { name: "restriction" };
    return { name: "line" };
  },

  /** All symbols for `<use>`; `prefix` keeps two drawings apart. */
  definitions(prefix) {
    return Object.entries(this.drawn).map(([name, strokes]) => {
      const wiped = this.wipe[name];
      return Dom.s(
        "symbol",
        { id: `${prefix}-${name}`, overflow: "visible" },
        wiped && Dom.s("rect", { class: "wipe", x: wiped[0], y: -9, width: wiped[1] - wiped[0], height: 18 }),
        strokes.map((stroke) => {
          const kind = stroke[0] === "*" ? "solid" : stroke[0] === "o" ? "body" : "stroke";
          return Dom.s("path", { class: `symbol-${kind}`, d: kind === "stroke" ? stroke : stroke.slice(1) });
        }),
      );
    });
  },

  /** A small drawing of one symbol, for the legend. */
  sample(name) {
    const svg = Dom.s("svg", {
      viewBox: "-24 -16 48 32",
      width: 48,
      height: 32,
      "aria-hidden": "true",
      class: "sample",
    });
    if (name === "diaphragm") {
      svg.append(Dom.s("path", { class: "membrane", d: "M0,-14Q14,0 0,14" }));
      return svg;
    }
    svg.append(
      Dom.s("path", { class: "pipe open", d: name === "plugged" ? "M-24,0H0" : "M-24,0H24", "stroke-width": 2.5 }),
    );
    svg.append(Dom.s("use", { href: `#a-${name}` }));
    return svg;
  },
};
