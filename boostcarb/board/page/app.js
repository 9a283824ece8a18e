"use strict";

/** The tabs beside the drawing. */
const Panels = {
  names: ["findings", "look", "changes", "all", "lesson", "hunt"],
  current: "findings",

  start() {
    for (const name of this.names) {
      const tab = Dom.id(`tab-${name}`);
      tab.addEventListener("click", () => this.open(name));
      tab.addEventListener("keydown", (event) => {
        const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!by) return;
        event.preventDefault();
        event.stopPropagation();
        const next = this.names[(this.names.indexOf(name) + by + this.names.length) % this.names.length];
        this.open(next);
        Dom.id(`tab-${next}`).focus();
      });
    }
    this.open("findings");
  },

  open(name) {
    if (this.current === "lesson" && name !== "lesson") Signals.drop();
    this.current = name;
    for (const each of this.names) {
      const on = each === name;
      Dom.id(`tab-${each}`).setAttribute("aria-selected", String(on));
      Dom.id(`tab-${each}`).tabIndex = on ? 0 : -1;
      Dom.id(`panel-${each}`).hidden = !on;
    }
    Dom.id("panels").scrollTop = 0;
    Lesson.veil();
  },

  /** In the classroom and while two are compared, the drawing has the whole width, and the panel comes when called. */
  alone(on) {
    document.documentElement.classList.toggle("alone", on);
    Dom.id("beside").setAttribute("aria-pressed", String(!on));
  },
};

