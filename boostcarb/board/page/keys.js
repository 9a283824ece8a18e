"use strict";

/** One tab stop in a drawing; the arrow keys go to the nearest neighbor. */
const Roving = {
  over(drawing) {
    drawing.current = null;
    if (drawing.svg.roving) return;
    drawing.svg.roving = true;
    drawing.svg.addEventListener("keydown", (event) => this.key(drawing, event));
  },

  visible(drawing) {
    return drawing.focusables.filter((node) => !node.classList.contains("hidden"));
  },

  /** Keeps exactly one visible element in the tab order. */
  refresh(drawing) {
    const all = this.visible(drawing);
    if (!all.includes(drawing.current))
      drawing.current = all.reduce(
        (best, node) => (best && best.chosen.at[1] <= node.chosen.at[1] ? best : node),
        null,
      );
    for (const node of drawing.focusables) node.setAttribute("tabindex", node === drawing.current ? 0 : -1);
  },

  at(drawing, node) {
    drawing.current = node;
    this.refresh(drawing);
  },

  key(drawing, event) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (way && drawing.current) {
      event.preventDefault();
      event.stopPropagation();
      const next = this.nearest(drawing, way);
      if (next) this.go(drawing, next);
    } else if ((event.key === "Enter" || event.key === " ") && drawing.current) {
      event.preventDefault();
      drawing.acts.choose(drawing.current.chosen.kind, drawing.current.chosen.name, drawing, true);
    }
  },

  go(drawing, node) {
    this.at(drawing, node);
    drawing.view.reveal(node.chosen.at);
    node.focus({ preventScroll: true });
  },

  /** The nearest in a direction; what lies aside counts double. */
  nearest(drawing, [dx, dy]) {
    const [x, y] = drawing.current.chosen.at;
    let [best, least] = [null, Infinity];
    for (const node of this.visible(drawing)) {
      const [across, down] = [node.chosen.at[0] - x, node.chosen.at[1] - y];
      const along = across * dx + down * dy;
      const aside = Math.abs(across * dy) + Math.abs(down * dx);
      if (node === drawing.current || along < 2) continue;
      const far = along + 2 * aside;
      if (far < least) [best, least] = [node, far];
    }
    return best;
  },
};

/** Keys of the whole page. */
const Keys = {
  help: [
    ["Tab", "to the next part of the page; the drawing is one stop"],
    ["Single letters and signs", "act while the focus is in the drawing or on the states"],
    ["Arrow keys in the drawing", "to the nearest space, passage or diaphragm"],
    ["Enter", "opens what is focused in the panel beside"],
    ["Escape", "closes, clears what is lit, goes back to the drawing"],
    [", and .", "the state before, the state after"],
    ["p", "plays the drive cycle, stops it"],
    ["Ctrl+Z, Shift+Ctrl+Z", "takes a change back, makes it again"],
    ["+  \u2212  0", "larger, smaller, all of the drawing"],
    ["t", "lights up everything that feels the chosen space"],
    ["c", "classroom: larger letters and lines"],
    ["?", "this help"],
  ],

  start(acts) {
    document.addEventListener("keydown", (event) => {
      const typing = event.target.closest?.("input, select, textarea, dialog");
      const control = event.ctrlKey || event.metaKey;
      if (
        control &&
        !event.altKey &&
        event.key.toLowerCase() === "z" &&
        !event.target.closest?.("textarea, input[type=search]")
      ) {
        event.preventDefault();
        if (event.shiftKey) Store.redo();
        else Store.undo();
        return;
      }
      if (event.key === "Escape" && !event.target.closest?.("dialog")) acts.Escape();
      // Single letters act only where the drawing or the states have the focus: who dictates must not set them off.
      if (typing || control || event.altKey || !event.target.closest?.("#stage, #cycle")) return;
      const act = acts[event.key];
      if (act && event.key !== "Escape") {
        event.preventDefault();
        act();
      }
    });
  },

  show() {
    const dialog = Dom.id("help");
    Dom.put(
      Dom.id("help-keys"),
      ...this.help.map(([key, does]) => Dom.h("div", {}, Dom.h("dt", {}, key), Dom.h("dd", {}, does))),
    );
    if (!dialog.open) dialog.showModal();
  },
};
