// The fields of an answer form. Each kind is a function of what the cell's metadata says about the field, which gives
//   node        what is put into the form
//   show(read)  shows what the text says, without changing the text
//   said        the line below the field: what was read, or the cure
// and calls changed(value) with a text or a list of texts when a person touches it. All words come in as text.

import { literal } from "./literal.js";

let made = 0;

export const newId = () => `refinish-${(made += 1)}`;

// An element with attributes and children; texts become text.
export function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== undefined && value !== null) made.setAttribute(name, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}

// Another order for each apprentice, the same each time: text and reader take any order.
export function shuffled(words, id, name) {
  const keyed = words.map((word) => [mixed(`${id}\n${name}\n${word}`), word]);
  return keyed.sort((a, b) => a[0] - b[0] || (a[1] < b[1] ? -1 : 1)).map(([, word]) => word);
}

function mixed(text) {
  let hash = 0x811c9dc5; // FNV-1a, and its bits stirred once more
  for (const byte of new TextEncoder().encode(text)) hash = Math.imul(hash ^ byte, 0x01000193);
  hash = Math.imul(hash ^ (hash >>> 16), 0x7feb352d);
  hash = Math.imul(hash ^ (hash >>> 15), 0x846ca68b);
  return (hash ^ (hash >>> 16)) >>> 0;
}

const same = (a, b) => plain(a) === plain(b);
const plain = (text) => text.toLowerCase().replaceAll("-", " ").split(/\s+/).filter(Boolean).join(" ");

// What every field has: its label, what stands in the text by hand, the line below.
function frame(about, body, group) {
  const id = newId();
  const typed = element("p", { class: "refinish-form-typed", hidden: true });
  const said = element("p", { class: "refinish-form-said", id: `${id}-said`, hidden: true });
  const label = group
    ? element("div", { class: "refinish-form-label", id: `${id}-label` }, about.label)
    : element("label", { class: "refinish-form-label", for: `${id}-entry`, id: `${id}-label` }, about.label);
  const node = element("div", { class: `refinish-form-field refinish-form-is-${about.kind}` }, label, body, typed, said);
  if (group) {
    group.setAttribute("aria-labelledby", label.id);
    group.setAttribute("aria-describedby", said.id);
  }
  return {
    id,
    node,
    said,
    byHand(source) {
      typed.hidden = !source;
      typed.replaceChildren(...(source ? ["In the text: ", element("code", {}, source)] : []));
    },
  };
}

function entry(attributes) {
  return element("input", { type: "text", class: "refinish-form-entry", autocomplete: "off", spellcheck: "false", ...attributes });
}

// What to show in an entry line: a plain text as it is, anything else as it stands in the text.
function into(input, reading) {
  const plainText = reading.kind === "text" || reading.kind === "empty";
  if (plainText && literal(input.value) === literal(reading.value)) return;
  const shown = plainText ? reading.value : reading.source;
  if (input.value !== shown) input.value = shown;
}

const line = (words) => (about, changed) => {
  const input = entry({ ...words(about), oninput: () => changed(input.value) });
  const unit = about.unit ? element("span", { class: "refinish-form-unit", "aria-hidden": "true" }, about.unit) : null;
  const framed = frame(about, element("div", { class: "refinish-form-line" }, input, unit));
  input.id = `${framed.id}-entry`;
  input.setAttribute("aria-describedby", framed.said.id);
  if (about.unit) input.setAttribute("aria-label", `${about.label}, in ${about.unit}`);
  return { ...framed, show: (reading) => into(input, reading) };
};

const number = line(() => ({ inputmode: "text", size: "12" }));
const text = line((about) => ({ maxlength: about.longest, class: "refinish-form-entry refinish-form-wide" }));

// Radio buttons or boxes: the same rows.
const picks = (type) => (about, changed, id) => {
  const options = shuffled(about.options, id, about.name);
  const name = newId();
  const boxes = options.map((option) => element("input", { type, name, value: option, onchange: tell }));
  const rows = boxes.map((box) => element("label", { class: "refinish-form-pick" }, box, element("span", {}, box.value)));
  const group = element("div", { class: "refinish-form-picks", role: type === "radio" ? "radiogroup" : "group" }, ...rows);
  const framed = frame(about, group, group);

  function tell() {
    const ticked = about.options.filter((option) => boxes.some((box) => box.checked && box.value === option));
    framed.byHand("");
    changed(type === "radio" ? (ticked[0] ?? "") : ticked);
  }

  return {
    ...framed,
    show(reading) {
      const given = { text: [reading.value], list: reading.value, empty: [], other: [] }[reading.kind];
      const fits = type === "radio" ? reading.kind !== "list" && given.length < 2 : true;
      const known = fits && given.every((one) => options.some((option) => same(option, one)));
      for (const box of boxes) box.checked = known && given.some((one) => same(box.value, one));
      framed.byHand(reading.kind === "other" || !known ? reading.source : "");
    },
  };
};

