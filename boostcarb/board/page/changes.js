"use strict";

/** The changes made here: undone, saved, and held against the cheapest repair. */
const Changes = {
  repair: null,
  asking: false,

  start() {
    Store.on("scene answer changes", () => {
      this.repair = null;
      this.show();
    });
    for (const [id, act] of [
      ["undo", () => Store.undo()],
      ["redo", () => Store.redo()],
    ])
      Dom.id(id).addEventListener("click", act);
  },

  show() {
    if (!Store.scene) return;
    const made = Object.entries(Store.changes);
    Dom.id("undo").setAttribute("aria-disabled", String(!Store.past.length));
    Dom.id("redo").setAttribute("aria-disabled", String(!Store.future.length));
    Dom.id("tab-changes").textContent = made.length ? `Changes (${made.length})` : "Changes";
    Dom.put(
      Dom.id("panel-changes"),
      Dom.h("h2", { tabindex: -1 }, "Changes"),
      Dom.h("p", { class: "hint" }, `On top of the carburetor ${Store.scene.bases[Store.base].title}.`),
      made.length === 0
        ? Dom.h("p", { class: "empty" }, "None yet. Choose something in the drawing and give it another form.")
        : Dom.h(
            "ul",
            { class: "made" },
            made.map(([item, form]) => this.one(item, form)),
          ),
      Dom.h(
        "div",
        { class: "row" },
        Dom.button("Undo", () => Store.undo(), { off: !Store.past.length }),
        Dom.button("Redo", () => Store.redo(), { off: !Store.future.length }),
        Dom.button("Reset", () => Store.setChanges({}), { off: !made.length }),
        Dom.button("Save as a proposed plan", () => this.save(), { off: !Store.source.served || !made.length }),
      ),
      !Store.source.served &&
        Dom.h(
          "p",
          { class: "hint" },
          "This file holds one change at a time and saves nothing; “boostcarb board JOB” does both.",
        ),
      Dom.h("h3", {}, "The cheapest repair"),
      Dom.button(this.asking ? "Looking for it\u2026" : "Show me the cheapest repair", () => this.ask(), {
        class: "main",
        off: this.asking,
        "data-keep": "repair",
      }),
      this.repair && this.repaired(this.repair),
    );
  },

  one(item, form) {
    const title = Store.titleOf("item", item);
    const { forms } = Store.scene.items[item];
    return Dom.h(
      "li",
      {},
      Dom.h(
        "div",
        {},
        Signals.link("item", item),
        Dom.h(
          "p",
          { class: "hint" },
          `${forms[Store.formOf(item, { base: true })]?.title} \u2192 `,
          Dom.h("strong", {}, forms[form]?.title || form),
        ),
      ),
      Dom.button("Remove", () => Store.change(item, Store.formOf(item, { base: true })), {
        "aria-label": `Remove: ${title}`,
        "data-keep": `remove ${item}`,
      }),
    );
  },

  async ask() {
    this.asking = true;
    this.show();
    let found = null;
    try {
      found = await Store.source.repair(Store.asked);
    } catch (error) {
      Store.trouble(error);
    }
    this.asking = false;
    this.repair = found;
    this.show();
    if (found)
      Dom.say(found.possible ? `The cheapest repair has ${found.changes.length} changes.` : "There is no repair.");
  },

  titleOf(each) {
    return each.title || Store.titleOf("item", typeof each === "string" ? each : each.item);
  },

  repaired(repair) {
    if (!repair.possible)
      return Dom.h("p", { class: "empty" }, "There is no set of changes after which nothing blocks.");
    const own = (item, form) => Store.formOf(item) === form;
    const same = repair.changes.filter(({ item, to }) => Object.hasOwn(Store.changes, item) && own(item, to));
    const missing = repair.changes.filter(({ item, to }) => Store.scene.items[item] && !own(item, to));
    const list = (title, some) =>
      some?.length > 0 && [
        Dom.h("h4", {}, `${title} (${some.length})`),
        Dom.h(
          "ul",
          { class: "plain" },
          some.map((each) => Dom.h("li", {}, this.titleOf(each))),
        ),
      ];
    return Dom.h(
      "div",
      { class: "repair" },
      Dom.h(
        "p",
        { class: "verdict" },
        repair.changes.length === 0
          ? "Nothing needs to be done."
          : `${repair.changes.length} changes, ${Units.minutes(repair.minutes)}, ${Units.parts(repair.parts)}.`,
      ),
      Dom.h(
        "ol",
        { class: "steps" },
        repair.changes.map((each) =>
          Dom.h(
            "li",
            { class: own(each.item, each.to) ? "done" : "" },
            Store.scene.items[each.item] ? Signals.link("item", each.item) : each.title,
            " \u2192 ",
            Dom.h("strong", {}, each.to_title),
            own(each.item, each.to) && Dom.h("span", { class: "tag" }, "on the board"),
            each.why?.length > 0 && Dom.h("p", { class: "hint" }, `Else: ${each.why.join("; ")}.`),
          ),
        ),
      ),
      missing.length > 0 &&
        Dom.button("Make these changes", () => this.apply(repair), { class: "main", off: !Store.source.served }),
      Object.keys(Store.changes).length > 0 && [
        list("Yours are the same", same),
        list("Yours lack", missing),
        list("Yours that do nothing needed", repair.needless),
        list("First mend", repair.mend),
      ],
    );
  },

  apply({ changes, mend = [] }) {
    const all = { ...Store.changes };
    const put = (item, form) => {
      if (!Store.scene.items[item]) return;
      if (Store.formOf(item, { base: true }) === form) delete all[item];
      else all[item] = form;
    };
    for (const { item, to } of changes) put(item, to);
    for (const { item } of mend) put(item, Store.scene.items[item]?.found);
    Store.setChanges(all);
  },

  async save() {
    try {
      const { name, text } = await Store.source.job(Store.asked);
      const url = URL.createObjectURL(new Blob([text], { type: "application/yaml" }));
      const link = Dom.h("a", { href: url, download: name });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(url), 10000);
      Dom.say(`Saved as ${name}.`);
    } catch (error) {
      Store.trouble(error);
    }
  },
};

