"use strict";

/** Pans and zooms a drawing: wheel, drag, pinch, buttons. */
class View {
  constructor(svg, changed) {
    this.svg = svg;
    this.changed = changed;
    this.box = null;
    this.pointers = new Map();
    this.moved = false;
    /** Another view that shows the same part. @type {View|null} */
    this.twin = null;
    svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    svg.addEventListener("pointerdown", (event) => this.down(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    for (const end of ["pointerup", "pointercancel", "pointerleave"])
      svg.addEventListener(end, (event) => this.up(event));
    // A drag is no click.
    svg.addEventListener(
      "click",
      (event) => {
        if (this.moved && event.isTrusted) event.stopPropagation();
        this.moved = false;
      },
      true,
    );
    new ResizeObserver(() => this.resized()).observe(svg);
    window.addEventListener("beforeprint", () => this.paper());
    window.addEventListener("afterprint", () => this.resized(true));
  }

  setSize(size, extent) {
    this.size = size;
    this.extent = extent;
    this.resized(true);
  }

  /** All of it, as wide as a page allows. */
  paper() {
    if (!this.extent) return;
    const { x, y, w, h } = this.extent;
    this.scaleAtFit = 0.55;
    this.changed();
    this.svg.setAttribute("viewBox", [x, y, w, h].join(" "));
  }

  resized(anew = false) {
    if (matchMedia("print").matches) {
      this.paper();
      return;
    }
    const { width, height } = this.svg.getBoundingClientRect();
    if (!this.extent || !width || !height) return;
    const was = this.scaleAtFit;
    this.scaleAtFit = Math.min(width / this.extent.w, height / this.extent.h);
    this.shape = height / width;
    if (anew || !this.box || this.fitted) this.fit();
    else this.apply(this.box);
    if (was !== this.scaleAtFit) this.changed();
  }

  /** Two beside each other are there to be compared: then even small letters will do. */
  get least() {
    return this.twin?.svg.getBoundingClientRect().width ? 0.33 : 0.4;
  }

  /** All of it; on a phone, as much as can be read. */
  fit() {
    const { x, y, w, h } = this.extent;
    const { width, height } = this.svg.getBoundingClientRect();
    if (this.scaleAtFit < this.least) {
      const scale = 0.5;
      this.apply({ x: x + w * 0.09, y: y + h * 0.12, w: width / scale, h: height / scale }, false);
      this.scaleAtFit = scale;
    } else {
      const wide = Math.max(w, h / this.shape);
      const high = wide * this.shape;
      this.apply({ x: x - (wide - w) / 2, y: y - (high - h) / 2, w: wide, h: high }, false);
    }
    this.fitted = true;
  }

  /** All of it, however small. */
  whole() {
    const { x, y, w, h } = this.extent;
    const wide = Math.max(w, h / this.shape);
    this.apply({ x: x - (wide - w) / 2, y, w: wide, h: wide * this.shape }, false);
    this.fitted = true;
  }

  apply({ x, y, w }, lead = true) {
    const wide = Math.min(Math.max(w, 160), this.extent.w * 2.5);
    const high = wide * this.shape;
    // Some of the drawing always stays in sight.
    const left = Math.min(Math.max(x, this.extent.x - wide * 0.7), this.extent.x + this.extent.w - wide * 0.3);
    const top = Math.min(Math.max(y, this.extent.y - high * 0.7), this.extent.y + this.extent.h - high * 0.3);
    this.box = { x: left, y: top, w: wide, h: high };
    this.svg.setAttribute("viewBox", [left, top, wide, high].map((each) => each.toFixed(2)).join(" "));
    const twin = lead ? this.twin : null;
    if (!twin?.box || !twin.svg.getBoundingClientRect().width) return;
    twin.fitted = false;
    twin.apply({ x: left, y: top, w: wide }, false);
  }

  at(event) {
    const bounds = this.svg.getBoundingClientRect();
    return [(event.clientX - bounds.left) / bounds.width, (event.clientY - bounds.top) / bounds.height];
  }

  zoom(factor, [across, down] = [0.5, 0.5]) {
    const { x, y, w, h } = this.box;
    this.fitted = false;
    this.apply({ x: x + w * across * (1 - factor), y: y + h * down * (1 - factor), w: w * factor });
  }

  pan(across, down) {
    this.fitted = false;
    this.apply({ ...this.box, x: this.box.x + across * this.box.w, y: this.box.y + down * this.box.h });
  }

  /** Brings a place into sight, if it is not. */
  reveal([x, y]) {
    const box = this.box;
    const inside =
      x > box.x + box.w * 0.02 && x < box.x + box.w * 0.98 && y > box.y + box.h * 0.02 && y < box.y + box.h * 0.98;
    if (!inside) this.apply({ ...box, x: x - box.w / 2, y: y - box.h / 2 });
  }

  wheel(event) {
    if (!this.box) return;
    event.preventDefault();
    this.zoom(Math.exp(Math.max(-60, Math.min(60, event.deltaY)) * 0.004), this.at(event));
  }

  down(event) {
    this.pointers.set(event.pointerId, this.at(event));
    this.moved = false;
    this.start = [event.clientX, event.clientY];
  }

  move(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before || !this.box) return;
    if (!this.moved && Math.hypot(event.clientX - this.start[0], event.clientY - this.start[1]) < 6) return;
    this.moved = true;
    const now = this.at(event);
    if (this.pointers.size === 1) this.pan(before[0] - now[0], before[1] - now[1]);
    else this.pinch(event.pointerId, before, now);
    this.pointers.set(event.pointerId, now);
  }

  pinch(id, before, now) {
    const other = [...this.pointers].find(([each]) => each !== id)[1];
    const apart = ([x, y]) => Math.hypot(x - other[0], (y - other[1]) * this.shape);
    if (apart(now) > 0.01) this.zoom(apart(before) / apart(now), [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2]);
  }

  up(event) {
    this.pointers.delete(event.pointerId);
  }
}

/** Arrowheads that move along the lines through which something flows. */
class Flow {
  static all = new Set();
  static paused = false;
  static running = false;

