"use strict";

/** A second drawing beside the first, and what differs in words. */
const Compare = {
  on: false,
  mode: "",
  base: "",
  state: "",
  record: null,
  drawing: null,
  token: 0,

  start(drawing) {
    this.drawing = drawing;
    drawing.view.twin = App.drawing.view;
    App.drawing.view.twin = drawing.view;
    Dom.id("compare").addEventListener("click", () => this.toggle());
    Store.on("scene", () => this.on && this.toggle());
    Store.on("answer state view veil", () => this.on && this.show());
  },

  async toggle() {
    this.on = !this.on;
    Dom.id("compare").setAttribute("aria-pressed", String(this.on));
    for (const id of ["second", "first-title", "differences"]) Dom.id(id).hidden = !this.on;
    Panels.alone(this.on);
    Dom.id("board").classList.toggle("comparing", this.on);
    if (!this.on) {
      App.drawing.outline({ spaces: new Set(), ways: new Set(), diaphragms: new Set() });
      App.outlined = null;
      return;
    }
    this.mode = Store.mode;
    this.base = Object.keys(Store.scene.bases).find((name) => name !== Store.base) || Store.base;
    this.state = "";
    await this.load();
  },

  async load() {
    this.token += 1;
    const token = this.token;
    try {
      const record =
        this.mode === Store.mode ? { scene: Store.scene, bases: Store.bases } : await Store.source.scene(this.mode);
      if (token !== this.token || !this.on) return;
      this.record = record;
      if (!record.bases[this.base]) this.base = Object.keys(record.bases)[0];
      this.drawing.build(record.scene);
      this.show();
    } catch (error) {
      Store.trouble(error);
    }
  },

  /** The other side's state: the one chosen, else the same as on this side. */
  get other() {
    const { scene, bases } = this.record;
    const there = bases[this.base].states;
    const name = [this.state, Store.settled, ...Object.keys(scene.states)].find((each) => there[each]);
    return { name, answer: bases[this.base], state: bases[this.base].states[name], scene };
  },

  show() {
    if (!this.record) return;
    const { name, answer, state, scene } = this.other;
    this.choices(scene);
    const own = Object.keys(Store.changes).length ? " with your changes" : "";
    Dom.id("first-title").textContent = `${Dom.capital(Store.scene.bases[Store.base].title)}${own}`;
    Dom.id("second-title").textContent = `${Dom.capital(scene.bases[this.base].title)}${
      name === Store.state ? "" : `, ${scene.states[name].title}`
    }`;
    this.drawing.show({ answer, state });
    const differs = this.differences(Store.answer, Store.now, answer, state);
    App.drawing.outline(differs);
    this.drawing.outline(differs);
    Dom.put(
      Dom.id("differences"),
      Dom.h("h3", {}, `What differs (${differs.words.length})`),
      differs.words.length === 0
        ? Dom.h("p", { class: "empty" }, "Nothing: both are the same.")
        : [
            Dom.h(
              "p",
              { class: "both", "aria-hidden": "true" },
              ["", "first drawing", "second drawing"].map((each) => Dom.h("span", {}, each)),
            ),
            Dom.h(
              "ul",
              {},
              differs.words.map(([title, left, right]) => this.pair(title, left, right)),
            ),
          ],
    );
  },

  /** One thing that differs, in columns; read out, it says which side is which. */
  pair(title, left, right) {
    const side = (words, text) => Dom.h("span", {}, Dom.h("span", { class: "unseen" }, words), text);
    return Dom.h("li", { class: "both" }, Dom.h("span", {}, title), side("first: ", left), side("second: ", right));
  },

  choices(scene) {
    const has = this.record.bases[this.base].states;
    const there = Object.fromEntries(Object.entries(scene.states).filter(([name]) => has[name]));
    const titles = (record) => Object.fromEntries(Object.entries(record).map(([name, { title }]) => [name, title]));
    const modes = Object.fromEntries(
      Object.entries(Store.modes)
        .filter(([, each]) => !each.why)
        .map(([name]) => [name, name.replaceAll("_", " ")]),
    );
    Dom.put(
      Dom.id("second-choices"),
      Dom.select("Target", modes, this.mode, (mode) => {
        this.mode = mode;
        this.load();
      }),
      Dom.select("Carburetor", titles(scene.bases), this.base, (base) => {
        this.base = base;
        this.show();
      }),
      Dom.select("State", { "": "same state", ...titles(there) }, this.state, (state) => {
        this.state = state;
        this.show();
      }),
    );
  },

  differences(answer, state, otherAnswer, otherState) {
    const found = { spaces: new Set(), ways: new Set(), diaphragms: new Set(), words: [] };
    const title = (kind, name) => Dom.capital(Store.titleOf(kind, name));
    for (const [name, way] of Object.entries(answer.ways)) {
      const other = otherAnswer.ways[name];
      if (!other || (way.how === other.how && way.passes === other.passes)) continue;
      if (![way.how, other.how].includes("open")) continue;
      found.ways.add(name);
      found.words.push([title("way", name), way.how, other.how]);
    }
    for (const [name, now] of Object.entries(state.diaphragms || {})) {
      const other = otherState.diaphragms?.[name];
      if (!other || (now.valve === other.valve && now.moves === other.moves)) continue;
      found.diaphragms.add(name);
      const sides = Store.scene.diaphragms[name];
      const said = ({ valve, moves }) =>
        valve || (sides[moves] ? `pushed toward ${Store.titleOf("space", sides[moves])}` : "at rest");
      found.words.push([title("diaphragm", name), said(now), said(other)]);
    }
    for (const [name, range] of Object.entries(state.spaces)) {
      const other = otherState.spaces[name];
      if (!other || Units.range(range) === Units.range(other)) continue;
      found.spaces.add(name);
      const [left, right] = [range, other].map((each) => `${Units.range(each)} ${Units.title}`);
      found.words.push([title("space", name), left, right]);
    }
    return found;
  },
};
