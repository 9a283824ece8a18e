"use strict";

/** A hidden fault: test, rule out, accuse. */
const Hunt = {
  hunt: null,
  done: [],
  accused: null,
  seed: 1,
  busy: false,

  start() {
    Store.on("scene", () => {
      this.hunt = null;
      this.show();
    });
  },

  show() {
    const { hunt } = this;
    Dom.put(
      Dom.id("panel-hunt"),
      Dom.h("h2", { tabindex: -1 }, "Fault hunt"),
      Dom.h("p", { class: "hint" }, "One thing is broken. Test as little as you must, then say which."),
      Dom.h(
        "div",
        { class: "row" },
        Lesson.number.call(this, "Seed", "seed", 0, 999999),
        Dom.button(this.busy ? "One moment\u2026" : hunt ? "Another one" : "Begin", () => this.begin(), {
          class: "main",
          off: this.busy,
          "data-keep": "begin",
        }),
      ),
      hunt && this.story(hunt),
    );
  },

  async begin() {
    this.busy = true;
    if (this.hunt) this.seed += 1;
    this.show();
    try {
      Object.assign(this, { hunt: await Store.source.hunt(Store.asked, this.seed), done: [], accused: null });
    } catch (error) {
      Store.trouble(error);
    }
    this.busy = false;
    this.show();
  },

  cleared() {
    return new Set(this.done.flatMap((id) => this.hunt.tests.find((each) => each.id === id).clears || []));
  },

  story(hunt) {
    const cleared = this.cleared();
    const spent = hunt.tests
      .filter(({ id }) => this.done.includes(id))
      .reduce((sum, { minutes }) => sum + (minutes || 0), 0);
    const over = this.accused !== null;
    return [
      Dom.h("p", { class: "story" }, hunt.story),
      Dom.h(
        "p",
        { class: "score" },
        `${Units.minutes(spent)} spent. ${hunt.suspects.length - cleared.size} of ${hunt.suspects.length} suspects left.`,
      ),
      over && this.revealed(hunt, spent),
      Dom.h("h3", {}, "Tests"),
      Dom.h(
        "ul",
        { class: "tests" },
        hunt.tests.map((test) => this.test(test, over)),
      ),
      Dom.h("h3", {}, "Suspects"),
      Dom.h(
        "ul",
        { class: "plain" },
        hunt.suspects.map(({ id, title }) =>
          Dom.h(
            "li",
            { class: cleared.has(id) ? "cleared" : "" },
            Dom.h("span", {}, title),
            cleared.has(id)
              ? Dom.h("span", { class: "tag" }, "ruled out")
              : !over &&
                  Dom.button("Accuse", () => this.accuse(id), {
                    "aria-label": `Accuse: ${title}`,
                    "data-keep": `accuse ${id}`,
                  }),
          ),
        ),
      ),
      !over && Dom.button("Give up and show it", () => this.accuse("")),
    ];
  },

  test(test, over) {
    const done = this.done.includes(test.id);
    return Dom.h(
      "li",
      { class: done ? "done" : "" },
      Dom.h(
        "div",
        done ? { tabindex: -1, "data-keep": `test ${test.id}` } : {},
        Dom.h("strong", {}, test.title),
        Dom.h("span", { class: "hint" }, ` ${Units.minutes(test.minutes || 0)}`),
        test.how && Dom.h("p", { class: "hint" }, test.how),
        done &&
          Inspector.facts([
            ["A sound one", test.must],
            ["This one", Dom.h("strong", {}, test.shows)],
          ]),
      ),
      !done &&
        !over &&
        Dom.button(
          "Do it",
          () => {
            this.done.push(test.id);
            this.show();
            Dom.say(`${test.shows}`);
          },
          { "aria-label": `Do it: ${test.title}`, "data-keep": `test ${test.id}` },
        ),
    );
  },

  accuse(id) {
    this.accused = id;
    this.show();
    Dom.id("panel-hunt").querySelector(".because")?.focus();
  },

  revealed({ suspects, hidden, because }, spent) {
    const title = suspects.find(({ id }) => id === hidden)?.title || hidden;
    const right = this.accused === hidden;
    const words = `${right ? `Found, in ${Units.minutes(spent)}` : "It was another one"}: ${title}.`;
    Dom.say(words);
    return Dom.h(
      "div",
      { class: `because ${right ? "right" : ""}`, tabindex: -1 },
      Dom.h("p", {}, Dom.h("strong", {}, words)),
      because && Dom.h("p", {}, because),
    );
  },
};