  constructor() {
    this.layer = null;
    this.moving = [];
    Flow.all.add(this);
  }

  set(routes) {
    this.layer.replaceChildren();
    this.moving = routes.flatMap(({ points, fuel }) => {
      const legs = points
        .slice(1)
        .map((to, index) => ({
          from: points[index],
          to,
          long: Math.hypot(to[0] - points[index][0], to[1] - points[index][1]),
        }));
      const long = legs.reduce((sum, leg) => sum + leg.long, 0);
      const many = Math.max(1, Math.min(6, Math.round(long / 130)));
      return Array.from({ length: many }, (_, index) => {
        const node = Dom.s("path", { class: `arrow ${fuel ? "fuel" : "air"}`, d: "M9,0L-6,-7L-3,0L-6,7z" });
        this.layer.append(node);
        return { node, legs, long, offset: (index + 0.5) / many };
      });
    });
    this.place(Flow.time || 0);
    Flow.run();
  }

  place(seconds) {
    for (const { node, legs, long, offset } of this.moving) {
      let along = (((offset * long + seconds * 42) % long) + long) % long;
      const leg = legs.find((each) => (along -= each.long) <= 0) || legs[legs.length - 1];
      const share = leg.long ? (along + leg.long) / leg.long : 0;
      const [x, y] = [0, 1].map((axis) => leg.from[axis] + share * (leg.to[axis] - leg.from[axis]));
      const angle = (Math.atan2(leg.to[1] - leg.from[1], leg.to[0] - leg.from[0]) * 180) / Math.PI;
      node.setAttribute("transform", `translate(${x.toFixed(1)},${y.toFixed(1)}) rotate(${angle.toFixed(0)})`);
    }
  }

  static get still() {
    return Flow.paused || matchMedia("(prefers-reduced-motion: reduce)").matches;
  }

  static run() {
    if (Flow.running || Flow.still) return;
    Flow.running = true;
    let last = null;
    const frame = (now) => {
      if (Flow.still) {
        Flow.running = false;
        return;
      }
      Flow.time = (Flow.time || 0) + Math.min(0.1, last === null ? 0 : (now - last) / 1000);
      last = now;
      for (const flow of Flow.all) flow.place(Flow.time);
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }
}