/** All items by casting, to be searched. */
const Everything = {
  wanted: "",

  start() {
    Store.on("scene answer", () => this.show());
    Dom.id("panel-all").addEventListener("input", (event) => {
      if (event.target.type !== "search") return;
      this.wanted = event.target.value;
      this.list();
    });
  },

  show() {
    if (!Store.scene) return;
    Dom.put(
      Dom.id("panel-all"),
      Dom.h("h2", { tabindex: -1 }, "Everything that can be changed"),
      Dom.h(
        "label",
        { class: "field wide" },
        Dom.h("span", {}, "Search"),
        Dom.h("input", { type: "search", value: this.wanted, "data-keep": "search", autocomplete: "off" }),
      ),
      Dom.h("div", { id: "all-list" }),
    );
    this.list();
  },

  list() {
    const words = this.wanted.toLowerCase().split(/\s+/).filter(Boolean);
    const castings = new Map();
    for (const [name, item] of Object.entries(Store.scene.items)) {
      const where = Store.scene.castings[item.casting]?.title || item.casting;
      const text = `${item.title} ${where} ${item.kind}`.toLowerCase();
      if (!words.every((word) => text.includes(word)) || !Store.isThere(name)) continue;
      if (!castings.has(where)) castings.set(where, []);
      castings.get(where).push([name, item]);
    }
    Dom.put(
      Dom.id("all-list"),
      castings.size === 0 && Dom.h("p", { class: "empty" }, "Nothing has these words in its name."),
      [...castings].map(([title, items]) =>
        Dom.h(
          "details",
          { open: words.length > 0 },
          Dom.h("summary", {}, `${Dom.capital(title)} (${items.length})`),
          Dom.h(
            "ul",
            { class: "plain" },
            items.map(([name, item]) =>
              Dom.h(
                "li",
                {},
                Signals.link("item", name),
                Dom.h("span", { class: "hint" }, ` ${item.forms[Store.formOf(name)]?.title || ""}`),
                Object.hasOwn(Store.changes, name) && Dom.h("span", { class: "tag" }, "changed"),
              ),
            ),
          ),
        ),
      ),
    );
  },
};
