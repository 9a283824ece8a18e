"use strict";

/** Questions about this carburetor: predict first, then look. */
const Lesson = {
  lesson: null,
  at: 0,
  given: {},
  seed: 1,
  count: 8,
  busy: false,

  start() {
    Store.on("scene", () => {
      this.lesson = null;
      this.show();
    });
  },

  number(label, name, min, max) {
    return Dom.h(
      "label",
      { class: "field" },
      Dom.h("span", {}, label),
      Dom.h("input", {
        type: "number",
        min,
        max,
        value: this[name],
        "data-keep": label,
        onchange: (event) => {
          this[name] = Math.min(max, Math.max(min, Math.round(Number(event.target.value)) || min));
        },
      }),
    );
  },

  /** Whether a question waits for its answer: then the board does not give it away. */
  get waits() {
    const question = this.lesson?.questions[this.at];
    return Boolean(question) && this.given[question.id] === undefined && Panels.current === "lesson";
  },

  veil() {
    const { classList } = Dom.id("stage");
    if (classList.contains("predicting") === this.waits) return;
    classList.toggle("predicting", this.waits);
    Store.tell("veil");
  },

  show() {
    this.veil();
    const { lesson } = this;
    const right = lesson ? lesson.questions.filter(({ id, right: answer }) => this.given[id] === answer).length : 0;
    const answered = Object.keys(this.given).length;
    Dom.put(
      Dom.id("panel-lesson"),
      Dom.h("h2", { tabindex: -1 }, "Lesson"),
      Dom.h(
        "p",
        { class: "hint" },
        "Questions about the carburetor on the board. Predict first; then see what the model says.",
      ),
      Dom.h("div", { class: "row" }, this.number("Seed", "seed", 0, 999999), this.number("Questions", "count", 1, 30)),
      Dom.h(
        "div",
        { class: "row apart" },
        Dom.button(this.busy ? "One moment\u2026" : lesson ? "New questions" : "Begin", () => this.begin(), {
          class: "main",
          off: this.busy,
          "data-keep": "begin",
        }),
        lesson && Dom.button("Print all with answers", () => this.print()),
      ),
      lesson &&
        Dom.h(
          "p",
          { class: "score" },
          `Question ${this.at + 1} of ${lesson.questions.length}.`,
          answered > 0 && ` Right: ${right} of ${answered}.`,
        ),
      lesson && this.question(lesson.questions[this.at]),
    );
  },

  async begin() {
    this.busy = true;
    this.show();
    try {
      const lesson = await Store.source.lesson(Store.asked, this.seed, this.count);
      Object.assign(this, { lesson: lesson.questions.length ? lesson : null, at: 0, given: {} });
      if (this.lesson) this.pose();
    } catch (error) {
      Store.trouble(error);
    }
    this.busy = false;
    this.show();
  },

  /** Puts a question on the board: what it changes only once it is answered, as that would give it away. */
  async pose() {
    const question = this.lesson.questions[this.at];
    const given = this.given[question.id];
    const changes = given === undefined ? {} : question.changes || {};
    if (JSON.stringify(changes) !== JSON.stringify(Store.changes)) await Store.setChanges({ ...changes });
    if (question !== this.lesson?.questions[this.at] || Panels.current !== "lesson") return;
    if (question.state) Store.setState(question.state);
    if (given === undefined) Signals.hold(question.about || {}, "What the question is about");
    else Signals.hold(question.shows || question.about || {}, given === question.right ? "Right." : "Not so.");
  },

  question(question) {
    const given = this.given[question.id];
    const done = given !== undefined;
    return Dom.h(
      "section",
      { class: "question" },
      Dom.h("h3", {}, question.question),
      question.state && Dom.h("p", { class: "hint" }, `State: ${Store.stateTitle(question.state)}.`),
      Dom.h(
        "ul",
        { class: "choices" },
        question.choices.map(({ id, text }) => {
          const kind = done ? (id === question.right ? " right" : id === given ? " wrong" : "") : "";
          return Dom.h(
            "li",
            {},
            Dom.h(
              "button",
              {
                type: "button",
                class: `form${kind}`,
                "aria-disabled": done && "true",
                "aria-pressed": String(given === id),
                "data-keep": `choice ${id}`,
                onclick: () => done || this.choose(question, id),
              },
              text,
              done && id === question.right && Dom.h("span", { class: "tag" }, "right"),
              done && id === given && id !== question.right && Dom.h("span", { class: "tag" }, "your answer"),
            ),
          );
        }),
      ),
      done && Dom.h("p", { class: "because" }, question.because),
      Dom.h(
        "div",
        { class: "row" },
        Dom.button("Back", () => this.go(-1), { off: this.at === 0 }),
        Dom.button("Next", () => this.go(1), { off: this.at + 1 >= this.lesson.questions.length }),
      ),
    );
  },

  choose(question, id) {
    this.given[question.id] = id;
    this.pose();
    this.show();
    Dom.say(`${id === question.right ? "Right." : "Not so."} ${question.because}`);
  },

  go(by) {
    this.at += by;
    this.pose();
    this.show();
  },

  /** All questions, then all answers, on paper. */
  print() {
    const { questions } = this.lesson;
    const letter = (index) => String.fromCharCode(97 + index);
    Dom.put(
      Dom.id("paper"),
      Dom.h("h1", {}, Store.scene.job.title),
      Dom.h("p", {}, `Questions, ${Store.scene.title}, seed ${this.lesson.seed ?? this.seed}`),
      Dom.h(
        "ol",
        {},
        questions.map(({ question, state, choices }) =>
          Dom.h(
            "li",
            {},
            Dom.h("p", {}, question),
            state && Dom.h("p", {}, `State: ${Store.stateTitle(state)}`),
            Dom.h(
              "ul",
              {},
              choices.map(({ text }, index) => Dom.h("li", {}, `${letter(index)}) ${text}`)),
            ),
          ),
        ),
      ),
      Dom.h("h2", { class: "new-page" }, "Answers"),
      Dom.h(
        "ol",
        {},
        questions.map(({ choices, right, because }) => {
          const index = choices.findIndex(({ id }) => id === right);
          return Dom.h(
            "li",
            {},
            Dom.h("strong", {}, `${letter(index)}) ${choices[index]?.text}`),
            Dom.h("p", {}, because),
          );
        }),
      ),
    );
    document.body.classList.add("print-lesson");
    window.addEventListener("afterprint", () => document.body.classList.remove("print-lesson"), { once: true });
    window.print();
  },
};
