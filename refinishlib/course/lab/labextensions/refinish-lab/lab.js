// JupyterLab's side of the course, served only by `refinish`. JupyterLab asks window._JUPYTERLAB for its extensions;
// this one needs none of its packages, so it is written as it stands and not built.

let waiting = false;

// JupyterLab's own command drops the run while the kernel still starts, and jumps to the last cell. Here it waits, and
// the reader stays at the same place.
async function runTheWholeLesson(app) {
  const panel = app.shell.currentWidget;
  const notebook = panel?.content;
  if (!panel?.sessionContext || waiting) return; // no notebook in front, or pressed twice
  waiting = true;
  try {
    await panel.sessionContext.ready;
    await panel.sessionContext.session?.kernel?.info;
  } finally {
    waiting = false;
  }
  if (app.shell.currentWidget !== panel) return; // gone to another tab meanwhile
  const cell = notebook.activeCellIndex;
  notebook.scrollToItem = async () => {};
  let done;
  try {
    done = app.commands.execute("notebook:run-all-cells");
  } finally {
    delete notebook.scrollToItem;
    notebook.activeCellIndex = cell;
  }
  await done;
}

// Runs the cell in front, and the collapsed ones right below it: after an answer that is its check, which would else go on
// saying "not answered yet".
async function runAndCheck(app) {
  const notebook = app.shell.currentWidget?.content;
  if (!notebook?.widgets) return;
  const runs = [app.commands.execute("notebook:run-cell")];
  while (notebook.activeCellIndex + 1 < notebook.widgets.length) {
    notebook.activeCellIndex += 1;
    if (!notebook.activeCell.model.getMetadata("jupyter")?.source_hidden) break;
    runs.push(app.commands.execute("notebook:run-cell"));
  }
  await Promise.all(runs);
}

// A calculator has lost its kernel and somebody wants it back: a kernel again, and the cells that made the calculator.
async function bringBack(app, event) {
  const panel = [...app.shell.widgets("main")].find((widget) => widget.sessionContext && widget.node.contains(event.target));
  if (!panel) return;
  event.preventDefault();
  app.shell.activateById(panel.id);
  await panel.sessionContext.restartKernel();
  await runTheWholeLesson(app);
}

// A painter's page has nothing to read first: the calculators come by themselves.
async function runOnOpen(app) {
  await app.restored;
  const panel = app.shell.currentWidget;
  if (!panel?.sessionContext) return;
  await Promise.all([panel.revealed, panel.context.ready]);
  await runTheWholeLesson(app);
}

const plugin = {
  id: "refinish-lab:lesson",
  autoStart: true,
  activate: (app) => {
    app.commands.addCommand("refinish:run-the-whole-lesson", {
      label: "Run the whole lesson",
      caption: "Run every cell from the top to the end",
      execute: () => runTheWholeLesson(app),
    });
    app.commands.addCommand("refinish:run-and-check", {
      label: "Run this cell",
      caption: "Run this cell and its check (Shift+Enter)",
      execute: () => runAndCheck(app),
    });
    document.addEventListener("refinish-bring-back", (event) => bringBack(app, event));
    const page = JSON.parse(document.getElementById("jupyter-config-data")?.textContent || "{}");
    document.body.dataset.refinishDesk = page.refinishDesk;
    if (page.refinishDesk === "painter") runOnOpen(app);
  },
};

window._JUPYTERLAB = window._JUPYTERLAB ?? {};
window._JUPYTERLAB["refinish-lab"] = { init: () => {}, get: async () => () => ({ __esModule: true, default: plugin }) };
