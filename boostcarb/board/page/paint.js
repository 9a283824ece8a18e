"use strict";

/** Fills a drawing with what an answer says. */
const Paint = {
  spaces(drawing) {
    const { state, spaces } = drawing;
    for (const [name, parts] of Object.entries(spaces)) {
      const range = state.spaces[name];
      const shade = range ? Shading.of(range, Units.ambient) : Shading.unknown;
      const holds = state.contents?.[name];
      const hatch = Shading.hatch(holds);
      parts.fill.setAttribute("fill", shade.fill);
      for (const [index, half] of parts.halves.entries())
        half.setAttribute("fill", shade.halves ? shade.halves[index] : "none");
      parts.hatch.setAttribute("fill", hatch ? `url(#${drawing.prefix}-holds-${hatch})` : "none");
      parts.words.setAttribute("fill", shade.ink);
      parts.words.setAttribute("stroke", shade.fill);
      parts.said = range ? Units.range(range) : "";
      const nature = state.natures?.[name];
      const pressure = range ? `${parts.said} ${Units.full}` : "no pressure given";
      const more = `${pressure}${nature ? `, ${nature}` : ""}, can hold ${Shading.said(holds)}`;
      this.label(parts, parts.space.title, `, ${more}`);
      parts.node.classList.toggle("ranged", Boolean(range) && range[0] !== range[1]);
    }
    this.words(drawing);
  },

  /** What is said and shown of a part; while a question waits for its answer, its name only. */
  label({ node, tip }, title, more) {
    const words = Lesson.waits ? title : `${title}${more}`;
    node.setAttribute("aria-label", words);
    tip.textContent = words;
  },

  /** Names and numbers, as large as they must be to be read at this scale. */
  words(drawing) {
    const scale = drawing.view.scaleAtFit || 0.6;
    const classroom = document.documentElement.classList.contains("classroom");
    const size = Math.min(24, Math.max(13.5, (classroom ? 12.8 : 11.2) / scale));
    drawing.svg.classList.toggle("small", scale < 0.7);
    for (const { words, space: planned, said = "" } of Object.values(drawing.spaces)) {
      const titles = this.shorter(planned, drawing.scene);
      const space = { ...planned, ...Drawing.grown(planned), title: titles[0], titles };
      if (space.shape === "bar") this.bar(words, space, said, size);
      else this.box(words, space, said, size);
    }
    for (const label of drawing.layers.castings.querySelectorAll("text")) {
      const small = Math.min(22, Math.max(12, 11.1 / scale));
      label.setAttribute("font-size", small);
      label.firstChild.textContent = Texts.cut(label.casting.title, label.casting.room, small);
    }
    for (const { said } of Object.values(drawing.membranes))
      said.setAttribute("font-size", Math.min(22, Math.max(12, 11.1 / scale)));
  },

  /** A name, then shorter ones: without its group where the casting says it already, else with the group cut. */
  shorter({ title, casting }, { groups = [], castings }) {
    const group = groups.find((each) => title.includes(`${each} `));
    if (!group) return [title];
    if (castings[casting]?.title.startsWith(`${group} `)) return [title.replace(`${group} `, "")];
    return [title, title.replace(`${group} `, `${group.slice(0, 3)}. `)];
  },

  bar(words, { x, y, w, h, title }, said, size) {
    const fits = Math.min(size, h - 3);
    const middle = y + h / 2 + fits * 0.36;
    words.replaceChildren(
      Dom.s("text", { x: x + w / 2 - 8, y: middle, "text-anchor": "end", "font-size": fits }, title),
      Dom.s("text", { x: x + w / 2 + 8, y: middle, "font-size": fits, class: "number" }, said),
    );
  },

  /** A name as large and as whole as its box allows: smaller letters first, then the shorter name, then cut. */
  fitted(titles, w, h, full) {
    let made = null;
    for (const share of [1, 0.91, 0.83]) {
      for (const title of titles) {
        const size = full * share;
        const most = Math.max(1, Math.floor(h / (size * 1.02)));
        made = { size, lines: Texts.wrap(title, w, size, most) };
        if (!made.lines.some((each) => each.endsWith("\u2026"))) return made;
      }
    }
    return made;
  },

  box(words, { x, y, w, h, titles }, said, full) {
    const number = Texts.width(said, full * 1.08, true) > w - 4 ? full * 0.82 : full * 1.08;
    const { size, lines } = this.fitted(titles, w - 6, said ? h - number * 1.05 - 3 : h - 4, full);
    const line = size * 1.02;
    const high = lines.length * line + number * 1.1;
    const top = y + (h - high) / 2;
    const made = lines.map((each, index) =>
      Dom.s("text", { x: x + w / 2, y: top + line * (index + 0.8), "text-anchor": "middle", "font-size": size }, each),
    );
    const at = {
      x: x + w / 2,
      y: top + lines.length * line + number * 0.88,
      "text-anchor": "middle",
      "font-size": number,
    };
    words.replaceChildren(...made, Dom.s("text", { ...at, class: "number" }, said));
  },

  liveliness: { open: 3, plugged: 2, closed: 1, absent: 0 },

  /** Of ways that share a line, the one that counts. */
  liveliest(names, answer, state) {
    const worth = (name) => (this.liveliness[answer.ways[name]?.how] || 0) * 2 + (state.flows?.[name] ? 1 : 0);
    return names.reduce((best, name) => (worth(name) > worth(best) ? name : best));
  },

  ways(drawing) {
    for (const route of drawing.routes) this.way(drawing, route);
  },

  way(drawing, route) {
    const { answer, state, scene } = drawing;
    const name = this.liveliest(route.names, answer, state);
    const way = scene.ways[name];
    const how = answer.ways[name] || { how: "absent" };
    const open = how.how === "open";
    // Sound joints and walls are no passages; a drawing full of them says nothing.
    const sound = !open && ["joint", "rupture"].includes(way.kind);
    const hidden = (how.how === "absent" || how.how === "closed" || sound) && !drawing.showAbsent;
    const shut = state.shut && (Array.isArray(state.shut) ? state.shut.includes(name) : state.shut[name]);
    const flow = state.flows?.[name] || 0;
    route.node.chosen.name = name;
    route.hidden = hidden;
    route.node.classList.toggle("hidden", hidden);
    route.group.classList.toggle("hidden", hidden);
    const kind = open ? (shut ? "shut" : flow ? "open" : "still") : how.how;
    route.line.setAttribute("class", `pipe ${kind} ${way.carries === "fuel" ? "fuel" : "air"}`);
    route.line.setAttribute("stroke-width", this.weight(way, open).toFixed(1));
    const symbol = Symbols.of(way, how);
    route.symbol.setAttribute("href", `#${drawing.prefix}-${symbol.name}`);
    const angle = (way.symbol[2] || 0) + (symbol.turned ? 180 : 0);
    route.turned.setAttribute("transform", `rotate(${angle})`);
    route.dot.classList.toggle("hidden", symbol.name !== "line");
    this.label(route, way.title, this.wayWords(way, how, shut, flow, scene));
    route.moving =
      flow && !hidden
        ? { points: flow > 0 ? way.route : [...way.route].reverse(), fuel: way.carries === "fuel" }
        : null;
  },

  weight(way, open) {
    if (!open) return 1.6;
    const mm = 1000 * (way.bore_m || Math.sqrt((4 * (way.area_m2 || 1e-6)) / Math.PI));
    return Math.min(10, 1.3 + 1.35 * Math.log2(1 + mm));
  },

  wayWords(way, how, shut, flow, scene) {
    const title = (space) => scene.spaces[space]?.title || space;
    const held = typeof shut === "string" ? `shut by a ${shut}` : "held shut";
    const state = how.how === "open" ? (shut ? `open, ${held} now` : "open") : how.how;
    const bore = way.bore_m ? `, ${way.count > 1 ? `${way.count} of ` : ""}${Units.bore(way.bore_m)}` : "";
    const moves = flow ? `, flows toward ${title(flow > 0 ? way.b : way.a)}` : "";
    return `${bore}, ${state}${moves}`;
  },

  diaphragms(drawing) {
    const { state, scene } = drawing;
    for (const [name, parts] of Object.entries(drawing.membranes)) {
      const { node, wall, said, tie } = parts;
      const now = state.diaphragms?.[name];
      const hidden = !now && !drawing.showAbsent;
      node.classList.toggle("hidden", hidden);
      tie.classList.toggle("hidden", hidden);
      const bulge = { first: -15, second: 15 }[now?.moves] || 0;
      wall.setAttribute("d", `M0,-17Q${bulge * 1.6},0 0,17`);
      node.classList.toggle("over", Boolean(now?.over_pa > 0));
      said.textContent = now?.valve || (now?.over_pa > 0 ? "overloaded" : "");
      node.classList.toggle("is-open", now?.valve === "open");
      const { title } = scene.diaphragms[name];
      this.label(parts, title, this.diaphragmWords(scene, scene.diaphragms[name], now).slice(title.length));
    }
  },

  diaphragmWords(scene, diaphragm, now) {
    if (!now) return `${diaphragm.title}: not there`;
    const toward = { first: diaphragm.first, second: diaphragm.second }[now.moves];
    const moves = toward
      ? `pushed toward ${scene.spaces[toward]?.title || toward}`
      : now.moves === "either"
        ? "can be pushed either way"
        : "at rest";
    const over = now.over_pa > 0 ? `, overloaded by ${Units.difference(now.over_pa, now.over_pa)}` : "";
    return `${diaphragm.title}: ${moves}, across it ${Units.difference(now.low, now.high)}${now.valve ? `, valve ${now.valve}` : ""}${over}`;
  },
};
