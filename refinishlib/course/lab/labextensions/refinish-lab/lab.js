// JupyterLab's and Notebook's side of the course. They ask window._JUPYTERLAB for extensions and hand over the packages that
// all of them share, so this one is plain modules, written as they stand and not built.

const here = document.currentScript.src;
let scope = {};

// A package that JupyterLab or Notebook has loaded itself.
async function sharedPackage(name) {
  const [version] = Object.values(scope[name] ?? {});
  if (!version) throw new Error(`refinish-lab: ${name} is not here`);
  return (await version.get())();
}

async function load() {
  const from = (file) => import(new URL(file, here).href);
  const [lumino, services, notebook, application, lesson, start, server] = await Promise.all([
    sharedPackage("@lumino/widgets"),
    sharedPackage("@jupyterlab/services"),
    sharedPackage("@jupyterlab/notebook"),
    sharedPackage("@jupyterlab/application"),
    from("lesson.js"),
    from("start.js"),
    from("server.js"),
  ]);
  await addStyle("form.css"); // what it makes higher has its height before JupyterLab lays it out
  const shared = { lumino, services, notebook };
  return {
    id: "refinish-lab:lesson",
    autoStart: true,
    optional: [application.ILayoutRestorer],
    activate: (app, restorer) => activate(app, restorer, shared, lesson, start, server),
  };
}

function addStyle(file) {
  const link = document.createElement("link");
  link.rel = "stylesheet";
  link.href = new URL(file, here).href;
  return new Promise((resolve) => {
    link.onload = link.onerror = resolve;
    document.head.append(link);
  });
}

let runAll;

function activate(app, restorer, shared, lesson, { Start }, { asking }) {
  runAll = lesson.runAll;
  const page = JSON.parse(document.getElementById("jupyter-config-data")?.textContent || "{}");
  const desk = page.refinishDesk ?? "";
  document.body.dataset.refinishDesk = desk;
  const lab = { ...shared, settings: app.serviceManager.serverSettings };
  // The tokens come with `refinish`'s own style sheet; in a JupyterLab that was started otherwise they come from here.
  if (!desk) addStyle("tokens.css");
  const ask = asking(shared.services, lab.settings);
  app.docRegistry.addWidgetExtension("Notebook", {
    createNew: (panel) => void new lesson.Lesson(app, lab, ask, desk, panel),
  });
  app.commands.addCommand("refinish:run-the-whole-lesson", {
    label: "Run the whole lesson",
    caption: "Run every cell from the top to the end",
    execute: () => inFront(app, (panel) => runAll(lab, panel)),
  });
  app.commands.addCommand("refinish:run-and-check", {
    label: "Run this cell",
    caption: "Run this cell and its check (Shift+Enter)",
    execute: () => inFront(app, (panel) => runAndCheck(lab, panel)),
  });
  document.addEventListener("refinish-bring-back", (event) => bringBack(app, lab, event));
  if (desk === "apprentice" || desk === "instructor") showStart(app, restorer, new Start(app, lab, ask, desk), desk);
}

async function showStart(app, restorer, start, desk) {
  restorer?.add(start.widget, start.widget.id); // `refinish open` lays it on an empty desk
  await app.restored;
  if (!start.widget.isAttached) app.shell.add(start.widget, "main", { mode: "tab-before", activate: false });
  if (desk === "apprentice") start.showEverything(false);
  start.widget.node.dataset.refinishReady = "yes"; // nothing is moved any more
}

let waiting = false;

async function inFront(app, run) {
  const panel = app.shell.currentWidget;
  if (!panel?.sessionContext || waiting) return; // no notebook in front, or pressed twice
  waiting = true;
  try {
    await run(panel);
  } finally {
    waiting = false;
  }
}

// Runs the cell in front, and the collapsed ones right below it: after an answer that is its check, which would else go on
// saying "not answered yet".
async function runAndCheck({ notebook: { NotebookActions } }, { content: notebook, sessionContext }) {
  const first = notebook.activeCellIndex;
  let last = first;
  while (notebook.widgets[last + 1]?.model.getMetadata("jupyter")?.source_hidden) last += 1;
  await NotebookActions.runCells(notebook, notebook.widgets.slice(first, last + 1), sessionContext);
}

// A calculator has lost its kernel and somebody wants it back: a kernel again, and the cells that made the calculator.
async function bringBack(app, lab, event) {
  const panel = [...app.shell.widgets("main")].find((widget) => widget.sessionContext && widget.node.contains(event.target));
  if (!panel) return;
  event.preventDefault();
  await panel.sessionContext.restartKernel();
  await runAll(lab, panel);
}

window._JUPYTERLAB = window._JUPYTERLAB ?? {};
window._JUPYTERLAB["refinish-lab"] = {
  init: (shareScope) => void (scope = shareScope),
  get: async () => {
    const plugin = await load();
    return () => ({ __esModule: true, default: plugin });
  },
};