/** Wires it all together. */
const App = {
  drawing: null,

  start() {
    let initial = null;
    try {
      initial = JSON.parse(Dom.id("board-data").textContent || "null");
    } catch {
      initial = null;
    }
    if (!initial || !(initial.token || initial.pack)) {
      this.trouble(new NoAnswer("There is nothing on this board.", "Open it with “boostcarb board JOB”."));
      return;
    }
    Store.source = initial.pack ? new PackedSource(initial.pack) : new ServedSource(initial.token);
    Store.modes =
      initial.modes || Object.fromEntries(Object.keys(initial.pack?.scenes || {}).map((name) => [name, {}]));
    if (initial.units === "us") Units.unit = "psi";
    const acts = {
      choose: (kind, name, _drawing, byKey) => {
        Store.choose(kind, name);
        if (byKey) Dom.id("panel-look").querySelector("h2")?.focus();
      },
      hover: (kind, name) => Signals.hover(kind, name),
    };
    this.drawing = new Drawing(Dom.id("drawing"), "a", acts);
    const second = new Drawing(Dom.id("drawing-b"), "b", {
      ...acts,
      choose: (kind, name) => (Compare.mode === Store.mode ? acts.choose(kind, name) : null),
    });
    Store.on("scene", () => this.scene());
    Store.on("answer state", () => this.show());
    Store.on("view veil", () => this.show());
    Store.on("marks", () => this.drawing.mark(Store.marks));
    Store.on("chosen", () => this.drawing.choose(Store.chosen));
    Store.on("trouble", (error) => this.trouble(error));
    Store.on("trouble", () => Store.scene && this.header());
    Store.on("answer calm", () => this.calm());
    Store.on("opening", () => {
      Dom.id("loading").hidden = false;
      Dom.id("drawing").classList.add("waiting");
    });
    Store.on("opened trouble", () => {
      Dom.id("loading").hidden = true;
      Dom.id("drawing").classList.remove("waiting");
    });
    Store.on("busy", () => Dom.id("board").setAttribute("aria-busy", String(Store.busy)));
    for (const part of [Panels, Signals, States, Findings, Inspector, Changes, Everything, Lesson, Hunt]) part.start();
    Compare.start(second);
    this.controls();
    this.keys();
    Store.open(initial.mode || Object.keys(Store.modes)[0], "found");
  },

  scene() {
    Dom.id("job").textContent = Store.scene.job.title;
    Dom.id("job").title = Store.scene.job.title;
    Dom.id("carburetor").textContent = Store.scene.job.carburetor;
    document.title = `${Store.scene.job.title} \u2013 signal board`;
    Dom.id("loading").hidden = true;
    Shading.fit(Store.answer.states, Units.ambient);
    this.drawing.build(Store.scene);
    this.header();
  },

  header() {
    const modes = Object.fromEntries(
      Object.entries(Store.modes)
        .filter(([, each]) => !each.why)
        .map(([name]) => [name, name === Store.mode ? Store.scene.title : name.replaceAll("_", " ")]),
    );
    const bases = Object.fromEntries(Object.entries(Store.scene.bases).map(([name, { title }]) => [name, title]));
    const targets = Dom.select("Target", modes, Store.mode, (mode) => Store.open(mode, Store.base));
    for (const [name, { why }] of Object.entries(Store.modes)) {
      if (why)
        targets
          .querySelector("select")
          .append(Dom.h("option", { disabled: true, title: why }, `${name.replaceAll("_", " ")}: ${why}`));
    }
    Dom.put(
      Dom.id("chosen-job"),
      targets,
      Dom.select("Carburetor", bases, Store.base, (base) => {
        Store.setBase(base);
        this.header();
      }),
      Dom.select("Unit", { kpa: "kPa", psi: "psi", inhg: "inHg" }, Units.unit, (unit) => {
        Units.unit = unit;
        Store.tell("view");
      }),
      Dom.select(
        "Counted from",
        { gauge: "atmosphere", absolute: "vacuum (absolute)" },
        Units.gauge ? "gauge" : "absolute",
        (how) => {
          Units.gauge = how === "gauge";
          Store.tell("view");
        },
      ),
    );
  },

  show() {
    if (!Store.answer) return;
    this.drawing.show({ answer: Store.answer, state: Store.now });
    this.drawing.choose(Store.chosen);
    Dom.put(Dom.id("legend-body"), Shading.legend());
    Dom.id("drawing").setAttribute("aria-label", `Drawing of the carburetor, ${Store.stateTitle(Store.state)}`);
  },

  toggle(id, act) {
    const button = Dom.id(id);
    button.addEventListener("click", () => {
      const on = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(on));
      act(on);
    });
  },

  small: matchMedia("(max-width: 60rem), (max-height: 33rem)"),

  /** What is chosen once and left so takes no room where there is little. */
  fold() {
    Dom.id("settings").open = !this.small.matches && !document.documentElement.classList.contains("classroom");
  },

  controls() {
    const { view } = this.drawing;
    for (const [id, act] of Object.entries({
      "zoom-in": () => view.zoom(0.8),
      "zoom-out": () => view.zoom(1.25),
      "zoom-fit": () => this.whole(),
      help_open: () => Keys.show(),
      "help-close": () => Dom.id("help").close(),
      "trouble-close": () => this.calm(),
      print: () => window.print(),
    }))
      Dom.id(id.replace("_", "-")).addEventListener("click", act);
    this.toggle("classroom", (on) => {
      document.documentElement.classList.toggle("classroom", on);
      this.fold();
      Panels.alone((on && Panels.current === "findings") || Compare.on);
      requestAnimationFrame(() => {
        view.resized(true);
        this.show();
      });
    });
    this.toggle("beside", (on) => Panels.alone(!on));
    this.small.addEventListener("change", () => this.fold());
    this.fold();
    this.toggle("absent", (on) => {
      this.drawing.showAbsent = on;
      this.show();
    });
    this.toggle("still", (on) => {
      Flow.paused = on;
      Flow.run();
    });
    this.toggle("legend-open", (on) => Dom.id("legend").classList.toggle("open", on));
  },

  keys() {
    const { view } = this.drawing;
    const chosenSpace = () => {
      if (Store.chosen?.kind === "space")
        Signals.show(Store.chosen.name, Dom.id("panel-look").querySelector(".said-list"));
    };
    Keys.start({
      "?": () => Keys.show(),
      ",": () => Store.step(-1),
      ".": () => Store.step(1),
      p: () => States.play(),
      t: chosenSpace,
      "+": () => view.zoom(0.8),
      "-": () => view.zoom(1.25),
      0: () => this.whole(),
      c: () => Dom.id("classroom").click(),
      Escape: () => this.escape(),
    });
  },

  whole() {
    this.drawing.view.whole();
    if (Compare.on) Compare.drawing.view.whole();
  },

  escape() {
    if (Signals.held) Signals.drop();
    else if (Store.chosen) {
      Store.choose(null);
      Panels.open("findings");
    }
    if (Dom.id("panels").contains(document.activeElement)) this.drawing.current?.focus({ preventScroll: true });
  },

  /** Said once, with what to do. */
  trouble(error) {
    const words = `${error.message} ${error.todo}`;
    Dom.id("loading").hidden = true;
    Dom.id("trouble-what").textContent = error.message;
    Dom.id("trouble-do").textContent = error.todo;
    if (Dom.id("trouble").hidden) Dom.say(words);
    Dom.id("trouble").hidden = false;
  },

  calm() {
    Dom.id("trouble").hidden = true;
  },
};

App.start();
