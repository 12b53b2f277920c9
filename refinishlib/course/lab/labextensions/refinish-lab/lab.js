// JupyterLab's side of the course, served only by `refinish`. JupyterLab asks window._JUPYTERLAB for its extensions;
// this one needs none of its packages, so it is written as it stands and not built.

// JupyterLab's own command runs all cells and jumps to the last one. Here the reader stays at the same place.
function runTheWholeLesson(app) {
  const notebook = app.shell.currentWidget?.content;
  if (!notebook?.scrollToItem) return; // no notebook in front
  const cell = notebook.activeCellIndex;
  notebook.scrollToItem = async () => {};
  try {
    return app.commands.execute("notebook:run-all-cells");
  } finally {
    delete notebook.scrollToItem;
    notebook.activeCellIndex = cell;
  }
}

// A painter's page has nothing to read first: the calculators come by themselves.
async function runOnOpen(app) {
  await app.restored;
  const panel = app.shell.currentWidget;
  if (!panel?.sessionContext) return;
  await Promise.all([panel.revealed, panel.context.ready, panel.sessionContext.ready]);
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
    const page = JSON.parse(document.getElementById("jupyter-config-data")?.textContent || "{}");
    document.body.dataset.refinishDesk = page.refinishDesk;
    if (page.refinishDesk === "painter") runOnOpen(app);
  },
};

window._JUPYTERLAB = window._JUPYTERLAB ?? {};
window._JUPYTERLAB["refinish-lab"] = { init: () => {}, get: async () => () => ({ __esModule: true, default: plugin }) };
