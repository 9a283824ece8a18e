"use strict";

/** Pressures as shades: cool below the atmosphere, warm above, darker the farther from it; and what a space holds. */
const Shading = {
  /** Lightness falls with the distance on both sides, so that it reads without color too. Blue and orange part well. */
  below: [
    [247, 249, 250],
    [173, 205, 226],
    [91, 150, 192],
    [32, 92, 144],
  ],
  above: [
    [252, 249, 244],
    [245, 206, 158],
    [226, 143, 72],
    [166, 76, 16],
  ],
  neutral: "rgb(250,250,247)",

  /** Largest distances from the atmosphere that the scale tells apart, Pa. */
  reach: { below: 80000, above: 100000 },

  /** Fits the scale to an answer, all its usual states together. */
  fit(states, ambient) {
    let [low, high] = [20000, 20000];
    for (const [name, state] of Object.entries(states || {})) {
      if (Store.scene?.states[name]?.event) continue;
      for (const [from, to] of Object.values(state.spaces)) {
        low = Math.max(low, ambient - from);
        high = Math.max(high, to - ambient);
      }
    }
    this.reach = { below: Math.min(low, ambient), above: Math.min(high, 250000) };
  },

  mix(stops, share) {
    const at = Math.min(share, 0.9999) * (stops.length - 1);
    const [from, part] = [Math.floor(at), at % 1];
    return stops[from].map((value, index) => Math.round(value + part * (stops[from + 1][index] - value)));
  },

  rgb(pa, ambient) {
    const off = pa - ambient;
    const side = off < 0 ? "below" : "above";
    const share = Math.min(1, Math.abs(off) / this.reach[side]) ** 0.6;
    return this.mix(this[side], share);
  },

  /** Where no pressure is given. */
  get unknown() {
    return { fill: this.neutral, ink: "#000000" };
  },

  /** One pressure: its fill, and the ink that stands out from it. Black and white both reach 4.58 to 1 at 0.179. */
  single(pa, ambient) {
    const rgb = this.rgb(pa, ambient);
    const [r, g, b] = rgb.map((value) =>
      value / 255 <= 0.04045 ? value / 3294.6 : ((value / 255 + 0.055) / 1.055) ** 2.4,
    );
    const light = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    return { fill: `rgb(${rgb.join(",")})`, ink: light > 0.179 ? "#000000" : "#ffffff", light };
  },

  /** Fill and ink for a pressure range: halves for its two ends; letters have a rim of `fill`. */
  of([low, high], ambient) {
    const [one, other] = [low, high].map((pa) => this.single(pa, ambient));
    if (one.fill === other.fill) return one;
    const halves = [one.fill, other.fill];
    // No ink stands out from a light and a deep half: there the rim is light.
    if (one.ink !== other.ink) return { ...this.unknown, halves };
    return { ...(one.light < other.light === (one.ink === "#000000") ? one : other), halves };
  },

  /** What a space can hold, worst first; air is plain. */
  order: ["liquid_fuel", "mixture", "exhaust", "crankcase_gas", "vapor", "air"],
  words: {
    air: "air",
    vapor: "fuel vapor",
    mixture: "mixture",
    liquid_fuel: "liquid fuel",
    exhaust: "exhaust",
    crankcase_gas: "crankcase gas",
  },

  said(contents) {
    return (contents || []).map((each) => this.words[each] || each).join(", ") || "air";
  },

  hatch(contents) {
    const found = this.order.find((each) => (contents || []).includes(each));
    return found && found !== "air" ? found : null;
  },

  /** Patterns laid over the shade. */
  patterns(prefix) {
    const make = (name, size, ...marks) =>
      Dom.s(
        "pattern",
        { id: `${prefix}-holds-${name}`, width: size, height: size, patternUnits: "userSpaceOnUse" },
        marks,
      );
    const stroke = (d) => Dom.s("path", { d, class: "hatch" });
    return [
      make("liquid_fuel", 10, stroke("M0,2.5H6M5,7.5H10M0,7.5H1")),
      make(
        "mixture",
        9,
        Dom.s("circle", { cx: 2.5, cy: 2.5, r: 1.1, class: "dot" }),
        Dom.s("circle", { cx: 7, cy: 7, r: 1.1, class: "dot" }),
      ),
      make("exhaust", 9, stroke("M0,0L9,9M9,0L0,9")),
      make("crankcase_gas", 10, stroke("M0,10L10,0")),
      make(
        "vapor",
        16,
        Dom.s("circle", { cx: 4, cy: 4, r: 1.2, class: "ring" }),
        Dom.s("circle", { cx: 12, cy: 12, r: 1.2, class: "ring" }),
      ),
    ];
  },

  /** The scale with units and the hatching in words. */
  legend() {
    const ambient = Units.ambient;
    const [from, to] = [ambient - this.reach.below, ambient + this.reach.above];
    const svg = Dom.s("svg", {
      viewBox: "0 0 360 46",
      class: "scale",
      role: "img",
      "aria-label": `pressure from ${Units.range([from, from])} to ${Units.range([to, to])} ${Units.full}`,
    });
    const steps = 48;
    for (let step = 0; step < steps; step += 1) {
      const pa = from + ((to - from) * (step + 0.5)) / steps;
      svg.append(
        Dom.s("rect", { x: 10 + step * 7.08, y: 4, width: 7.3, height: 18, fill: this.of([pa, pa], ambient).fill }),
      );
    }
    const spot = (pa) => 10 + (340 * (pa - from)) / (to - from);
    svg.append(Dom.s("rect", { x: 10, y: 4, width: 340, height: 18, class: "frame" }));
    for (const pa of [from, ambient, to]) {
      svg.append(Dom.s("path", { d: `M${spot(pa)},4V26`, class: "tick" }));
      const anchor = pa === from ? "start" : pa === to ? "end" : "middle";
      svg.append(
        Dom.s(
          "text",
          { x: spot(pa), y: 41, "text-anchor": anchor },
          pa === ambient ? `${Units.pressure(pa)} atmosphere` : Units.pressure(pa),
        ),
      );
    }
    const holds = ["air", "liquid_fuel", "mixture", "vapor", "crankcase_gas", "exhaust"].map((name) =>
      Dom.h(
        "li",
        {},
        Dom.s(
          "svg",
          { viewBox: "0 0 34 20", width: 34, height: 20, "aria-hidden": "true", class: "sample" },
          Dom.s("rect", { x: 0.5, y: 0.5, width: 33, height: 19, class: "swatch" }),
          name !== "air" && Dom.s("rect", { x: 0.5, y: 0.5, width: 33, height: 19, fill: `url(#a-holds-${name})` }),
        ),
        this.words[name],
      ),
    );
    const symbols = Object.entries(Symbols.words).map(([name, words]) => Dom.h("li", {}, Symbols.sample(name), words));
    return [
      Dom.h("p", { class: "legend-title" }, `Pressure, ${Units.full}`),
      svg,
      Dom.h(
        "p",
        { class: "hint" },
        "“88 to 101”: a sealed or trapped space; where in the range it stands depends on its past. ",
        "Its left half has the shade of the lowest, its right half that of the highest. ",
        "The hatching says the most dangerous thing a space can hold.",
      ),
      Dom.h("ul", { class: "keys-list" }, holds),
      Dom.h("ul", { class: "keys-list wide" }, symbols),
    ];
  },
};
