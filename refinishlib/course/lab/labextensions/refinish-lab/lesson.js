// One lesson's notebook: forms over its answer cells, its workings out of sight, running it, handing it in. Does nothing in
// a notebook that does not say that it is ours.

import { element } from "./fields.js";
import { answerForm } from "./form.js";
import { change, read } from "./literal.js";

const ID = "my_id";

const ours = (model) =>
  Boolean(model.getMetadata("refinish")) || [...model.cells].some((cell) => cell.getMetadata("refinish")?.answer);
const about = (cell) => cell.model.getMetadata("refinish") ?? {};
const graded = (cell) => cell.model.getMetadata("nbgrader") ?? {};
const isCheck = (cell) => graded(cell).grade === true && graded(cell).solution === false;
const isWorking = (cell) => cell.model.type === "code" && graded(cell).locked === true;

export class Lesson {
  constructor(app, shared, ask, desk, panel) {
    Object.assign(this, { app, shared, ask, desk, panel, notebook: panel.content, forms: new Map(), busy: false });
    panel.refinishLesson = this;
    panel.context.ready.then(() => !panel.isDisposed && this.begin());
  }

  async begin() {
    if (!ours(this.notebook.model)) return;
    this.record = this.notebook.model.getMetadata("refinish") ?? {};
    oneSaveAtATime(this.panel.context);
    this.panel.addClass("refinish-lesson");
    this.showWorkings(document.body.dataset.refinishEverything === "yes");
    this.addButtons();
    this.panel.fit(); // the toolbar is higher on a phone
    this.draw();
    this.notebook.model.cells.changed.connect(() => requestAnimationFrame(() => this.draw()));
    const known = await this.ask("lessons");
    this.known = known?.lessons?.find((one) => one.path === this.panel.context.path);
    if (this.panel.isDisposed || this.desk !== "apprentice" || !this.known || this.record.handed_in) return;
    await this.setUpFor(known.who);
  }

  // At the apprentice's own desk: the id goes in, and the lesson runs.
  async setUpFor(who) {
    const mine = this.id();
    if (who && !mine) this.writeId(who);
    if (who && mine && mine !== who) this.sayWhose(mine, who);
    if (this.id()) await this.run();
  }

  sayWhose(theirs, mine) {
    const bar = new this.shared.lumino.Widget({
      node: element(
        "div",
        { class: "refinish-lesson-bar", role: "status" },
        element("span", {}, `This lesson was begun with the id ${theirs}. You are ${mine}.`),
        element("button", { type: "button", class: "refinish-form-quiet", onclick: () => change() }, `Make it mine (${mine})`),
        element("button", { type: "button", class: "refinish-form-quiet", onclick: () => bar.dispose() }, "Leave it"),
      ),
    });
    const change = () => {
      bar.dispose();
      this.writeId(mine);
      this.draw(true);
      this.run();
    };
    this.panel.contentHeader.addWidget(bar);
  }

  idCell() {
    return this.notebook.widgets.find((cell) => cell.model.type === "code" && !isWorking(cell) && read(cell.model.sharedModel.source, ID).source);
  }

  // The id that the notebook says, in the words of the text; empty where there is none.
  id() {
    const found = this.idCell() && read(this.idCell().model.sharedModel.source, ID);
    return found?.kind === "text" ? found.value.trim().toLowerCase() : "";
  }

  writeId(who) {
    const model = this.idCell()?.model.sharedModel;
    const edit = model && change(model.source, ID, who);
    if (edit) model.updateSource(edit.start, edit.end, edit.text);
  }

  draw(anew = false) {
    const cells = new Set(this.notebook.widgets);
    for (const [cell, form] of this.forms) {
      if (cells.has(cell) && !anew) continue;
      form.dispose();
      form.widget?.dispose();
      this.forms.delete(cell);
    }
    for (const cell of cells) {
      cell.toggleClass("refinish-working", isWorking(cell));
      cell.toggleClass("refinish-check", isCheck(cell) && cell.model.type === "code");
      if (Array.isArray(about(cell).answer) && !this.forms.has(cell)) this.addForm(cell);
      if (graded(cell).grade_id === "hand-in" && this.handsIn) this.addHandIn(cell);
    }
  }

  addForm(cell) {
    const form = answerForm(cell, this.described(cell), this.deskOf(cell));
    this.forms.set(cell, form);
    cell.ready.then(() => {
      if (cell.isDisposed || this.forms.get(cell) !== form) return form.dispose();
      form.widget = new this.shared.lumino.Widget({ node: form.node });
      const at = cell.layout.widgets.findIndex((inside) => inside.hasClass("jp-Cell-inputWrapper"));
      cell.layout.insertWidget(Math.max(at, 0), form.widget);
      cell.addClass("refinish-answer");
    });
  }