function table(about, changed) {
  const inputs = about.rows.map((row) =>
    entry({ size: "12", "aria-label": `${about.label}, ${row}${about.unit ? `, in ${about.unit}` : ""}`, oninput: tell }),
  );
  const rows = about.rows.map((row, at) =>
    element(
      "tr",
      {},
      element("th", { scope: "row" }, row),
      element("td", {}, inputs[at], about.unit ? element("span", { class: "refinish-form-unit", "aria-hidden": "true" }, about.unit) : null),
    ),
  );
  const grid = element("table", { class: "refinish-form-table", role: "group" }, element("tbody", {}, ...rows));
  const framed = frame(about, grid, grid);

  function tell() {
    framed.byHand("");
    const last = inputs.findLastIndex((input) => input.value.trim() !== "");
    changed(inputs.slice(0, last + 1).map((input) => input.value));
  }

  return {
    ...framed,
    show(reading) {
      const fits = (reading.kind === "list" && reading.value.length <= inputs.length) || reading.kind === "empty";
      framed.byHand(fits ? "" : reading.source);
      if (!fits) for (const input of inputs) input.value = "";
      else
        for (const [at, input] of inputs.entries()) {
          const value = reading.value[at] ?? "";
          if (input.value.trim() !== value.trim()) input.value = value;
        }
    },
  };
}

function order(about, changed, id) {
  const start = shuffled(about.tasks, id, about.name);
  let tasks = start;
  let answered = false;
  const list = element("ol", { class: "refinish-form-order" });
  const news = element("span", { class: "refinish-form-unseen", role: "status" });
  const take = element("button", { type: "button", class: "refinish-form-quiet", onclick: () => tell() }, "This is my order");
  const group = element("div", { role: "group" }, list, element("div", { class: "refinish-form-take" }, take), news);
  const framed = frame(about, group, group);
  const rows = new Map(about.tasks.map((task) => [task, row(task)]));

  function row(task) {
    const up = element("button", { type: "button", class: "refinish-form-move", "aria-label": `Move up: ${task}`, onclick: () => move(task, -1, up) }, "↑");
    const down = element("button", { type: "button", class: "refinish-form-move", "aria-label": `Move down: ${task}`, onclick: () => move(task, 1, down) }, "↓");
    const grip = element("span", { class: "refinish-form-grip", "aria-hidden": "true", title: "Drag" }, "⋮⋮");
    const made = element("li", {}, grip, element("span", { class: "refinish-form-task" }, task), up, down);
    grip.addEventListener("pointerdown", (event) => drag(event, task, made));
    return { made, up, down };
  }

  // The row `still` stays where it is in the page, and the others go around it: one that is taken out loses the pointer.
  function draw(still = tasks[0]) {
    const wanted = tasks.map((task) => rows.get(task).made);
    const at = tasks.indexOf(still);
    if (list.children.length === 0) list.append(...wanted);
    else if (wanted.some((made, at) => list.children[at] !== made)) {
      wanted[at].before(...wanted.slice(0, at));
      wanted[at].after(...wanted.slice(at + 1));
    }
    for (const [at, task] of tasks.entries()) {
      rows.get(task).up.setAttribute("aria-disabled", at === 0);
      rows.get(task).down.setAttribute("aria-disabled", at === tasks.length - 1);
    }
    list.classList.toggle("refinish-form-open", !answered);
    take.parentElement.hidden = answered;
  }

  function tell() {
    answered = true;
    framed.byHand("");
    draw();
    changed(tasks);
  }

  function move(task, by, button) {
    const at = tasks.indexOf(task);
    const to = at + by;
    if (to < 0 || to >= tasks.length) return;
    place(task, to);
    tell();
    button.focus();
    news.textContent = `${task}: now ${to + 1} of ${tasks.length}`;
  }

  function place(task, to) {
    const others = tasks.filter((one) => one !== task);
    tasks = [...others.slice(0, to), task, ...others.slice(to)];
  }

  // The row follows the pointer; the text is written once, when it is let go.
  function drag(event, task, made) {
    if (event.button !== 0) return;
    event.preventDefault();
    const before = tasks;
    const grip = event.currentTarget;
    grip.setPointerCapture(event.pointerId);
    made.classList.add("refinish-form-dragged");
    const follow = (moved) => {
      const others = tasks.filter((one) => one !== task);
      const above = (one) => {
        const box = rows.get(one).made.getBoundingClientRect();
        return box.top + box.height / 2 < moved.clientY;
      };
      place(task, others.filter(above).length);
      draw(task);
    };
    const end = (last) => {
      grip.removeEventListener("pointermove", follow);
      made.classList.remove("refinish-form-dragged");
      if (last.type === "pointercancel") tasks = before;
      draw();
      if (tasks.some((one, at) => one !== before[at])) tell();
    };
    grip.addEventListener("pointermove", follow);
    grip.addEventListener("pointerup", end, { once: true });
    grip.addEventListener("pointercancel", end, { once: true });
  }

  draw();
  return {
    ...framed,
    show(reading) {
      const given = reading.kind === "list" ? reading.value.map((one) => about.tasks.find((task) => same(task, one))) : [];
      const whole = given.length === about.tasks.length && new Set(given).size === given.length && !given.includes(undefined);
      answered = whole;
      tasks = whole ? given : start;
      framed.byHand(whole || reading.kind === "empty" ? "" : reading.source);
      draw();
    },
  };
}

// The written answer: the whole Markdown cell.
function written(about, changed) {
  const box = element("textarea", { class: "refinish-form-entry", rows: "6", oninput: () => changed(box.value) });
  const framed = frame(about, box);
  box.id = `${framed.id}-entry`;
  return {
    ...framed,
    show(reading) {
      if (box.value.trim() !== reading.value.trim()) box.value = reading.value;
    },
  };
}

export const kinds = { number, text, choice: picks("radio"), chosen: picks("checkbox"), table, order, written };
