"use strict";

/** What feels what: lit on the drawing, and said in words. */
const Signals = {
  traces: new Map(),
  held: null,
  /** The trace that is held lit: of which space, and the trace itself. */
  shown: null,
  timer: null,

  start() {
    Store.on("answer scene", () => {
      this.traces.clear();
      if (this.held) this.drop();
    });
    Store.on("state", () => this.shown && this.light(this.shown));
    Dom.id("unlight").addEventListener("click", () => this.drop());
  },

  /** Lights places until they are dropped. */
  hold(places, words) {
    clearTimeout(this.timer);
    this.shown = null;
    this.held = places;
    Store.mark(places);
    Dom.id("lit").hidden = false;
    Dom.id("lit-words").textContent = words;
    Dom.say(words);
  },

  drop() {
    this.held = this.shown = null;
    Dom.id("lit").hidden = true;
    Store.mark();
  },

  /** While the pointer or the focus rests on something. */
  hover(kind, name) {
    clearTimeout(this.timer);
    if (this.held) return;
    if (!kind) {
      this.timer = setTimeout(() => Store.mark(), 120);
      return;
    }
    this.timer = setTimeout(async () => {
      const places = await this.around(kind, name);
      if (places && !this.held) Store.mark(places);
    }, 260);
  },

  async around(kind, name) {
    const { scene } = Store;
    if (kind === "way") return { ways: [name], spaces: [scene.ways[name].a, scene.ways[name].b] };
    if (kind === "diaphragm")
      return { diaphragms: [name], spaces: [scene.diaphragms[name].first, scene.diaphragms[name].second] };
    if (kind !== "space") return null;
    try {
      return this.places(name, await this.trace(name));
    } catch (error) {
      if (!(error instanceof NoAnswer)) throw error;
      if (error.lost) Store.trouble(error);
      return { spaces: [name] };
    }
  },

  async trace(space) {
    if (!this.traces.has(space)) {
      const asking = Store.source.trace(Store.asked, space);
      this.traces.set(space, asking);
      asking.catch(() => this.traces.delete(space));
    }
    return this.traces.get(space);
  },

  /** Whether it is felt in the state shown; one that is dialed is not among those that are named. */
  feltNow({ states }) {
    return !states || states.includes(Store.state);
  },

  places(space, { reaches }) {
    const now = Object.entries(reaches || {}).filter(([, each]) => this.feltNow(each));
    return {
      spaces: [space, ...now.map(([name]) => name), ...now.flatMap(([, each]) => each.spaces)],
      ways: now.flatMap(([, each]) => each.ways),
    };
  },

  /** In which states, where it is not in all. */
  when({ states }) {
    if (!states) return "";
    const titles = states.map((name) => Store.stateTitle(name));
    const named = titles.length > 3 ? `${titles[0]} and ${titles.length - 1} other states` : titles.join(", ");
    return `; only in: ${named}`;
  },

  /** Everything that feels a space, held lit, with the list in words. */
  async show(space, list) {
    try {
      const trace = await this.trace(space);
      const reached = Object.entries(trace.reaches || {}).filter(([name]) => name !== space);
      this.light({ space, trace });
      const how = { both: "both ways", into: "feels it", out_of: "is felt by it" };
      Dom.put(
        list,
        reached.length === 0 && Dom.h("p", {}, "Nothing else feels it."),
        Dom.h(
          "ul",
          { class: "plain" },
          reached.map(([name, each]) =>
            Dom.h(
              "li",
              {},
              this.link("space", name),
              Dom.h(
                "span",
                { class: "hint" },
                ` ${how[each.how] || each.how}, by ${each.ways.map((way) => Store.titleOf("way", way)).join(", then ")}${this.when(each)}`,
              ),
            ),
          ),
        ),
      );
    } catch (error) {
      Store.trouble(error);
    }
  },

  /** Lights what feels a space in the state shown, and again in every state that is stepped to. */
  light(shown) {
    const places = this.places(shown.space, shown.trace);
    const felt = Object.values(shown.trace.reaches || {}).filter((each) => this.feltNow(each)).length;
    this.hold(places, `${Dom.capital(Store.titleOf("space", shown.space))} and ${felt} spaces that feel it`);
    this.shown = shown;
  },

  /** Where cleaner comes out that is sprayed in here. */
  async spray(place, list) {
    try {
      const spray = await Store.source.spray(Store.asked, place);
      const { exits = [], inside = [], ways = [] } = spray;
      const title = place.space ? Store.titleOf("space", place.space) : Store.titleOf("way", place.way);
      this.hold(
        {
          spaces: [...inside, ...exits.map((each) => each.space), place.space].filter(Boolean),
          ways: [...ways, place.way].filter(Boolean),
        },
        `Sprayed into ${title}: ${exits.length === 0 ? "comes out nowhere" : `comes out at ${exits.length} places`}`,
      );
      Dom.put(
        list,
        exits.length === 0
          ? Dom.h("p", {}, spray.blocked ? "It is shut: nothing gets in." : "It comes out nowhere.")
          : [
              Dom.h("p", {}, "It comes out here:"),
              Dom.h(
                "ul",
                { class: "plain" },
                exits.map((each) => Dom.h("li", {}, each.title)),
              ),
            ],
      );
    } catch (error) {
      Store.trouble(error);
    }
  },

  link(kind, name) {
    return Dom.button(Store.titleOf(kind, name), () => Store.choose(kind, name), {
      class: "link",
      "data-keep": `${kind} ${name}`,
    });
  },
};
