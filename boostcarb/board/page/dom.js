"use strict";

/** Elements made without any HTML text: whatever a title holds stays text. */
const Dom = {
  SVG: "http://www.w3.org/2000/svg",

  /**
   * An element with attributes and children.
   * @param {string} tag
   * @param {Object<string, *>} [given] attributes; `on...` are listeners, `class` classes, false or null leaves out
   * @param {...(Node|string|number|null|false|Array)} children
   * @returns {HTMLElement}
   */
  h(tag, given = {}, ...children) {
    return Dom.fill(document.createElement(tag), given, children);
  },

  /** The same for a drawing. @returns {SVGElement} */
  s(tag, given = {}, ...children) {
    return Dom.fill(document.createElementNS(Dom.SVG, tag), given, children);
  },

  fill(element, given, children) {
    for (const [name, value] of Object.entries(given)) {
      if (value === null || value === undefined || value === false) continue;
      if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else element.setAttribute(name, value === true ? "" : String(value));
    }
    for (const child of children.flat(3)) {
      if (child === null || child === undefined || child === false || child === "") continue;
      element.append(child instanceof Node ? child : document.createTextNode(String(child)));
    }
    return element;
  },

  /** What is in an element, replaced. A focus in it goes to what has the same `data-keep`, else to the heading. */
  put(element, ...children) {
    const active = document.activeElement;
    const inside = element.contains(active) && active !== element;
    const kept = inside && active.getAttribute("data-keep");
    element.replaceChildren(...children.flat(3).filter((child) => child !== null && child !== false && child !== ""));
    if (!inside) return;
    const again =
      kept && [...element.querySelectorAll("[data-keep]")].find((each) => each.getAttribute("data-keep") === kept);
    again?.focus({ preventScroll: true });
    if (!again || document.activeElement !== again) (element.querySelector("h2,h3") || element).focus();
  },

  id(name) {
    return document.getElementById(name);
  },

  /** A button; where it is `off` it does nothing, and keeps the focus that is on it. */
  button(text, act, { off = false, ...given } = {}) {
    const own = { type: "button", onclick: () => off || act(), "data-keep": text, "aria-disabled": off && "true" };
    return Dom.h("button", { ...own, ...given }, text);
  },

  /** A labelled choice. `options`: value to title. */
  select(label, options, value, act) {
    const select = Dom.h(
      "select",
      { "data-keep": label, onchange: () => act(select.value) },
      Object.entries(options).map(([name, title]) => Dom.h("option", { value: name, selected: name === value }, title)),
    );
    return Dom.h("label", { class: "field" }, Dom.h("span", {}, label), select);
  },

  capital(text) {
    return text ? text[0].toUpperCase() + text.slice(1) : "";
  },

  /** Says something short to those who listen instead of look. */
  say(text) {
    const live = Dom.id("live");
    if (live.textContent !== text) live.textContent = text;
  },
};
