"use strict";

/** What is chosen: what it is, what it does now, and every form it can be brought into. */
const Inspector = {
  kinds: {
    bore: "drilled passage",
    restriction: "restriction",
    clearance: "clearance",
    slot: "slot",
    seat: "seat of a needle or valve",
    check_valve: "one-way valve",
    joint: "joint or seal",
    rupture: "tear",
    line: "line",
    duct: "duct",
    port: "port",
    gasket_window: "window in a gasket",
  },

  start() {
    Store.on("chosen", () => {
      const inside = Dom.id("panels").contains(document.activeElement);
      this.show();
      if (!Store.chosen) return;
      Panels.open("look");
      Panels.alone(false);
      if (inside) Dom.id("panel-look").querySelector("h2").focus();
    });
    Store.on("state answer view", () => this.show());
  },

  show() {
    const panel = Dom.id("panel-look");
    const { chosen, scene } = Store;
    if (!scene || !Store.answer) return;
    if (
      !chosen ||
      !scene[{ space: "spaces", way: "ways", diaphragm: "diaphragms", item: "items" }[chosen.kind]][chosen.name]
    ) {
      Dom.put(
        panel,
        Dom.h("h2", { tabindex: -1 }, "Look closer"),
        Dom.h(
          "p",
          { class: "empty" },
          "Choose a space, a passage, a line or a diaphragm in the drawing: here you see what it does now, and can plug it, open it, lead it elsewhere or break it.",
        ),
        Dom.h(
          "p",
          { class: "hint" },
          "Floats, gaskets and what else has no place in the drawing are under “Everything”.",
        ),
      );
      return;
    }
    const said = Dom.h("div", { class: "said-list" });
    Dom.put(
      panel,
      Dom.h("h2", { tabindex: -1 }, Dom.capital(Store.titleOf(chosen.kind, chosen.name))),
      this[chosen.kind](chosen.name, said),
    );
  },

  facts(pairs) {
    return Dom.h(
      "dl",
      { class: "facts" },
      pairs
        .filter(([, value]) => value)
        .map(([name, value]) => Dom.h("div", {}, Dom.h("dt", {}, name), Dom.h("dd", {}, value))),
    );
  },

  pressure(space) {
    const range = Store.now.spaces[space];
    if (!range) return "not given";
    return Units.both(range).flatMap((each, index) => (index ? [Dom.h("br"), each] : [Dom.h("strong", {}, each)]));
  },

  space(name, said) {
    const space = Store.scene.spaces[name];
    const { natures, contents } = Store.now;
    const ways = Object.entries(Store.scene.ways).filter(
      ([way, each]) =>
        (each.a === name || each.b === name) &&
        ["open", "plugged"].includes(Store.answer.ways[way]?.how) &&
        !(Store.answer.ways[way].how === "plugged" && each.kind === "joint"),
    );
    return [
      Dom.h("p", { class: "kind" }, `Space in: ${Store.scene.castings[space.casting]?.title || space.casting}`),
      this.facts([
        ["Pressure now", this.pressure(name)],
        ["Why", natures?.[name]],
        ["Can hold now", Shading.said(contents?.[name])],
      ]),
      Dom.h(
        "div",
        { class: "row" },
        Dom.button("What feels it?", () => Signals.show(name, said)),
        Dom.button("Spray here", () => Signals.spray({ space: name }, said)),
      ),
      said,
      Dom.h("h3", {}, "Ways in and out"),
      ways.length === 0
        ? Dom.h("p", { class: "empty" }, "None: it is sealed.")
        : Dom.h(
            "ul",
            { class: "plain" },
            ways.map(([way, each]) =>
              Dom.h(
                "li",
                {},
                Signals.link("way", way),
                Dom.h(
                  "span",
                  { class: "hint" },
                  ` ${Store.answer.ways[way].how}, to ${Store.titleOf("space", each.a === name ? each.b : each.a)}`,
                ),
              ),
            ),
          ),
    ];
  },

  way(name, said) {
    const way = Store.scene.ways[name];
    const how = Store.answer.ways[name] || { how: "absent" };
    const shut =
      Store.now.shut &&
      (Array.isArray(Store.now.shut) ? Store.now.shut.includes(name) && "held shut" : Store.now.shut[name]);
    const flow = Store.now.flows?.[name];
    const items = [...new Set([way.item, way.inline, way.guard].filter((item) => item && Store.scene.items[item]))];
    const title = (space) => Store.titleOf("space", space);
    return [
      Dom.h(
        "p",
        { class: "kind" },
        Dom.capital(this.kinds[way.kind] || way.kind),
        ` in: ${Store.scene.castings[way.casting]?.title || way.casting}`,
      ),
      this.facts([
        ["Now", how.how === "open" ? (shut ? `open, but shut in this state (${shut})` : "open") : how.how],
        ["Moves", flow && `${way.carries === "fuel" ? "fuel" : "air"} toward ${title(flow > 0 ? way.b : way.a)}`],
        ["Passes only", how.passes && `toward ${title(how.passes)}`],
        [
          "Bore",
          way.bore_m &&
            `${way.count > 1 ? `${way.count} of ` : ""}${Units.bore(way.bore_m)}${way.measured ? ", measured" : ", typical: measure yours"}`,
        ],
        [Dom.capital(title(way.a)), this.pressure(way.a)],
        [Dom.capital(title(way.b)), this.pressure(way.b)],
      ]),
      Dom.h(
        "div",
        { class: "row" },
        Signals.link("space", way.a),
        Signals.link("space", way.b),
        how.how === "open" && Dom.button("Spray here", () => Signals.spray({ way: name }, said)),
      ),
      said,
      items.map((item) => Forms.of(item)),
    ];
  },

  diaphragm(name) {
    const diaphragm = Store.scene.diaphragms[name];
    const now = Store.now.diaphragms?.[name];
    const items = [diaphragm.part, diaphragm.tear].filter((item) => item && Store.scene.items[item]);
    return [
      Dom.h("p", { class: "kind" }, `Diaphragm: ${diaphragm.role}`),
      Dom.h("p", {}, Dom.capital(Paint.diaphragmWords(Store.scene, diaphragm, now)), "."),
      this.facts([
        ["Valve", now?.valve],
        [Dom.capital(Store.titleOf("space", diaphragm.first)), this.pressure(diaphragm.first)],
        [Dom.capital(Store.titleOf("space", diaphragm.second)), this.pressure(diaphragm.second)],
      ]),
      items.map((item) => Forms.of(item)),
    ];
  },

  item(name) {
    const item = Store.scene.items[name];
    return [
      Dom.h("p", { class: "kind" }, `In: ${Store.scene.castings[item.casting]?.title || item.casting}`),
      Forms.of(name, { heading: false }),
    ];
  },
};

