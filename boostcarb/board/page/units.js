"use strict";

/** Pressures, lengths and times as people read them. The page converts; it works nothing out. */
const Units = {
  /** @type {"kpa"|"psi"|"inhg"} */
  unit: "kpa",
  /** Whether pressures are shown over the atmosphere instead of over nothing. */
  gauge: true,
  /** Pressure of the atmosphere at the place of the job, Pa. */
  ambient: 101325,

  /** Pa in one of each unit: psi from the pound-force and the inch; inch of mercury, conventional. */
  known: {
    kpa: { title: "kPa", pa: 1000, places: 0, small: 1 },
    psi: { title: "psi", pa: 6894.757, places: 1, small: 2 },
    inhg: { title: "inHg", pa: 3386.389, places: 1, small: 1 },
  },

  get title() {
    return this.known[this.unit].title;
  },

  get full() {
    return `${this.title} ${this.gauge ? "gauge" : "absolute"}`;
  },

  /** A number without its unit; a true minus sign, no minus zero. */
  number(value, places) {
    const text = value.toFixed(places);
    if (Number(text) === 0) return (0).toFixed(places);
    return text.replace("-", "\u2212");
  },

  /** A pressure, Pa absolute, as a number in the unit chosen. */
  pressure(pa, places = this.known[this.unit].places) {
    const shown = (pa - (this.gauge ? this.ambient : 0)) / this.known[this.unit].pa;
    const text = this.number(shown, places);
    return this.gauge && shown > 0 && Number(text) !== 0 ? `+${text}` : text;
  },

  /** A pressure range, Pa absolute: "88 to 101". */
  range([low, high]) {
    const [from, to] = [this.pressure(low), this.pressure(high)];
    return from === to ? from : `${from} to ${to}`;
  },

  /** A range in one unit both ways: gauge and absolute. */
  both(range) {
    const was = this.gauge;
    const said = [true, false].map((gauge) => {
      this.gauge = gauge;
      return `${this.range(range)} ${this.title} ${gauge ? "gauge" : "absolute"}`;
    });
    this.gauge = was;
    return said;
  },

  /** A difference of pressures, Pa. */
  difference(low, high) {
    const { pa, small, title } = this.known[this.unit];
    const [from, to] = [low, high].map((value) => this.number(value / pa, small));
    return from === to ? `${from} ${title}` : `${from} to ${to} ${title}`;
  },

  /** A bore, m, in both systems. */
  bore(meters) {
    const mm = meters * 1000;
    return `${this.number(mm, mm < 10 ? 1 : 0)} mm (${this.number(mm / 25.4, 3)} in)`;
  },

  /** Lambda of a mixture or its range. */
  lambda(leanest, richest) {
    const [rich, lean] = [richest, leanest].map((value) => this.number(value, 2));
    return rich === lean ? rich : `${rich} to ${lean}`;
  },

  minutes(value) {
    return value === 1 ? "1 minute" : `${value} minutes`;
  },

  parts(value) {
    return value === 0 ? "no parts" : value === 1 ? "1 part" : `${value} parts`;
  },
};
