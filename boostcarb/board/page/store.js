"use strict";

/** What stands on the board: target, base, changes with their history, state, and what is chosen. */
const Store = {
  /** @type {ServedSource|PackedSource} */
  source: null,
  modes: {},
  scene: null,
  bases: {},
  answer: null,
  mode: "",
  base: "found",
  changes: {},
  past: [],
  future: [],
  state: "",
  /** The last state that was not dialed. */
  settled: "",
  /** The state at the dials, or null. */
  dialed: null,
  dials: null,
  /** @type {{kind: "space"|"way"|"diaphragm"|"item", name: string}|null} */
  chosen: null,
  marks: { spaces: new Set(), ways: new Set(), diaphragms: new Set() },
  busy: false,
  listeners: {},
  asking: new Latest(),
  /** What the answer on the board was asked with: changes and their history. */
  answered: { changes: {}, past: [], future: [] },
  opening: 0,

  /** Calls back on "scene", "answer", "state", "chosen", "marks", "view", "busy" or "trouble". */
  on(events, act) {
    for (const event of events.split(" ")) (this.listeners[event] ||= []).push(act);
  },

  tell(event, data) {
    for (const act of this.listeners[event] || []) act(data);
  },

  get asked() {
    return { mode: this.mode, base: this.base, changes: { ...this.changes } };
  },

  /** What is shown now, as one state of an answer. */
  get now() {
    if (this.state === "dialed" && this.dialed) return this.dialed;
    return this.answer?.states?.[this.state] || { spaces: {}, contents: {}, flows: {}, diaphragms: {} };
  },

  /** All states, in the order of the drive. */
  get states() {
    return Object.entries(this.scene.states)
      .sort(([, a], [, b]) => a.order - b.order)
      .map(([name]) => name);
  },

  /** Whether a state occurs with these parts. */
  occurs(name) {
    return Boolean(this.answer?.states && Object.hasOwn(this.answer.states, name));
  },

  stateTitle(name) {
    return name === "dialed" ? "at the dials" : this.scene.states[name]?.title || name;
  },

  async open(mode, base) {
    this.opening += 1;
    const { opening } = this;
    this.setBusy(true);
    this.tell("opening");
    try {
      const { scene, bases } = await this.source.scene(mode);
      if (opening !== this.opening) return;
      Object.assign(this, { scene, bases, mode, changes: {}, past: [], future: [], dialed: null, chosen: null });
      this.base = bases[base] ? base : Object.keys(bases)[0];
      this.answer = bases[this.base];
      this.settle();
      Units.ambient = scene.ambient_pa;
      this.tell("scene");
      this.tell("answer");
      this.tell("state");
      this.tell("chosen");
      this.tell("opened");
    } catch (error) {
      if (opening !== this.opening) return;
      this.trouble(error);
    }
    this.setBusy(false);
  },

  /** After a new answer: a state that is there. What is dialed is asked anew. */
  settle() {
    this.answered = { changes: this.changes, past: [...this.past], future: [...this.future] };
    if (this.state !== "dialed" && !this.occurs(this.state)) this.state = this.first();
    if (!this.occurs(this.settled)) this.settled = this.state === "dialed" ? this.first() : this.state;
  },

  /** The state to start from: the hardest in boost, else idle. */
  first() {
    const all = this.states.filter((name) => this.occurs(name));
    return (
      all.find((name) => this.scene.states[name].boosted && !this.scene.states[name].event) ||
      (all.includes("idle") ? "idle" : all[0])
    );
  },

  setBase(base) {
    Object.assign(this, { base, changes: {}, past: [], future: [], dialed: null });
    this.answer = this.bases[base];
    if (this.state === "dialed") this.state = this.settled;
    this.settle();
    this.setBusy(false);
    this.tell("answer");
    this.tell("state");
  },

  setState(name) {
    if (name === this.state || !this.occurs(name)) return;
    this.state = name;
    this.settled = name;
    this.tell("state");
  },

  step(by) {
    const all = this.states.filter((name) => this.occurs(name));
    const at = all.indexOf(this.state === "dialed" ? this.settled : this.state);
    this.setState(all[(Math.max(at, 0) + by + all.length) % all.length]);
  },

  /** The form an item has in this configuration; with `base`, without the changes made here. */
  formOf(item, { base = false } = {}) {
    if (!base && Object.hasOwn(this.changes, item)) return this.changes[item];
    return (this.bases[this.base].configuration || {})[item] ?? this.scene.items[item].found;
  },

  /** Whether an item is there, as things stand. */
  isThere(item) {
    return Object.entries(this.scene.items[item].on || {}).every(([other, forms]) =>
      forms.includes(this.formOf(other)),
    );
  },

  change(item, form) {
    const changes = { ...this.changes };
    if (this.formOf(item, { base: true }) === form) delete changes[item];
    else changes[item] = form;
    this.setChanges(changes);
  },

  /** @param {Object} changes @param {{past: Array, future: Array}} [history] as it is afterwards */
  setChanges(changes, { past = [...this.past, this.changes], future = [] } = {}) {
    const before = { changes: this.changes, past: this.past, future: this.future };
    Object.assign(this, { changes, past, future });
    this.tell("changes");
    return this.refresh(before);
  },

  /** Whether what was asked is still what stands on the board. */
  stands({ mode, base, changes }) {
    return mode === this.mode && base === this.base && JSON.stringify(changes) === JSON.stringify(this.changes);
  },

  /** Asks for what stands on the board. `error`: trouble that is said once more when the answer is there. */
  refresh(before, error = null) {
    this.setBusy(true);
    const { asked } = this;
    return this.asking.run(
      () => (Object.keys(asked.changes).length ? this.source.answer(asked) : Promise.resolve(this.bases[asked.base])),
      (answer) => {
        if (!this.stands(asked)) return;
        this.setBusy(false);
        if (answer.refused) {
          this.takeBack(before, new NoAnswer(answer.refused.what, answer.refused.why));
          return;
        }
        this.answer = answer;
        this.settle();
        this.tell("answer");
        if (this.state === "dialed") this.tell("redial");
        this.tell("state");
        if (error) this.trouble(error);
      },
      (failure) => {
        if (!this.stands(asked)) return;
        this.setBusy(false);
        this.takeBack(before, failure);
      },
    );
  },

  /** A change that has no answer does not stay on the board; what is left may have had no answer yet either. */
  takeBack(before, error) {
    Object.assign(this, before);
    this.tell("changes");
    if (JSON.stringify(this.changes) !== JSON.stringify(this.answered.changes)) this.refresh(this.answered, error);
    this.trouble(error);
  },

  undo() {
    if (!this.past.length) return;
    const past = [...this.past];
    this.setChanges(past.pop(), { past, future: [...this.future, this.changes] });
  },

  redo() {
    if (!this.future.length) return;
    const future = [...this.future];
    this.setChanges(future.pop(), { past: [...this.past, this.changes], future });
  },

  choose(kind, name) {
    this.chosen = kind ? { kind, name } : null;
    this.tell("chosen");
  },

  /** Lights up places and dims the rest; nothing given: everything as usual. */
  mark({ spaces = [], ways = [], diaphragms = [] } = {}) {
    this.marks = { spaces: new Set(spaces), ways: new Set(ways), diaphragms: new Set(diaphragms) };
    this.tell("marks");
  },

  titleOf(kind, name) {
    const table = { space: "spaces", way: "ways", diaphragm: "diaphragms", item: "items" }[kind];
    return this.scene[table][name]?.title || name;
  },

  setBusy(busy) {
    this.busy = busy;
    this.tell("busy");
  },

  trouble(error) {
    if (!(error instanceof NoAnswer)) throw error;
    this.tell("trouble", error);
  },
};
