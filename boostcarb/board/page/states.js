"use strict";

/** The drive cycle at the foot of the page, the dials, and what the state says in large letters. */
const States = {
  timer: null,
  asking: new Latest(),

  start() {
    Dom.id("before").addEventListener("click", () => Store.step(-1));
    Dom.id("after").addEventListener("click", () => Store.step(1));
    Dom.id("play").addEventListener("click", () => this.play());
    Store.on("scene", () => {
      this.list();
      this.dials();
    });
    Store.on("state answer", () => {
      this.current();
      this.title();
    });
    Store.on("veil", () => this.title());
    Store.on("view", () => {
      this.title();
      this.outputs();
    });
    Store.on("redial", () => this.dial());
  },

  list() {
    const strip = Dom.id("strip");
    Dom.put(
      strip,
      Store.states.map((name) => {
        const { title, boosted, event } = Store.scene.states[name];
        const kind = event ? "event" : boosted ? "boosted" : "";
        return Dom.h(
          "li",
          {},
          Dom.h(
            "button",
            { type: "button", class: `state ${kind}`, "data-state": name, title, onclick: () => Store.setState(name) },
            Dom.capital(title),
          ),
        );
      }),
      Dom.h(
        "li",
        {},
        Dom.h(
          "button",
          { type: "button", class: "state dialed", "data-state": "dialed", onclick: () => this.openDials() },
          "Dial your own",
        ),
      ),
    );
    strip.onkeydown = (event) => {
      const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!by) return;
      event.preventDefault();
      Store.step(by);
      strip.querySelector("[aria-current]")?.focus();
    };
  },

  current() {
    const strip = Dom.id("strip");
    const lost = strip.contains(document.activeElement) && !this.can(document.activeElement.dataset.state);
    for (const button of strip.querySelectorAll("button")) {
      const { state } = button.dataset;
      const on = state === Store.state;
      button.disabled = !this.can(state);
      button.title = state === "dialed" ? "" : this.can(state) ? Store.stateTitle(state) : "Not with these parts";
      if (on) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
      if (on) {
        strip.scrollLeft = button.parentElement.offsetLeft - strip.clientWidth / 2 + button.offsetWidth / 2;
      }
    }
    if (lost) strip.querySelector("[aria-current]")?.focus();
  },

  /** Whether a state can be gone to. */
  can(name) {
    return name === "dialed" || Store.occurs(name);
  },

  /** State, speed and mixture, to be read from the back of the room. */
  title() {
    if (!Store.answer) return;
    const { now } = Store;
    Dom.id("state-title").textContent = Dom.capital(Store.stateTitle(Store.state));
    const speed = now.rpm ? [`${now.rpm} rpm`] : [];
    const boost = now.spaces.manifold ? [`manifold ${Units.range(now.spaces.manifold)} ${Units.title}`] : [];
    Dom.id("state-facts").textContent = [...speed, ...boost].join("  \u00b7  ");
    Dom.put(
      Dom.id("mixtures"),
      Object.entries(now.mixture || {}).map(([group, mixture]) => this.mixture(group, mixture)),
    );
    Dom.say(`${Store.stateTitle(Store.state)}. ${Lesson.waits ? "" : boost.join("")}`);
  },

  mixture(group, { text, leanest, richest, target, enrichment }) {
    const known = leanest !== undefined && richest !== undefined;
    const off = known && target !== undefined && leanest > target + 0.04;
    const number = `\u03bb ${known ? Units.lambda(leanest, richest) : "not known"}`;
    const wanted = target === undefined ? "" : `wanted ${Units.number(target, 2)}`;
    const said = [enrichment && `enrichment ${enrichment}`, text].filter(Boolean).join("; ");
    return Dom.h(
      "li",
      { class: off ? "off" : "", title: said },
      Dom.h("span", { class: "group" }, group),
      Dom.h("strong", { class: known ? "" : "unknown" }, number),
      Dom.h("span", { class: "wanted" }, wanted, off && " \u2013 lean"),
      Dom.h("span", { class: "said" }, said),
    );
  },

  play() {
    const button = Dom.id("play");
    if (this.timer) clearInterval(this.timer);
    this.timer = this.timer ? null : setInterval(() => Store.step(1), 2600);
    button.textContent = this.timer ? "Stop" : "Play";
    button.setAttribute("aria-pressed", String(Boolean(this.timer)));
    if (this.timer) Store.step(1);
  },

  dials() {
    const limits = Store.scene.dial || {};
    const box = Dom.id("dials");
    box.hidden = true;
    if (!limits.rpm) {
      Dom.put(box);
      return;
    }
    const at = limits.at || {};
    const [least, most] = limits.boost_pa || [0, 0];
    const made = [
      most > least &&
        this.slider(
          "boost_pa",
          "Boost",
          least,
          most,
          Math.max(500, Math.round((most - least) / 60)),
          at.boost_pa ?? least,
        ),
      this.slider("throttle", "Throttle", 0, 1, 0.02, at.throttle ?? 1),
      this.slider("rpm", "Speed", limits.rpm[0], limits.rpm[1], 50, at.rpm ?? limits.rpm[0]),
    ];
    Dom.put(box, made.filter(Boolean));
    this.outputs();
  },

  slider(name, title, min, max, step, value) {
    const input = Dom.h("input", {
      type: "range",
      id: `dial-${name}`,
      min,
      max,
      step,
      value,
      oninput: () => this.dial(),
    });
    return Dom.h(
      "div",
      { class: "dial" },
      Dom.h("label", { for: `dial-${name}` }, title),
      input,
      Dom.h("output", { for: `dial-${name}`, id: `dial-${name}-said` }),
    );
  },

  values() {
    const value = (name) => Number(Dom.id(`dial-${name}`)?.value || 0);
    return { boost_pa: value("boost_pa"), throttle: value("throttle"), rpm: value("rpm") };
  },

  outputs() {
    if (!Dom.id("dial-rpm")) return;
    const { boost_pa: boost, throttle, rpm } = this.values();
    const { pa, title, small } = Units.known[Units.unit];
    const say = (name, text) => {
      const output = Dom.id(`dial-${name}-said`);
      if (output) output.textContent = text;
      Dom.id(`dial-${name}`)?.setAttribute("aria-valuetext", text);
    };
    say("boost_pa", `${Units.number(boost / pa, small)} ${title}`);
    say("throttle", `${Math.round(throttle * 100)} %`);
    say("rpm", `${rpm} rpm`);
  },

  openDials() {
    Dom.id("dials").hidden = false;
    this.dial();
  },

  /** Asks while the dials move; only the newest answer is shown. */
  dial() {
    this.outputs();
    const [asked, dialed, from] = [Store.asked, this.values(), Store.state];
    const late = () => !Store.stands(asked) || ![from, "dialed"].includes(Store.state);
    this.asking.run(
      () => Store.source.dial(asked, dialed),
      (result) => {
        if (late()) return;
        if (result.refused) {
          Store.tell("trouble", new NoAnswer(result.refused.what, result.refused.why));
          return;
        }
        Store.tell("calm");
        Store.dialed = result.state;
        Store.state = "dialed";
        Store.tell("state");
      },
      (error) => late() || Store.trouble(error),
    );
  },
};
