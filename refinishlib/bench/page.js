// What ipywidgets lacks, in one place: copy, print, remember, wait, notice that the kernel is gone, and names for what
// has none.
// Python's side is page.py. A calculator is the nearest ancestor with the class "refinish-sheet".

const storageName = (key) => `refinish: ${key}`;

// The bench's own page keeps entries on its server, for all devices (`refinishBench`); anywhere else the browser does.
function readEntries(key) {
  if (window.refinishBench) return window.refinishBench.entries;
  try {
    return JSON.parse(window.localStorage.getItem(storageName(key)) ?? "{}");
  } catch {
    return {}; // no storage in this browser, or not ours: begin with the defaults
  }
}

function writeEntries(key, entries) {
  if (window.refinishBench) return window.refinishBench.keep(entries);
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
  copy.querySelectorAll("details").forEach((element) => (element.open = true));
  // On paper the dangers by their names and who has the last word: all that is said of them would shrink the sheet.
  copy.querySelectorAll("details.refinish-caution dl").forEach((element) => element.remove());
  copy.querySelectorAll("button, .refinish-page, .refinish-gone").forEach((element) => element.remove());
  return copy;
}

// Above everything on paper: the day, what the job is, and a line for the name of whoever did it.
function paperHead(job) {
  const head = document.createElement("div");
  head.className = "refinish-paper-head";
  const day = new Date().toLocaleDateString(undefined, { day: "numeric", month: "long", year: "numeric" });
  const what = [job.vehicle, job.colour, job.panel].filter(Boolean).join(", ");
  for (const words of [day, what, "Name: ____________________"]) {
    const part = document.createElement("span");
    part.textContent = words;
    head.append(part);
  }
  return head;
}