  get handsIn() {
    return this.desk !== "instructor" && !this.record.handed_in;
  }

  // The button once more, where the lesson ends.
  addHandIn(cell) {
    if (cell.node.classList.contains("refinish-has-hand-in")) return;
    cell.addClass("refinish-has-hand-in");
    const button = element("button", { type: "button", class: "refinish-form-main", onclick: () => this.handIn() }, "Hand in");
    const node = element("div", { class: "refinish-form refinish-hand-in", "data-lm-suppress-shortcuts": true }, button);
    cell.ready.then(() => !cell.isDisposed && cell.layout.addWidget(new this.shared.lumino.Widget({ node })));
  }

  described(cell) {
    const answer = about(cell).answer.filter((field) => typeof field?.name === "string");
    const isId = answer.length === 1 && answer[0].name === ID;
    const question = this.question(cell);
    const legend = about(cell).legend ?? (isId ? "Who you are" : question ? `Your answer to ${question}` : "Your answer");
    return { ...about(cell), answer, legend, button: isId ? "Set up the lesson" : undefined };
  }

  question(cell) {
    return about(cell).question ?? /^answer-([\w-]+)$/.exec(graded(cell).grade_id ?? "")?.[1].replaceAll("-", ".") ?? "";
  }

  deskOf(cell) {
    const isId = about(cell).answer.some((field) => field.name === ID);
    return {
      id: () => this.id(),
      save: () => this.save(),
      touched: () => this.forgetVerdicts(cell),
      check: async (source) => {
        if (isId) return this.newId(read(source, ID).value);
        const body = { lesson: this.lesson, question: this.question(cell), id: this.id(), texts: this.answers() };
        const said = await this.ask("check", body);
        return said?.fields ? said : null;
      },
      runCheck: () => this.runCheck(cell),
    };
  }

  answers() {
    const cells = this.notebook.widgets.filter((cell) => cell.model.type === "code" && !isWorking(cell));
    return cells.map((cell) => cell.model.sharedModel.source);
  }

  get lesson() {
    return this.record.lesson ?? this.panel.context.path.split("/").pop().replace(/\.ipynb$/, "");
  }

  async newId(typed) {
    const answer = await this.ask("id", { id: typed });
    if (answer?.problem) return { fields: [{ name: ID, state: "cannot be read", sentence: answer.problem }], summary: "" };
    this.draw(true);
    this.run();
    return { fields: [], summary: `The lesson is set up for ${this.id()}.` };
  }

  // No old verdict stands below a new entry: what the answer's own cell and the check below it had said is taken away.
  forgetVerdicts(cell) {
    for (const one of [cell, ...this.checksOf(cell)]) {
      one.removeClass("refinish-check-shown");
      if (one.model.type === "code" && one.model.outputs.length) one.model.clearExecution();
    }
  }

  checksOf(cell) {
    const cells = this.notebook.widgets;
    const found = [];
    for (let at = cells.indexOf(cell) + 1; at < cells.length && isCheck(cells[at]) && isWorking(cells[at]); at++) found.push(cells[at]);
    return found;
  }

  // Without our handler: the check cell itself, which needs the kernel.
  async runCheck(cell) {
    const checks = this.checksOf(cell);
    if (!checks.length || !this.panel.sessionContext.session?.kernel) return "The check needs the lesson to run first.";
    const stale = this.watchEntries();
    await this.shared.notebook.NotebookActions.runCells(this.notebook, [cell, ...checks], this.panel.sessionContext);
    for (const check of checks) check.addClass("refinish-check-shown");
    stale();
    return "";
  }

  // A run that began before the last key was pressed speaks of the old entry: its verdicts go when it ends.
  watchEntries() {
    const before = [...this.forms.keys()].map((cell) => [cell, cell.model.sharedModel.source]);
    return () => {
      for (const [cell, source] of before) if (!cell.isDisposed && cell.model.sharedModel.source !== source) this.forgetVerdicts(cell);
    };
  }

  // Runs every cell, and the reader stays where they are. Waits for a kernel that still starts.
  async run() {
    if (this.busy) return;
    this.busy = true;
    this.panel.node.dataset.refinishRun = "running";
    const stale = this.watchEntries();
    try {
      await runAll(this.shared, this.panel);
    } finally {
      if (!this.panel.isDisposed) stale();
      this.busy = false;
      this.panel.node.dataset.refinishRun = "done";
    }
  }