/** Every form of an item, as buttons. */
const Forms = {
  of(name, { heading = true } = {}) {
    const item = Store.scene.items[name];
    const current = Store.formOf(name);
    const base = Store.formOf(name, { base: true });
    const forms = Object.entries(item.forms);
    const groups = [
      ["", forms.filter(([form, each]) => form === current || form === base || (each.offered && !each.fails))],
      [
        "Other forms it may be found in",
        forms.filter(([form, each]) => form !== current && form !== base && !each.offered && !each.fails),
      ],
      ["Break it", forms.filter(([form, each]) => form !== current && form !== base && each.fails)],
    ];
    const here = Store.isThere(name);
    return Dom.h(
      "section",
      { class: "forms" },
      heading && Dom.h("h3", {}, Dom.capital(item.title)),
      item.look && Dom.h("p", { class: "look" }, Dom.h("span", { class: "label" }, "Where to look: "), item.look),
      !item.confirmed && Dom.h("p", { class: "hint" }, "Nobody has looked: what stands here is assumed."),
      !here && Dom.h("p", { class: "hint" }, "It is only there with other parts than these."),
      here &&
        groups.map(
          ([title, some]) =>
            some.length > 0 && [
              title && Dom.h("h4", {}, title),
              Dom.h(
                "ul",
                { class: `choices${title === "Break it" ? " break" : ""}` },
                some.map(([form, each]) => this.button(name, form, each, form === current, form === base)),
              ),
            ],
        ),
    );
  },

  button(item, form, each, current, base) {
    const cost =
      each.offered && !base
        ? [Units.minutes(each.minutes ?? 0), Units.parts(each.parts ?? 0), each.irreversible && "cannot be undone"]
            .filter(Boolean)
            .join(", ")
        : "";
    return Dom.h(
      "li",
      {},
      Dom.h(
        "button",
        {
          type: "button",
          class: "form",
          "aria-pressed": String(current),
          "data-keep": `form ${item} ${form}`,
          onclick: () => Store.change(item, form),
        },
        Dom.h(
          "span",
          { class: "form-title" },
          Dom.capital(each.title),
          current && Dom.h("span", { class: "tag" }, "now"),
          base && !current && Dom.h("span", { class: "tag" }, "as it was"),
        ),
        each.how && !current && Dom.h("span", { class: "how" }, each.how),
        cost && !current && Dom.h("span", { class: `cost${each.irreversible ? " irreversible" : ""}` }, cost),
      ),
    );
  },
};