// Prints the calculator alone, on one page, black on white whatever the theme: the frame has none of the page's
// style sheets, only ours. The frame stays (unseen) until the next print, since browsers print it late.
function printSheet(sheet, css, job) {
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
  paper.body.append(paperHead(job), paperCopy(sheet));
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

// Whatever is drawn from an entry is dimmed from the moment the entry changes until the kernel has answered.
//
// The kernel works messages off in their order, so an answer to a question asked after a change means that the change
// was drawn. ipywidgets holds one change back while another is on its way and sends it when that one is done; so there
// are two questions, one after the other, and the second comes after any change that was held back.
const ROUNDS = 2;

function waiter(model, sheet) {
  let asked = 0;
  let round = 0;
  let settings = false;
  const ask = () => model.send({ ask: ++asked });
  const change = (event) => {
    if (!sheet() || sheet().classList.contains("refinish-off")) return;
    const inSettings = event.target?.closest?.(".refinish-settings");
    // A text in the settings was sent key by key; that it is left for a button is no change any more.
    if (inSettings && event.type === "change" && event.target.type === "text") return;
    settings ||= Boolean(inSettings);
    sheet().classList.add("refinish-waiting");
    round = 1;
    ask();
  };
  const answered = (content) => {
    if (content?.answered !== asked) return false;
    if (round < ROUNDS) {
      round += 1;
      ask();
      return true;
    }
    settings = false;
    sheet()?.classList.remove("refinish-waiting");
    return true;
  };
  // A tap that was meant for a figure which is just being replaced would count for another one.
  const keepOff = (event) => {
    if (!settings || !event.target.closest(".refinish-shown .widget-button")) return;
    event.stopImmediatePropagation();
    event.preventDefault();
  };
  return { ask, change, answered, keepOff };
}

// Whether what is typed and tapped still reaches a kernel that knows this calculator. Where the host lets us see no
// kernel at all, only what ipywidgets itself says counts.
const GONE_FOR_GOOD = ["dead", "terminating", "restarting", "autorestarting"];

function connection(model, el) {
  const kernel = model.widget_manager?.kernel;
  if (kernel === null || kernel?.isDisposed || GONE_FOR_GOOD.includes(kernel?.status)) return "gone";
  if (el.closest(".jupyter-widgets-disconnected")) return "gone";
  if (kernel && kernel.connectionStatus !== "connected") return "lost";
  return "there";
}

const LOOK_EVERY_MS = 500;
const PATIENCE_MS = 5000;

// Says that nothing counts while the kernel is gone, and brings it back.
function watchKernel(model, el, sheet, ask) {
  const first = model.widget_manager?.kernel?.id;
  const banner = document.createElement("div");
  banner.className = "refinish-gone";
  banner.setAttribute("role", "alert");
  const words = document.createElement("span");
  const back = document.createElement("button");
  back.type = "button";
  back.textContent = "Bring it back";
  banner.append(words, back);
  const off = new Set();
  let state = "there"; // "lost" may come back by itself, "gone" needs a fresh calculator

  const show = () => {
    const alive = state === "there";
    sheet().classList.toggle("refinish-off", !alive);
    words.textContent = "Not connected: nothing is counted until it is back.";
    if (alive) {
      banner.remove();
      for (const control of off) control.disabled = false;
      off.clear();
      return;
    }
    sheet().classList.remove("refinish-waiting");
    if (!banner.isConnected) sheet().prepend(banner);
    for (const control of sheet().querySelectorAll("input, select, textarea, button")) {
      if (control.disabled || control === back || control.closest(".refinish-page, .refinish-fold")) continue;
      control.disabled = true;
      off.add(control);
    }
  };
  const look = () => {
    if (!sheet()) return;
    const other = model.widget_manager?.kernel?.id;
    const now = first && other && first !== other ? "gone" : connection(model, el);
    if (now === "there") {
      if (state === "lost") ask(); // only its answer shows that this calculator is still known there
    } else if (state !== "gone") {
      state = now;
    }
    show();
  };
  const answered = () => {
    if (state === "lost" && connection(model, el) === "there") state = "there";
    show();
  };
  // A kernel that dies starts anew so fast that it may be missed between two looks.
  const kernel = model.widget_manager?.kernel;
  const changed = (_, status) => {
    if (GONE_FOR_GOOD.includes(status)) state = "gone";
    look();
  };
  kernel?.statusChanged?.connect(changed);
  kernel?.connectionStatusChanged?.connect(look);
  model.on("comm_live_update", look);
  const timer = setInterval(look, LOOK_EVERY_MS);

  // Whoever opened the page knows best how to start it again, and says so by taking the event; else it is loaded anew.
  back.addEventListener("click", async () => {
    words.textContent = "It is being brought back ...";
    const kernel = model.widget_manager?.kernel;
    if (state === "lost" && kernel && !kernel.isDisposed) {
      await Promise.race([kernel.reconnect?.(), new Promise((resolve) => setTimeout(resolve, 5000))]).catch(() => {});
      return look();
    }
    const asked = new CustomEvent("refinish-bring-back", { bubbles: true, cancelable: true });
    if (sheet().dispatchEvent(asked)) window.location.reload();
  });
  return {
    answered,
    stop: () => {
      clearInterval(timer);
      kernel?.statusChanged?.disconnect(changed);
      kernel?.connectionStatusChanged?.disconnect(look);
      model.off("comm_live_update", look);
    },
  };
}

// What was said about an entry goes as soon as a key changes it; a new verdict comes as a new element.
function hideVerdict(event) {
  for (const said of event.currentTarget.querySelectorAll(".refinish-verdict")) said.hidden = true;
}

// On a phone the settings are one line that opens on a tap; the style sheet decides when that is.
function foldSettings(model, sheet) {
  const settings = sheet.querySelector(".refinish-settings");
  if (!settings || settings.querySelector(".refinish-fold")) return () => {};
  const fold = document.createElement("button");
  fold.type = "button";
  fold.className = "refinish-fold";
  const label = () => {
    const open = settings.classList.contains("refinish-open");
    fold.setAttribute("aria-expanded", String(open));
    fold.textContent = model.get("summary") || "Settings";
  };
  fold.addEventListener("click", () => {
    settings.classList.toggle("refinish-open");
    label();
  });
  settings.prepend(fold);
  label();
  model.on("change:summary", label);
  return () => model.off("change:summary", label);
}

// A text of several lines may come from a file: it is read here and stands in the field as if it were typed.
const LONGEST_FILE = 1_000_000;

function offerFiles(sheet, say) {
  for (const field of sheet?.querySelectorAll(".refinish-from-file") ?? []) {
    if (field.querySelector(".refinish-file")) continue;
    const area = field.querySelector("textarea");
    if (!area) continue;
    const picker = document.createElement("input");
    picker.type = "file";
    picker.accept = ".txt,.csv,.cgats,.ti3,.cxf,text/*";
    const label = document.createElement("label");
    label.className = "refinish-file";
    label.append("From a file", picker);
    picker.addEventListener("change", async () => {
      const [file] = picker.files;
      picker.value = "";
      if (!file) return;
      if (file.size > LONGEST_FILE) return say("That file is too large to be a reading.");
      area.value = await file.text();
      for (const name of ["input", "change"]) area.dispatchEvent(new Event(name, { bubbles: true }));
    });
    field.append(label);
  }
}

// A clock that runs: what happens now, for how long still, and what comes next. The plan is in the element, as times.
const TICK_MS = 500;

function runClocks(sheet) {
  for (const place of sheet?.querySelectorAll("[data-refinish-clock]") ?? []) {
    const steps = JSON.parse(place.dataset.refinishClock);
    const now = Date.now();
    const at = steps.findIndex((one) => now < one.ends_ms);
    const left = (ms) => {
      const seconds = Math.max(0, Math.ceil(ms / 1000));
      const two = (number) => String(number).padStart(2, "0");
      const hours = Math.floor(seconds / 3600);
      return `${hours ? `${hours}:` : ""}${hours ? two(Math.floor(seconds / 60) % 60) : Math.floor(seconds / 60)}:${two(seconds % 60)}`;
    };
    const when = (ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    const lines = { now: "It is done.", left: "", next: `Ended at ${when(steps.at(-1).ends_ms)}.` };
    if (at >= 0) {
      const step = steps[at];
      const waits = now < step.begins_ms;
      lines.now = waits ? `Begins soon: ${step.label}` : step.label;
      lines.left = left((waits ? step.begins_ms : step.ends_ms) - now);
      const next = steps[waits ? at : at + 1];
      lines.next = next ? `Next at ${when(next.begins_ms)}: ${next.label}` : `Then it is done, at ${when(step.ends_ms)}.`;
    }
    for (const [name, words] of Object.entries(lines)) {
      const part = place.querySelector(`[data-part=${name}]`);
      if (part && part.textContent !== words) part.textContent = words;
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
  model.set("east_of_utc_min", -new Date().getTimezoneOffset());
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
  // What is copied, printed or taken along is the answer to what is entered now, not the one before it.
  const settled = async () => {
    const until = Date.now() + PATIENCE_MS;
    while (sheet()?.classList.contains("refinish-waiting") && Date.now() < until) {
      await new Promise((resolve) => setTimeout(resolve, 30));
    }
  };
  const copy = button("Copy", async () => {
    await settled();
    say((await copyText(model.get("text"))) ? "Copied." : "This browser does not let a page copy: print it instead.");
  });
  const showCopy = () => (copy.hidden = model.get("text") === "");
  showCopy();
  model.on("change:text", showCopy);
  el.append(copy, button("Print", () => settled().then(() => printSheet(sheet(), model.get("_css"), model.get("job")))));
  const take = button("Take this into the job", async () => {
    await settled();
    model.set("job", { ...model.get("job"), ...model.get("hands") });
    model.save_changes();
    say("The job has it now.");
  });
  const showTake = () => {
    const [job, hands] = [model.get("job"), model.get("hands")];
    take.hidden = Object.keys(job).length === 0 || Object.entries(hands).every(([name, value]) => job[name] === value);
  };
  showTake();
  for (const name of ["job", "hands"]) model.on(`change:${name}`, showTake);
  el.append(take);
  // In a lesson: the same calculator on the bench, where it is remembered and belongs to the job.
  const lab = JSON.parse(document.getElementById("jupyter-config-data")?.textContent || "{}");
  if (lab.refinishDesk && model.get("address")) {
    const way = document.createElement("a");
    way.href = `${lab.baseUrl}refinish/${model.get("address")}`;
    way.target = "_blank";
    way.rel = "noopener";
    way.textContent = "On the bench";
    el.append(way);
  }
  el.append(said);

  const waits = waiter(model, sheet);
  let kernel;
  let unfold = () => {};
  const heard = (content) => {
    if (waits.answered(content)) kernel?.answered();
  };
  model.on("msg:custom", heard);
  const tapped = (event) => event.target.closest(".widget-button") && waits.change(event);
  const watcher = new MutationObserver((changes) => {
    nameSliders(sheet());
    if (changes.some((change) => change.target.classList?.contains("noUi-handle"))) waits.change(changes[0]);
  });
  const watch = () => {
    if (!sheet()) return (waiting = requestAnimationFrame(watch));
    nameSliders(sheet());
    offerFiles(sheet(), say);
    runClocks(sheet());
    ticking = setInterval(() => runClocks(sheet()), TICK_MS);
    const attributeFilter = ["aria-valuetext"];
    watcher.observe(sheet(), { childList: true, subtree: true, characterData: true, attributeFilter });
    sheet().addEventListener("click", waits.keepOff, true);
    sheet().addEventListener("click", tapped);
    for (const name of ["input", "change"]) sheet().addEventListener(name, waits.change);
    sheet().addEventListener("input", hideVerdict);
    unfold = foldSettings(model, sheet());
    kernel = watchKernel(model, el, sheet, waits.ask);
    remember(model);
  };
  let ticking;
  let waiting = requestAnimationFrame(watch);
  return () => {
    cancelAnimationFrame(waiting);
    clearInterval(ticking);
    clearTimeout(quiet);
    watcher.disconnect();
    kernel?.stop();
    unfold();
    model.off("msg:custom", heard);
    model.off("change:text", showCopy);
    for (const name of ["job", "hands"]) model.off(`change:${name}`, showTake);
  };
}

export default { initialize, render };
