// The page that an apprentice begins at: who they are, the lessons and where each one stands, how it goes.

import { element } from "./fields.js";
import { handIn } from "./lesson.js";

const STANDS = {
  "not begun": ["Not begun", "Begin"],
  begun: ["Begun", "Go on"],
  "all answered": ["All answered", "Look through it"],
  "handed in": ["Handed in", "Open it"],
};

export class Start {
  constructor(app, shared, ask, desk) {
    Object.assign(this, { app, shared, ask, desk });
    this.node = element("div", { class: "refinish-start", "data-lm-suppress-shortcuts": true });
    const start = this;
    const widget = new (class extends shared.lumino.Widget {
      onActivateRequest() {
        if (!this.node.contains(document.activeElement)) this.node.focus();
      }
      onAfterShow() {
        start.draw();
      }
    })({ node: element("div", { class: "refinish-start-page", tabindex: "-1" }, this.node) });
    widget.id = "refinish-start";
    widget.title.label = "Start";
    widget.title.closable = false;
    widget.title.caption = "The lessons, and where you stand";
    this.widget = widget;
    this.node.append(...lead(), element("p", { class: "refinish-start-wait", role: "status" }, "Looking where you stand ..."));
    this.draw();
  }

  async draw() {
    const known = await this.ask("lessons");
    if (!known?.lessons) return this.sayWhyNot(known?.problem);
    // What is being typed stays: the page is built anew only where something stands otherwise.
    if (this.node.querySelector(".refinish-start-lessons") && JSON.stringify(known) === JSON.stringify(this.known)) return;
    this.known = known;
    const focused = this.node.contains(document.activeElement) ? document.activeElement.dataset.keep : undefined;
    this.node.replaceChildren(
      ...lead(),
      ...(this.desk === "apprentice" ? [this.who(known.who)] : []),
      element("h2", {}, "Lessons"),
      element("ol", { class: "refinish-start-lessons" }, ...known.lessons.map((one) => this.card(one))),
      ...(this.desk === "apprentice" ? how() : []),
      element("h2", {}, "Before you open a tin"),
      element(
        "p",
        {},
        "These lessons are about numbers. For the paint in your hand the safety data sheet, your local rules and your instructor come first.",
      ),
      ...(this.desk === "apprentice" ? [this.everything()] : []),
    );
    if (focused) this.node.querySelector(`[data-keep="${CSS.escape(focused)}"]`)?.focus();
  }

  // The lessons could not be had: in words, with a way to try again. What stands there already stays.
  sayWhyNot(problem) {
    if (this.node.querySelector(".refinish-start-lessons")) return;
    const again = element("button", { type: "button", class: "refinish-form-main", onclick: () => this.draw() }, "Try again");
    const said = problem ?? "The server does not answer. Is the window that you started it in still open?";
    this.node.replaceChildren(...lead(), element("p", { class: "refinish-form-said", "data-state": "cannot be read", role: "status" }, said), again);
  }

  // Menus and side bars, which an apprentice never needs, and every lesson's workings.
  showEverything(shown) {
    const { shell } = this.app;
    this.allShown = shown;
    document.body.dataset.refinishEverything = shown ? "yes" : "no";
    for (const widget of shell.widgets("top")) widget.parent?.setHidden(!shown);
    for (const side of ["left", "right"]) if (shell.isSideTabBarVisible(side) !== shown) shell.toggleSideTabBarVisibility(side);
    for (const panel of shell.widgets("main")) panel.refinishLesson?.showWorkings(shown);
  }

  who(id) {
    const entry = element("input", {
      type: "text", class: "refinish-form-entry", id: "refinish-who", name: "id", value: id, autocomplete: "off", autocapitalize: "none",
      spellcheck: "false", size: "12", maxlength: "64", "aria-describedby": "refinish-who-said",
    }); // prettier-ignore
    const said = element("p", { class: "refinish-form-said", id: "refinish-who-said", role: "status" });
    const remember = async (event) => {
      event.preventDefault();
      const answer = await this.ask("id", { id: entry.value });
      if (answer?.who) {
        this.known = null;
        return this.draw();
      }
      said.dataset.state = "cannot be read";
      said.textContent = answer?.problem ?? "The server does not answer. Try again.";
      entry.focus();
    };
    const ask = element(
      "form",
      { class: "refinish-start-who", onsubmit: remember, hidden: Boolean(id) },
      element("label", { for: "refinish-who" }, "Your id"),
      element("span", { class: "refinish-start-hint" }, "Your instructor gave you one, for example a07. It picks your own numbers."),
      element("div", { class: "refinish-form-line" }, entry, element("button", { type: "submit", class: "refinish-form-main" }, "Remember it")),
      said,
    );
    if (!id) return ask;
    const other = element("button", { type: "button", class: "refinish-form-quiet", onclick: () => { now.hidden = true; ask.hidden = false; entry.focus(); entry.select(); } }, "Not you?"); // prettier-ignore
    const now = element("p", { class: "refinish-start-now" }, "You are ", element("strong", {}, id), ". ", other);
    return element("div", {}, now, ask);
  }

