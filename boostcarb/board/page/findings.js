"use strict";

/** What is wrong as things stand, what is new with the changes and what they rid it of. */
const Findings = {
  rank: { stop: 0, fix: 1, advise: 2 },
  words: { stop: "STOP", fix: "FIX", advise: "ADVISE" },
  hereOnly: false,
  /** Keys of the findings that are unfolded. */
  opened: new Set(),

  start() {
    Store.on("answer view", () => this.show());
    Store.on("state", () => this.hereOnly && this.show());
  },

  verdict({ stop = 0, fix = 0, advise = 0 } = {}) {
    const all = Object.entries({ stop, fix, advise });
    return Dom.h(
      "p",
      { class: "verdict" },
      stop + fix === 0 && Dom.h("strong", { class: "good" }, "Nothing blocks. "),
      all.map(([severity, count]) =>
        Dom.h("span", { class: `count ${severity}${count ? "" : " none"}` }, `${count} ${this.words[severity]}`),
      ),
    );
  },

  sorted(findings) {
    return Object.entries(findings || {}).sort(
      ([, a], [, b]) =>
        this.rank[a.severity] - this.rank[b.severity] || Number(Boolean(b.new)) - Number(Boolean(a.new)),
    );
  },

  show() {
    const { answer } = Store;
    const all = this.sorted(answer.findings);
    const shown = this.hereOnly
      ? all.filter(([, each]) => !each.states.length || each.states.includes(Store.state))
      : all;
    const gone = this.sorted(answer.gone);
    const fresh = all.filter(([, each]) => each.new).length;
    const here = Dom.h(
      "label",
      { class: "check" },
      Dom.h("input", {
        type: "checkbox",
        checked: this.hereOnly,
        "data-keep": "here",
        onchange: (event) => {
          this.hereOnly = event.target.checked;
          this.show();
        },
      }),
      "only what goes for this state",
    );
    if (Object.keys(Store.changes).length)
      Dom.say(`With your changes: ${fresh} findings are new, ${gone.length} are gone.`);
    Dom.put(
      Dom.id("verdict"),
      this.verdict(answer.verdict),
      Object.keys(Store.changes).length > 0 &&
        Dom.h("p", { class: "hint" }, `With your changes: ${fresh} new, ${gone.length} gone.`),
    );
    Dom.put(
      Dom.id("panel-findings"),
      Dom.h("h2", { tabindex: -1 }, "Findings"),
      here,
      shown.length === 0 &&
        Dom.h(
          "p",
          { class: "empty" },
          this.hereOnly
            ? "Nothing is wrong in this state."
            : "Nothing is wrong. That is no promise: look, measure, drive off rich.",
        ),
      Dom.h(
        "ul",
        { class: "findings" },
        shown.map(([key, each]) => this.one(key, each)),
      ),
      gone.length > 0 && Dom.h("h3", {}, `Gone with your changes (${gone.length})`),
      gone.length > 0 &&
        Dom.h(
          "ul",
          { class: "findings gone" },
          gone.map(([key, each]) => this.one(key, each, true)),
        ),
    );
  },

  one(key, finding, gone = false) {
    const { severity, title, place, statement, why, remedy, states, endangers } = finding;
    const titles = (states || []).map((name) => Store.stateTitle(name));
    const details = Dom.h(
      "details",
      { open: this.opened.has(key), ontoggle: (event) => this.toggled(event.target.open, key, finding, gone) },
      Dom.h(
        "summary",
        {
          "data-keep": `finding ${key}`,
          // At once: the event of the details comes later.
          onclick: () => this.opened.has(key) || this.toggled(true, key, finding, gone),
        },
        Dom.h("span", { class: `badge ${severity}` }, this.words[severity]),
        finding.new && Dom.h("span", { class: "badge new" }, "NEW"),
        gone && Dom.h("span", { class: "badge was" }, "GONE"),
        Dom.h("span", { class: "finding-title" }, title),
        Dom.h("span", { class: "place" }, `${place}: ${statement}`),
      ),
      Dom.h("p", { class: "remedy" }, remedy),
      Dom.h("p", {}, why),
      finding.shown?.length > 0 &&
        Dom.h(
          "ul",
          { class: "shown" },
          finding.shown.map((each) => Dom.h("li", {}, each)),
        ),
      titles.length > 0 && Dom.h("p", { class: "hint" }, `In: ${titles.join(", ")}.`),
      endangers?.length > 0 && Dom.h("p", { class: "hint" }, `Endangers: ${endangers.join(", ")}.`),
      !gone &&
        Dom.h(
          "div",
          { class: "row" },
          Dom.button("Show on the drawing", () => this.light(finding), { "data-keep": `show ${key}` }),
          (finding.items || [])
            .filter((item) => Store.scene.items[item])
            .slice(0, 2)
            .map((item) =>
              Dom.button(`Change ${Store.titleOf("item", item)}`, () => Store.choose("item", item), {
                "data-keep": `item ${key} ${item}`,
              }),
            ),
        ),
    );
    return Dom.h("li", {}, details);
  },

  toggled(open, key, finding, gone) {
    const anew = open && !this.opened.has(key);
    if (open) this.opened.add(key);
    else this.opened.delete(key);
    if (anew && !gone) this.light(finding);
  },

  light(finding) {
    if (finding.state) Store.setState(finding.state);
    Signals.hold({ spaces: finding.spaces, ways: finding.ways }, `${finding.title}, ${finding.place}`);
  },
};
