"use strict";

/** The carburetor as a drawing. Built once a scene; `show` fills in one state of one answer. */
class Drawing {
  /** @param {SVGElement} svg @param {string} prefix for ids @param {{choose: Function, hover: Function}} acts */
  constructor(svg, prefix, acts) {
    this.svg = svg;
    this.prefix = prefix;
    this.acts = acts;
    this.showAbsent = false;
    this.view = new View(svg, () => this.fitTexts());
    this.flow = new Flow();
    this.scene = null;
  }

  build(scene) {
    this.scene = scene;
    this.focusables = [];
    this.spaces = {};
    this.routes = [];
    this.membranes = {};
    const layer = (name) => Dom.s("g", { class: name });
    this.layers = Object.fromEntries(
      ["castings", "pipes", "spaces", "labels", "symbols", "arrows"].map((name) => [name, layer(name)]),
    );
    this.svg.replaceChildren(
      Dom.s("defs", {}, Symbols.definitions(this.prefix), Shading.patterns(this.prefix)),
      ...Object.values(this.layers),
    );
    for (const [name, casting] of Object.entries(scene.castings)) this.addCasting(name, casting);
    this.roomOfTitles();
    for (const [name, space] of Object.entries(scene.spaces)) this.addSpace(name, space);
    this.addRoutes(scene.ways);
    for (const [name, diaphragm] of Object.entries(scene.diaphragms)) this.addDiaphragm(name, diaphragm);
    this.flow.layer = this.layers.arrows;
    this.view.setSize(scene.size, this.extent(scene));
    Roving.over(this);
  }

  extent(scene) {
    const all = [...Object.values(scene.castings), ...Object.values(scene.spaces)];
    const [x, y] = [Math.min(...all.map((each) => each.x)), Math.min(...all.map((each) => each.y))];
    const [right, bottom] = [
      Math.max(...all.map((each) => each.x + each.w)),
      Math.max(...all.map((each) => each.y + each.h)),
    ];
    return { x: x - 26, y: y - 10, w: right - x + 52, h: bottom - y + 30 };
  }

  addCasting(name, { x, y, w, h, title, around }) {
    const label = Dom.s("text", { x: x + 7, y: y + 14, class: "casting-title" }, title);
    label.append(Dom.s("title", {}, title));
    this.layers.castings.append(
      Dom.s(
        "g",
        { class: `casting${around ? " around" : ""}`, "aria-hidden": "true" },
        Dom.s("rect", { x, y, width: w, height: h, rx: 8 }),
        label,
      ),
    );
    label.casting = { x, y, w, title, room: w - 10 };
  }

  /** A title of a casting may go on as far as the next one on its line; never into it. */
  roomOfTitles() {
    const labels = [...this.layers.castings.querySelectorAll("text")].map((each) => each.casting);
    for (const own of labels) {
      const right = labels.filter(({ x, y }) => Math.abs(y - own.y) < 16 && x > own.x).map(({ x }) => x);
      own.room = right.length ? Math.min(...right) - own.x - 12 : own.w - 10;
    }
  }

  /** A box drawn a little larger than planned: lines run under its edge, and its name has more room. */
  static grown({ x, y, w, h, shape }) {
    const [wider, higher] = shape === "bar" ? [0, 2] : [6, 8];
    return { x: x - wider, y: y - higher, w: w + 2 * wider, h: h + 2 * higher };
  }

  /** The left and the right half of a box, within its edge: for the low and the high end of a range. */
  static halves({ x, y, w, h }, round) {
    const [half, high, r] = [w / 2 - 0.7, h - 1.4, round - 0.7];
    const turn = (sweep, across, down) => `a${r},${r} 0 0 ${sweep} ${across},${down}`;
    const d = (side, sweep) =>
      `M${x + w / 2},${y + 0.7}h${side * (half - r)}${turn(sweep, side * r, r)}v${high - 2 * r}` +
      `${turn(sweep, -side * r, r)}h${-side * (half - r)}z`;
    return [Dom.s("path", { d: d(-1, 0), class: "half" }), Dom.s("path", { d: d(1, 1), class: "half" })];
  }

  /** What can be focused and chosen. */
  target(kind, name, at, given, ...children) {
    const node = Dom.s("g", { role: "button", tabindex: -1, ...given, class: `target ${given.class || ""}` }, children);
    node.chosen = { kind, name, at };
    node.addEventListener("click", () => this.acts.choose(kind, node.chosen.name, this));
    node.addEventListener("pointerenter", () => this.acts.hover(kind, node.chosen.name));
    node.addEventListener("pointerleave", () => this.acts.hover(null));
    node.addEventListener("focus", () => {
      Roving.at(this, node);
      if (node.matches(":focus-visible")) this.acts.hover(kind, node.chosen.name);
    });
    node.addEventListener("blur", () => this.acts.hover(null));
    this.focusables.push(node);
    return node;
  }

  addSpace(name, space) {
    const { x, y, w, h } = Drawing.grown(space);
    const shape = { x, y, width: w, height: h, rx: space.shape === "bar" ? 6 : 5 };
    const fill = Dom.s("rect", { ...shape, class: "fill" });
    const halves = Drawing.halves({ x, y, w, h }, shape.rx);
    const hatch = Dom.s("rect", { ...shape, class: "over", fill: "none" });
    const words = Dom.s("g", { class: "words", "aria-hidden": "true" });
    const tip = Dom.s("title", {}, space.title);
    const node = this.target(
      "space",
      name,
      [x + w / 2, y + h / 2],
      { class: `space${space.source ? " source" : ""}` },
      tip,
      fill,
      halves,
      hatch,
    );
    this.layers.spaces.append(node);
    this.layers.labels.append(words);
    this.spaces[name] = { node, fill, halves, hatch, words, tip, space };
  }

