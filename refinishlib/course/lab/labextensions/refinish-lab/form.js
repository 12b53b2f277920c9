// The form over an answer cell. The cell's text is the only truth: a field writes one literal into it, and what is
// changed in the text, by hand, by undo or by a colleague, shows in the field.

import { element, kinds, newId } from "./fields.js";
import { change, read } from "./literal.js";

const EMPTY_WRITTEN = "*Write your answer here.*";

// desk: {save(), check(source) -> promise of [{name, state, sentence}] or null, runCheck(), touched(), id()}
export function answerForm(cell, about, desk) {
  const model = cell.model.sharedModel;
  const isWritten = cell.model.type === "markdown";
  const empty = about.empty ?? EMPTY_WRITTEN;
  const fields = about.answer
    .filter((field) => Object.hasOwn(kinds, field.kind))
    .map((field) => ({ about: field, ...kinds[field.kind](field, (value) => write(field.name, value), desk.id()) }));

  const status = element("p", { class: "refinish-form-status", role: "status" });
  const send = element("button", { type: "submit", class: "refinish-form-main" }, about.button ?? "Check my entry");
  const textId = newId();
  const peek = element(
    "button",
    { type: "button", class: "refinish-form-quiet", "aria-expanded": "false", "aria-controls": textId, onclick: () => showText() },
    "Show the text",
  );
  const legend = element("legend", {}, about.legend);
  const foot = element("div", { class: "refinish-form-foot" }, isWritten ? null : send, peek);
  const node = element(
    "form",
    { class: "refinish-form", "data-lm-suppress-shortcuts": true, novalidate: true, autocomplete: "off", onsubmit: check, onkeydown: keys },
    element("fieldset", {}, legend, ...grouped(fields), foot, status),
  );
  for (const quiet of ["mousedown", "dblclick", "contextmenu", "pointerdown"]) {
    node.addEventListener(quiet, (event) => event.stopPropagation()); // the notebook would select, edit or open its menu
  }

  // A reason stands with its decision.
  function grouped(all) {
    return all.map((field) => {
      if (field.about.reason_for) field.node.classList.add("refinish-form-reason");
      return field.node;
    });
  }

  function source() {
    return isWritten && model.source.trim() === empty ? "" : model.source;
  }

  function show() {
    for (const field of fields) {
      const text = source();
      field.show(isWritten ? { kind: text ? "text" : "empty", value: text, source: text } : read(text, field.about.name));
    }
    // Shortcuts are matched from the control upwards: the form's own attribute comes too late for a radio button.
    for (const control of node.querySelectorAll("input, textarea, button, [tabindex]")) {
      control.setAttribute("data-lm-suppress-shortcuts", "true");
    }
  }

  function write(name, value) {
    if (isWritten) {
      const wanted = value.trim() === "" ? empty : value;
      if (wanted === model.source) return;
      const [start, end] = differs(model.source, wanted);
      model.updateSource(start, model.source.length - end, wanted.slice(start, wanted.length - end));
      return;
    }
    const edit = change(model.source, name, value);
    if (edit) model.updateSource(edit.start, edit.end, edit.text);
  }

  let checked = 0;
  function forget() {
    checked += 1;
    status.textContent = "";
    for (const field of fields) say(field, null);
    desk.touched();
  }

  function say(field, said) {
    field.said.hidden = !said;
    field.said.textContent = said?.sentence ?? "";
    field.said.dataset.state = said?.state ?? "";
    field.node.querySelectorAll("input, textarea").forEach((entry) => {
      if (said?.state === "cannot be read") entry.setAttribute("aria-invalid", "true");
      else entry.removeAttribute("aria-invalid");
    });
  }

  async function check(event) {
    event?.preventDefault();
    if (isWritten) return;
    const mine = (checked += 1);
    send.setAttribute("aria-busy", "true");
    try {
      const said = await desk.check(model.source);
      if (mine !== checked) return; // typed on meanwhile
      if (!said) status.textContent = await desk.runCheck();
      else {
        for (const field of fields) say(field, said.fields.find((one) => one.name === field.about.name));
        status.textContent = said.summary;
      }
    } finally {
      send.removeAttribute("aria-busy");
    }
  }

  function showText(open = !cell.hasClass("refinish-text-shown")) {
    cell.toggleClass("refinish-text-shown", open);
    peek.setAttribute("aria-expanded", open);
    peek.textContent = open ? "Hide the text" : "Show the text";
    if (cell.inputArea) cell.inputArea.node.id = textId;
    if (open && isWritten) cell.rendered = false;
  }

  // The notebook's shortcuts sleep in here; the few that belong to a form are done here.
  function keys(event) {
    const accel = event.ctrlKey || event.metaKey;
    if (event.isComposing) return;
    if (accel && !event.altKey && ["z", "y", "s"].includes(event.key.toLowerCase())) {
      event.preventDefault();
      const again = event.key.toLowerCase() === "y" || event.shiftKey;
      if (event.key.toLowerCase() === "s") desk.save();
      else if (again) model.redo();
      else model.undo();
    } else if (event.key === "Enter" && !isWritten && (accel || event.shiftKey || event.target.matches("input"))) {
      event.preventDefault();
      check();
    }
  }

  let shown = model.source;
  function textChanged() {
    if (model.source === shown) return;
    shown = model.source;
    show();
    forget();
  }

  show();
  model.changed.connect(textChanged);
  return {
    node,
    check,
    dispose() {
      model.changed.disconnect(textChanged);
      cell.removeClass("refinish-text-shown");
    },
  };
}

// How many letters two texts share at their beginning and at their end.
function differs(a, b) {
  const most = Math.min(a.length, b.length);
  let start = 0;
  while (start < most && a[start] === b[start]) start++;
  let end = 0;
  while (end < most - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end++;
  return [start, end];
}
