"use strict";

/** Why there is no answer, and what to do about it. */
class NoAnswer extends Error {
  constructor(what, todo, lost = false) {
    super(what);
    this.todo = todo;
    this.lost = lost;
  }
}

/**
 * @typedef {{mode: string, base: string, changes: Object<string, string>}} Asked what stands on the board
 */

/** Answers from the server that this page came from. */
class ServedSource {
  constructor(token) {
    this.token = token;
    this.served = true;
    this.tab = Math.random().toString(36).slice(2);
  }

  async ask(path, body) {
    let reply;
    let record;
    try {
      reply = await fetch(path, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Board-Token": this.token, "X-Board-Tab": this.tab },
        body: JSON.stringify(body),
      });
      record = await reply.json();
    } catch {
      throw new NoAnswer(
        "The program behind this board does not answer.",
        "Start it again with “boostcarb board JOB” in the terminal and open the address it prints.",
        true,
      );
    }
    if (!reply.ok) throw new NoAnswer(record.error || "No answer.", record.do || "Try again.");
    return record;
  }

  scene(mode) {
    return this.ask("/scene", { mode });
  }
  answer(asked) {
    return this.ask("/answer", asked);
  }
  dial(asked, dialed) {
    return this.ask("/dial", { ...asked, ...dialed });
  }
  trace(asked, space) {
    return this.ask("/trace", { ...asked, space });
  }
  spray(asked, place) {
    return this.ask("/spray", { ...asked, ...place });
  }
  repair(asked) {
    return this.ask("/repair", asked);
  }
  job(asked) {
    return this.ask("/job", asked);
  }
  lesson({ mode, base }, seed, count) {
    return this.ask("/lesson", { mode, base, seed, count });
  }
  hunt({ mode, base }, seed) {
    return this.ask("/hunt", { mode, base, seed });
  }
}

/** Answers that were worked out beforehand and lie in this file, pressed together (RFC 1950) and as text (RFC 4648). */
class PackedSource {
  /** @param {string|Object} pack as it lies in the file, or opened already */
  constructor(pack) {
    this.pack = pack;
    this.served = false;
  }

  /** Opens the pack before the first answer is taken from it. */
  async opened() {
    if (typeof this.pack === "string") {
      const bytes = Uint8Array.from(atob(this.pack), (letter) => letter.charCodeAt(0));
      const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
      this.pack = JSON.parse(await new Response(plain).text());
    }
    return this.pack;
  }

  /** RFC 7396: objects merge, null deletes, everything else takes the place of what was. */
  static merged(target, patch) {
    if (patch === null || typeof patch !== "object" || Array.isArray(patch)) return patch;
    const whole = target !== null && typeof target === "object" && !Array.isArray(target) ? { ...target } : {};
    for (const [name, value] of Object.entries(patch)) {
      if (value === null) delete whole[name];
      else whole[name] = PackedSource.merged(Object.hasOwn(whole, name) ? whole[name] : undefined, value);
    }
    return whole;
  }

  static refuse(what) {
    throw new NoAnswer(what, "Run “boostcarb board JOB” in a terminal: there, everything can be asked.");
  }

  /** A part of the pack, or a kind word. */
  find(part, keys, what) {
    let here = this.pack[part];
    for (const key of keys) here = here && Object.hasOwn(here, key) ? here[key] : undefined;
    if (here === undefined) PackedSource.refuse(what);
    if (here.refused) throw new NoAnswer(here.refused.what, here.refused.why);
    return here;
  }

  unchanged({ mode, base, changes }, what) {
    if (Object.keys(changes).length)
      PackedSource.refuse(`This file holds ${what} for the carburetor without changes only.`);
    return [mode, base];
  }

  async scene(mode) {
    await this.opened();
    return { scene: this.find("scenes", [mode], "This target is not in this file."), bases: this.pack.answers[mode] };
  }

  async answer({ mode, base, changes }) {
    await this.opened();
    const whole = this.find("answers", [mode, base], "This is not in this file.");
    const made = Object.entries(changes);
    if (made.length === 0) return whole;
    if (made.length > 1) PackedSource.refuse("This file holds one change at a time.");
    const patch = (this.pack.changes[mode]?.[base] || {})[made[0].join("=")];
    if (patch === undefined) PackedSource.refuse("This change is not in this file.");
    return PackedSource.merged(whole, patch);
  }

  async dial(asked, dialed) {
    await this.opened();
    const [mode, base] = this.unchanged(asked, "the dials");
    const grid = this.find("dials", [mode, base], "The dials are not in this file.");
    const nearest = (axis, value) =>
      axis.reduce((best, each, place) => (Math.abs(each - value) < Math.abs(axis[best] - value) ? place : best), 0);
    const at = ["boost_pa", "throttle", "rpm"].map((name) => nearest(grid[name], dialed[name]));
    const state = grid.states[at.join(",")];
    if (!state) PackedSource.refuse("This place of the dials is not in this file.");
    return state.refused ? state : { state };
  }

  async trace(asked, space) {
    await this.opened();
    return this.find("traces", [...this.unchanged(asked, "what feels what"), space], "This space is not in this file.");
  }

  async spray(asked, { space, way }) {
    await this.opened();
    const place = space ? ["spaces", space] : ["ways", way];
    return this.find("sprays", [...this.unchanged(asked, "where a spray comes out"), ...place], "Not in this file.");
  }

  async repair({ mode, base, changes }) {
    await this.opened();
    const key = Object.entries(changes)
      .map((each) => each.join("="))
      .join("&");
    const what = "This file holds repairs of the carburetor as it is, or with one fault.";
    const whole = this.find("repairs", [mode, base, ""], what);
    return key ? PackedSource.merged(whole, this.find("repairs", [mode, base, key], what)) : whole;
  }

  async job() {
    return PackedSource.refuse("A job file can only be written by the program itself.");
  }

  async seeded(part, { mode, base }, seed) {
    await this.opened();
    const all = this.find(part, [mode, base], "This is not in this file.");
    const seeds = Object.keys(all);
    if (!seeds.length) PackedSource.refuse("This is not in this file.");
    return all[seed] || all[seeds[Math.abs(seed) % seeds.length]];
  }

  async lesson(asked, seed) {
    return this.seeded("lessons", asked, seed);
  }
  async hunt(asked, seed) {
    return this.seeded("hunts", asked, seed);
  }
}

/** One request at a time; of those that come meanwhile only the last is asked. */
class Latest {
  constructor() {
    this.busy = false;
    this.next = null;
  }

  /** @param {() => Promise<*>} work @param {(result: *) => void} done @param {(error: Error) => void} failed */
  async run(work, done, failed) {
    this.next = { work, done, failed };
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.next) {
        const now = this.next;
        this.next = null;
        try {
          const result = await now.work();
          if (!this.next) now.done(result);
        } catch (error) {
          if (!this.next) now.failed(error);
        }
      }
    } finally {
      this.busy = false;
    }
  }
}