  card(one) {
    const [stands, verb] = STANDS[one.state];
    const count = one.state === "begun" ? `: ${one.answered} of ${one.asked} fields filled in` : "";
    const when = one.handed_in ? ` on ${new Date(one.handed_in).toLocaleString([], { dateStyle: "medium", timeStyle: "short" })}` : "";
    const changed = one.changed ? " Changed since: hand in again." : "";
    const open = element("button", { type: "button", class: "refinish-form-main", "data-keep": `open ${one.lesson}`, onclick: () => this.open(one) }, verb);
    open.setAttribute("aria-label", `${verb}: ${one.title}`);
    const give = element("button", { type: "button", class: "refinish-form-quiet", "data-keep": `hand in ${one.lesson}`, onclick: () => this.handIn(one) }, "Hand in");
    give.setAttribute("aria-label", `Hand in: ${one.title}`);
    const mine = this.desk === "apprentice";
    return element(
      "li",
      { class: "refinish-start-lesson", "data-state": one.state },
      element("h3", {}, one.title),
      one.good_for ? element("p", {}, element("strong", {}, "At work: "), one.good_for) : null,
      element(
        "p",
        { class: "refinish-start-stand" },
        one.minutes ? element("span", {}, `${one.minutes} minutes`) : null,
        mine ? element("span", { class: "refinish-start-state" }, `${stands}${count}${when}.${changed}`) : null,
      ),
      one.unreadable.length ? element("p", { class: "refinish-form-said", "data-state": "cannot be read" }, one.unreadable[0]) : null,
      element("div", { class: "refinish-form-foot" }, open, mine && one.state !== "not begun" ? give : null),
    );
  }

  async open(one) {
    if (this.desk === "apprentice" && !this.known.who) {
      const entry = this.node.querySelector("#refinish-who");
      const said = this.node.querySelector("#refinish-who-said");
      said.dataset.state = "cannot be read";
      said.textContent = "First type your id. The lesson needs it for your numbers.";
      entry.focus();
      return;
    }
    await this.app.commands.execute("docmanager:open", { path: one.path, factory: "Notebook" });
  }

  async handIn(one) {
    const panel = [...this.app.shell.widgets("main")].find((widget) => widget.context?.path === one.path);
    await panel?.context.save();
    await handIn(this.ask, one.path, this.shared.settings.baseUrl);
    await this.draw();
  }

  everything() {
    const words = () => (this.allShown ? "Hide menus and code again" : "For the instructor: show menus and code");
    const button = element("button", { type: "button", class: "refinish-form-quiet", "data-keep": "everything" }, words());
    button.addEventListener("click", () => {
      this.showEverything(!this.allShown);
      button.textContent = words();
    });
    return element("p", { class: "refinish-start-everything" }, button);
  }
}

function lead() {
  return [
    element("h1", {}, "Refinishing by numbers"),
    element(
      "p",
      { class: "refinish-start-lead" },
      "You know the gun. Here you learn the numbers behind the job: how much to mix, what the scale must show, what to do ",
      "when the pour went wrong. You read, you move a few controls, you fill in forms. Nothing you do here can break anything.",
    ),
  ];
}

function how() {
  const steps = [
    "Pick a lesson. It opens and runs by itself, with your own numbers.",
    "Work from top to bottom. Practice is free: nothing there counts.",
    "Fill in your answers. Numbers take a comma or a point, and a unit if you like.",
    "Press Check my entry. It says what was read, not whether it is right.",
    "Leave empty what you do not know. The lesson saves itself; come back any day.",
  ];
  return [
    element("h2", {}, "How a lesson works"),
    element("ol", {}, ...steps.map((step) => element("li", {}, step))),
    element("h2", {}, "Handing in"),
    element(
      "p",
      {},
      "Press ", element("strong", {}, "Hand in"), ", here or at the top of the lesson. It saves, says what is still empty, and puts one file ",
      "into the folder ", element("strong", {}, "hand-in"), ". Give that file to your instructor.",
    ), // prettier-ignore
  ];
}
