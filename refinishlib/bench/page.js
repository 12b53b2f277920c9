// What ipywidgets lacks, in one place: copy, print, remember, and names for what has none.
// Python's side is page.py. A calculator is the nearest ancestor with the class "refinish-sheet".

const storageName = (key) => `refinish: ${key}`;

function readEntries(key) {
  try {
    return JSON.parse(window.localStorage.getItem(storageName(key)) ?? "{}");
  } catch {
    return {}; // no storage in this browser, or not ours: begin with the defaults
  }
}

function writeEntries(key, entries) {
  try {
    window.localStorage.setItem(storageName(key), JSON.stringify(entries));
  } catch {
    // a full or forbidden storage only means that nothing is remembered
  }
}

// The asynchronous clipboard exists only on https pages and on the machine itself; on a school's plain http address
// a hidden text area does it.
async function copyText(text) {
  if (window.isSecureContext && navigator.clipboard) {
    try {
      await navigator.clipboard.writeText(text);
      return true;
    } catch {
      // refused: try the other way
    }
  }
  const before = document.activeElement;
  const area = document.createElement("textarea");
  area.value = text;
  area.readOnly = true;
  area.style.cssText = "position: fixed; top: 0; left: 0; opacity: 0";
  document.body.append(area);
  area.select();
  let copied = false;
  try {
    copied = document.execCommand("copy");
  } catch {
    copied = false;
  }
  area.remove();
  before?.focus?.();
  return copied;
}

// A copy of the calculator as it stands, with what was entered as plain text, fit for paper.
function paperCopy(sheet) {
  const copy = sheet.cloneNode(true);
  const live = sheet.querySelectorAll("input, select, textarea, canvas");
  copy.querySelectorAll("input, select, textarea, canvas").forEach((element, index) => {
    const now = live[index];
    if (now.type === "checkbox" || now.type === "radio") {
      element.toggleAttribute("checked", now.checked);
      return;
    }
    let paper;
    if (now.tagName === "CANVAS") {
      paper = document.createElement("img");
      paper.src = now.toDataURL();
    } else {
      paper = document.createElement("span");
      paper.className = "refinish-printed";
      paper.textContent = now.tagName === "SELECT" ? (now.selectedOptions[0]?.textContent ?? "") : now.value;
    }
    element.replaceWith(paper);
  });
  copy.querySelectorAll("button, .refinish-page").forEach((element) => element.remove());
  return copy;
}

// Prints the calculator alone, on one page, black on white whatever the theme: the frame has none of the page's
// style sheets, only ours. The frame stays (unseen) until the next print, since browsers print it late.
function printSheet(sheet, css) {
  document.querySelector("iframe.refinish-print")?.remove();
  const frame = document.createElement("iframe");
  frame.className = "refinish-print";
  frame.setAttribute("aria-hidden", "true");
  frame.tabIndex = -1;
  // A4 and US Letter, less their margins, both hold 180 mm by 245 mm.
  frame.style.cssText = "position: fixed; left: -9999px; top: 0; width: 180mm; height: 245mm; border: 0";
  document.body.append(frame);
  const paper = frame.contentDocument;
  paper.documentElement.className = "refinish-paper";
  const style = paper.createElement("style");
  style.textContent = css;
  paper.head.append(style);
  paper.body.append(paperCopy(sheet));
  const high = () => paper.body.getBoundingClientRect().height;
  let zoom = Math.min(1, frame.clientHeight / high());
  while (zoom > 0.2 && high() > frame.clientHeight) {
    paper.body.style.zoom = zoom.toFixed(3);
    zoom *= 0.98; // lines and borders do not shrink evenly, so it is tried
  }
  frame.contentWindow.focus();
  frame.contentWindow.print();
}

// ipywidgets writes a label beside a slider without tying the two; a screen reader then says only "slider" and a bare
// number. Our labels read "name: number unit".
function nameSliders(sheet) {
  for (const box of sheet?.querySelectorAll(".widget-slider") ?? []) {
    const [name, value] = (box.querySelector(".widget-label")?.textContent ?? "").split(": ");
    for (const handle of box.querySelectorAll(".noUi-handle")) {
      if (name && handle.getAttribute("aria-label") !== name) handle.setAttribute("aria-label", name);
      if (value && handle.getAttribute("aria-valuetext") !== value) handle.setAttribute("aria-valuetext", value);
    }
  }
}

function initialize({ model }) {
  const key = model.get("key");
  if (key) model.on("change:entries", () => writeEntries(key, model.get("entries")));
}

// Only when the controls stand: a slider that is just being made sends its first value back, over the remembered one.
// Entries in the kernel are newer than the browser's (the page was only loaded again): those stay.
function remember(model) {
  const key = model.get("key");
  if (!key || Object.keys(model.get("entries")).length > 0) return;
  model.set("remembered", readEntries(key));
  model.save_changes();
}

function render({ model, el }) {
  el.classList.add("refinish-page");
  const said = document.createElement("span");
  said.setAttribute("role", "status");
  const button = (label, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = label;
    made.addEventListener("click", act);
    return made;
  };
  const sheet = () => el.closest(".refinish-sheet");
  let quiet;
  const say = (text) => {
    said.textContent = text;
    clearTimeout(quiet);
    quiet = setTimeout(() => (said.textContent = ""), 4000);
  };
  const copy = button("Copy", async () => {
    say((await copyText(model.get("text"))) ? "Copied." : "This browser does not let a page copy: print it instead.");
  });
  const showCopy = () => (copy.hidden = model.get("text") === "");
  showCopy();
  model.on("change:text", showCopy);
  el.append(copy, button("Print", () => printSheet(sheet(), model.get("_css"))), said);

  const watcher = new MutationObserver(() => nameSliders(sheet()));
  const watch = () => {
    if (!sheet()) return (waiting = requestAnimationFrame(watch));
    nameSliders(sheet());
    const attributeFilter = ["aria-valuetext"];
    watcher.observe(sheet(), { childList: true, subtree: true, characterData: true, attributeFilter });
    remember(model);
  };
  let waiting = requestAnimationFrame(watch);
  return () => {
    cancelAnimationFrame(waiting);
    clearTimeout(quiet);
    watcher.disconnect();
    model.off("change:text", showCopy);
  };
}

export default { initialize, render };
