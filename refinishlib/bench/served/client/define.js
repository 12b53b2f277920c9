// anywidget comes as a module of the kind that asks a loader for what it needs: this is that loader.
import * as base from "@jupyter-widgets/base";
export const made = {};
globalThis.define = (needs, make) => Object.assign(made, make(base));
