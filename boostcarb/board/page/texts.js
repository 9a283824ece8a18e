"use strict";

/** Fits names into the boxes of the drawing. */
const Texts = {
  canvas: null,
  /** Narrow letters, so that long names fit; the same as in the style of the drawing. */
  family: '"Arial Narrow", "Liberation Sans Narrow", "Roboto Condensed", "DejaVu Sans Condensed", Arial, sans-serif',

  width(text, size, bold = false) {
    this.canvas ||= document.createElement("canvas").getContext("2d");
    this.canvas.font = `${bold ? 700 : 400} ${size}px ${this.family}`;
    return this.canvas.measureText(text).width;
  },

  /** Cut to a width, with an ellipsis. */
  cut(text, width, size) {
    if (this.width(text, size) <= width) return text;
    let kept = text;
    while (kept.length > 1 && this.width(`${kept}\u2026`, size) > width) kept = kept.slice(0, -1);
    return `${kept.trimEnd()}\u2026`;
  },

  /** Lines no wider than `width`, at most `most`; what does not fit ends in an ellipsis. */
  wrap(text, width, size, most) {
    const lines = [];
    for (const word of text.split(/\s+/)) {
      const longer = lines.length ? `${lines[lines.length - 1]} ${word}` : word;
      if (lines.length && this.width(longer, size) <= width) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    const over = lines.length > most;
    const kept = lines.slice(0, Math.max(1, most));
    if (over) kept[kept.length - 1] = `${kept[kept.length - 1]} ${lines[kept.length]}`;
    return kept.map((line) => this.cut(line, width, size));
  },
};