  /** Ways with the same route are one line on the drawing. */
  addRoutes(ways) {
    const together = new Map();
    for (const [name, way] of Object.entries(ways)) {
      if (!way.route) continue;
      const ends = JSON.stringify(way.route);
      const back = JSON.stringify([...way.route].reverse());
      const key = together.has(back) ? back : ends;
      if (!together.has(key)) together.set(key, []);
      together.get(key).push(name);
    }
    for (const names of together.values()) this.addRoute(names, ways);
  }

  addRoute(names, ways) {
    const first = ways[names[0]];
    const d = `M${first.route.map((point) => point.join(",")).join("L")}`;
    const line = Dom.s("path", { d, class: "pipe" });
    const [x, y] = first.symbol;
    const hit = Dom.s("rect", { class: "hit", x: -17, y: -17, width: 34, height: 34, rx: 7 });
    const symbol = Dom.s("use", { class: "symbol" });
    const turned = Dom.s("g", {}, symbol);
    const dot = Dom.s("circle", { class: "handle", r: 4.5 });
    const tip = Dom.s("title", {}, first.title);
    const node = this.target(
      "way",
      names[0],
      [x, y],
      { class: "way", transform: `translate(${x},${y})` },
      tip,
      hit,
      turned,
      dot,
    );
    const air = first.vent ? this.openEnd(first) : null;
    const group = Dom.s("g", { class: "line" }, Dom.s("path", { d, class: "wide" }), line, air);
    group.addEventListener("click", () => node.dispatchEvent(new MouseEvent("click")));
    group.addEventListener("pointerenter", () => this.acts.hover("way", node.chosen.name));
    group.addEventListener("pointerleave", () => this.acts.hover(null));
    this.layers.pipes.append(group);
    this.layers.symbols.append(node);
    this.routes.push({ names, node, group, line, symbol, turned, dot, tip, hit });
  }

  /** The sign for the open air at the end of a line. */
  openEnd({ route, a }) {
    const ambient = a === "ambient";
    const [end, before] = ambient ? [route[0], route[1]] : [route[route.length - 1], route[route.length - 2]];
    const angle = (Math.atan2(end[1] - before[1], end[0] - before[0]) * 180) / Math.PI;
    return Dom.s("path", {
      class: "open-air",
      d: "M0,-9V9M5,-6V6M10,-3V3",
      transform: `translate(${end[0]},${end[1]}) rotate(${angle})`,
    });
  }

  addDiaphragm(name, { x, y, angle, title, link }) {
    const wall = Dom.s("path", { class: "membrane" });
    const body = Dom.s(
      "g",
      { transform: `rotate(${angle})` },
      Dom.s("rect", { x: -17, y: -19, width: 34, height: 38, rx: 4, class: "housing" }),
      wall,
    );
    const said = Dom.s("text", { y: 35, class: "valve-word", "text-anchor": "middle" });
    const tip = Dom.s("title", {}, title);
    const node = this.target(
      "diaphragm",
      name,
      [x, y],
      { class: "diaphragm", transform: `translate(${x},${y})` },
      tip,
      body,
      said,
    );
    const tie = Dom.s("path", { class: "tie", d: link ? `M${link.map((point) => point.join(",")).join("L")}` : "" });
    this.layers.pipes.append(tie);
    this.layers.symbols.append(node);
    this.membranes[name] = { node, wall, said, tip, tie };
  }

  /** One state of one answer. @param {{scene: Object, answer: Object, state: Object}} shown */
  show({ answer, state }) {
    this.answer = answer;
    this.state = state;
    Paint.spaces(this);
    Paint.ways(this);
    Paint.diaphragms(this);
    this.flow.set(this.routes.filter((route) => route.moving).map((route) => route.moving));
    Roving.refresh(this);
  }

  fitTexts() {
    if (this.scene && this.state) Paint.words(this);
  }

  /** Dims what is not marked. */
  mark({ spaces, ways, diaphragms }) {
    const any = spaces.size + ways.size + diaphragms.size > 0;
    this.svg.classList.toggle("marking", any);
    for (const [name, { node, words }] of Object.entries(this.spaces)) {
      for (const each of [node, words]) each.classList.toggle("marked", spaces.has(name));
    }
    for (const { names, node, group } of this.routes) {
      const on = names.some((name) => ways.has(name));
      node.classList.toggle("marked", on);
      group.classList.toggle("marked", on);
    }
    for (const [name, { node }] of Object.entries(this.membranes))
      node.classList.toggle("marked", diaphragms.has(name));
  }

  /** Outlines what differs from the other drawing. */
  outline({ spaces, ways, diaphragms }) {
    for (const [name, { node }] of Object.entries(this.spaces)) node.classList.toggle("differs", spaces.has(name));
    for (const { names, node } of this.routes)
      node.classList.toggle(
        "differs",
        names.some((name) => ways.has(name)),
      );
    for (const [name, { node }] of Object.entries(this.membranes))
      node.classList.toggle("differs", diaphragms.has(name));
  }

  choose(chosen) {
    for (const node of this.focusables) {
      const own = node.chosen;
      const on =
        chosen !== null &&
        ((own.kind === chosen.kind && own.name === chosen.name) ||
          (own.kind === "way" &&
            chosen.kind === "way" &&
            this.routes.some((route) => route.node === node && route.names.includes(chosen.name))));
      node.classList.toggle("chosen", on);
      if (on) node.setAttribute("aria-current", "true");
      else node.removeAttribute("aria-current");
    }
  }
}