  save() {
    return this.panel.context.save();
  }

  showWorkings(shown = this.panel.hasClass("refinish-plain")) {
    this.panel.toggleClass("refinish-plain", !shown);
    this.workings?.setAttribute("aria-pressed", shown);
  }

  addButtons() {
    const { Widget } = this.shared.lumino;
    const put = (name, label, title, click) => {
      const button = element("button", { type: "button", class: `refinish-tool refinish-tool-${name}`, title, onclick: click }, label);
      this.panel.toolbar.insertItem(0, `refinish-${name}`, new Widget({ node: element("div", {}, button) }));
      return button;
    };
    if (this.desk !== "apprentice") {
      this.workings = put("workings", "Show the workings", "Show code, checks and cell frames", () => this.showWorkings());
      this.workings.setAttribute("aria-pressed", "false");
    }
    if (this.handsIn) {
      put("hand-in", "Hand in", "Save, and put the file to hand in into the folder hand-in", () => this.handIn());
    }
  }

  async handIn() {
    await this.save();
    await handIn(this.ask, this.panel.context.path, this.shared.settings.baseUrl);
  }
}

// JupyterLab takes its own save that is still under way for somebody else's change of the file, and asks who is right.
function oneSaveAtATime(context) {
  const save = context.save.bind(context);
  let last = Promise.resolve();
  context.save = () => (last = last.catch(() => {}).then(save));
}

export async function runAll(shared, panel) {
  const { sessionContext, content: notebook } = panel;
  await sessionContext.ready;
  await sessionContext.session?.kernel?.info;
  if (panel.isDisposed) return;
  await shared.notebook.NotebookActions.runCells(notebook, notebook.widgets, sessionContext);
}

// Asks the server, says what is empty or cannot be read, and where the file is. Says the same from the start page.
export async function handIn(ask, path, baseUrl) {
  let answer = await ask("hand-in", { path });
  while (answer?.problems) {
    if (!(await talk(problemsIn(answer)))) return null;
    answer = await ask("hand-in", { path, sure: true });
  }
  if (!answer?.file) {
    const said = answer?.problem ?? "Nothing was handed in: the server does not answer. Your entries are kept. Try again.";
    await talk({ title: "Not handed in", body: [element("p", {}, said)], close: "Close" });
    return null;
  }
  const where = element("a", { href: `${baseUrl}files/${encodeURI(answer.file)}?download=1`, download: answer.name }, answer.name);
  await talk({
    title: "Handed in",
    body: [
      element("p", {}, "Your file is ", element("strong", {}, answer.name), " in the folder ", element("strong", {}, answer.folder), "."),
      element("p", {}, "Give it to your instructor. Need a copy? Take it here: ", where),
      element("p", {}, "Changed something? Hand in again. The last one counts."),
    ],
    close: "Done",
  });
  return answer;
}

function problemsIn({ problems, whose }) {
  const list = (kind, heading) => {
    const found = problems.filter((one) => one.state === kind);
    if (!found.length) return [];
    const rows = found.map((one) => element("li", {}, one.question ? element("strong", {}, `${one.question}  `) : "", kind === "not answered" ? one.label : one.sentence));
    return [element("h3", {}, heading), element("ul", {}, ...rows)];
  };
  return {
    title: "Before you hand in",
    body: [
      ...list("cannot be read", "Cannot be read, and would earn nothing"),
      ...list("not answered", "Still empty"),
      whose ? null : element("p", {}, "The lesson has no id yet. Type it first."),
    ],
    close: "Go back to the lesson",
    go: whose ? "Hand in as it is" : null,
  };
}

// A window of our own over the page, left with Escape; true when it was told to go on.
function talk({ title, body, close, go }) {
  return new Promise((resolve) => {
    const heading = element("h2", { id: "refinish-talk-title" }, title);
    const buttons = [
      element("button", { type: "submit", value: "", class: "refinish-form-main", autofocus: true }, close),
      go ? element("button", { type: "submit", value: "go", class: "refinish-form-quiet" }, go) : null,
    ];
    const box = element(
      "dialog",
      { class: "refinish-talk", "aria-labelledby": heading.id, "data-lm-suppress-shortcuts": true },
      heading,
      element("div", { class: "refinish-talk-body" }, ...body),
      element("form", { method: "dialog", class: "refinish-form-foot" }, ...buttons),
    );
    box.addEventListener("close", () => {
      box.remove();
      resolve(box.returnValue === "go");
    });
    document.body.append(box);
    box.showModal();
  });
}
