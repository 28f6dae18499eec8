"use strict";
// Elements. Texts reach the page as text only, never as markup.

function make(tag, { text, kind, ...attributes } = {}, ...children) {
  const part = document.createElement(tag);
  if (text !== undefined) part.textContent = text;
  if (kind) part.className = kind;
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== false) part.setAttribute(name, value === true ? "" : value);
  }
  part.append(...children.filter(Boolean));
  return part;
}

function button(text, press, { kind, ...attributes } = {}) {
  const part = make("button", { text, kind, type: "button", ...attributes });
  part.addEventListener("click", press);
  return part;
}

// A box with its label; `input` is the box.
function field(id, label, attributes = {}) {
  const input = make("input", { id, type: "text", autocomplete: "off", ...attributes });
  const part = make("div", { kind: "field" }, make("label", { for: id, text: label }), input);
  return { part, input };
}

const title = (text) => make("h2", { text, tabindex: "-1" });

const line = (text, kind) => make("p", { text, kind });
