// The page of one calculator: takes a kernel from the server, makes the calculator there, and shows it here.
import { KernelManager, ServerConnection } from "@jupyterlab/services";
import { ManagerBase } from "@jupyter-widgets/base-manager";
import * as base from "@jupyter-widgets/base";
import * as controls from "@jupyter-widgets/controls";
import { made } from "./define.js";
import "anywidget";
import "@jupyter-widgets/controls/css/widgets-base.css";
import "@jupyter-widgets/base/css/index.css";
import "./client.css";
import { MessageLoop } from "@lumino/messaging";
import { Widget } from "@lumino/widgets";

const MODULES = { "@jupyter-widgets/base": base, "@jupyter-widgets/controls": controls, anywidget: made };

class Manager extends ManagerBase {
  constructor(kernel) {
    super();
    this.kernel = kernel;
    kernel.registerCommTarget(this.comm_target_name, (comm, message) =>
      this.handle_comm_open(new base.shims.services.Comm(comm), message),
    );
  }
  loadClass(name, module) {
    const found = MODULES[module]?.[name];
    return found ? Promise.resolve(found) : Promise.reject(new Error(`${module} has no ${name}`));
  }
  // Widgets that stand in the kernel already: their models are made of the states that came with the kernel's name.
  async adopt({ root, state }) {
    const name = this.comm_target_name;
    await Promise.all(Object.entries(state).map(([id, one]) => {
      const comm = new base.shims.services.Comm(this.kernel.createComm(name, id));
      return this.new_model({ ...one, model_id: id, comm }, one.state);
    }));
    return root;
  }
  async _create_comm(target, id, data, metadata, buffers) {
    const comm = this.kernel.createComm(target, id);
    if (data || metadata) comm.open(data, metadata, buffers);
    return new base.shims.services.Comm(comm);
  }
  async _get_comm_info() {
    const reply = await this.kernel.requestCommInfo({ target_name: this.comm_target_name });
    return reply.content.status === "ok" ? reply.content.comms : {};
  }
}

const about = JSON.parse(document.getElementById("about").textContent);
about.base = new URL(about.base, window.location.href).href;
const xsrf = () => document.cookie.match(/(?:^|; )_xsrf=([^;]*)/)?.[1] ?? "";
const ask = (path, method, body) =>
  fetch(`${about.base}refinish/${path}`, { method, body, headers: { "X-XSRFToken": xsrf() }, keepalive: true });

// What was entered before, on whatever device; and what is entered now goes there, the last state of each moment.
const PAUSE_MS = 250;

function keepEntries(entries) {
  let waiting;
  let last;
  const send = () => {
    clearTimeout(waiting);
    if (last) ask(`entries/${about.key}`, "PUT", last).catch(() => {});
    last = undefined;
  };
  window.refinishBench = {
    entries,
    keep: (now) => {
      last = JSON.stringify(now);
      clearTimeout(waiting);
      waiting = setTimeout(send, PAUSE_MS);
    },
  };
  window.addEventListener("pagehide", send);
}

// Until what was entered before is back: it is asked for when the calculator stands, and messages keep their order.
const frame = () => new Promise((resolve) => requestAnimationFrame(resolve));

async function restored(page) {
  await frame();
  await frame();
  const answered = new Promise((resolve) => page.on("msg:custom", (said) => said?.answered === "restored" && resolve()));
  page.send({ ask: "restored" });
  await answered;
}

async function begin(place) {
  const given = await ask(`kernel/${about.key}`, "POST");
  if (!given.ok) throw new Error(await given.text());
  const { kernel: id, made, entries, revision, values } = await given.json();
  keepEntries(entries);
  // A kernel that nobody looks at any more is given back.
  window.addEventListener("pagehide", () => ask(`kernel/${id}`, "DELETE"));
  const serverSettings = ServerConnection.makeSettings({
    baseUrl: about.base, wsUrl: about.base.replace(/^http/, "ws"), appendToken: false,
  });
  // It asks the server now and then which kernels there are, and so learns that ours was ended.
  const kernel = new KernelManager({ serverSettings }).connectTo({ model: { id, name: "python3" }, commsOverSubshells: "disabled" });
  const manager = new Manager(kernel);
  const shown = made ? manager.adopt(made) : new Promise((resolve, reject) => {
    const run = kernel.requestExecute({ code: about.code, silent: false, store_history: false, stop_on_error: true });
    run.onIOPub = ({ header, content }) => {
      if (header.msg_type === "error") reject(new Error(`${content.ename}: ${content.evalue}`));
      const id = content.data?.["application/vnd.jupyter.widget-view+json"]?.model_id;
      if (id) resolve(id);
    };
  });
  const view = await manager.create_view(await manager.get_model(await shown));
  const widget = view.luminoWidget ?? view.pWidget;
  MessageLoop.sendMessage(widget, Widget.Msg.BeforeAttach);
  place.replaceChildren(view.el);
  MessageLoop.sendMessage(widget, Widget.Msg.AfterAttach);
  const models = await Promise.all([...manager._models?.values?.() ?? Object.values(manager._models ?? {})]);
  const page = models.find((model) => model.get("hands") !== undefined && model.get("job") !== undefined);
  if (page) {
    await restored(page);
    shareJob(page, { revision, values });
  }
  document.documentElement.dataset.refinishReady = "yes";
}

// The job: every calculator that carries some of it takes what the server has, and hands over what was changed here.
const LOOK_EVERY_MS = 3000;

async function shareJob(page, job) {
  let known = { revision: -1, values: {} };
  const take = (found) => {
    if (found.revision === known.revision) return;
    known = found;
    page.set("job", found.values);
    page.save_changes();
  };
  const look = async () => {
    const answer = await ask("job", "GET").catch(() => null);
    if (answer?.ok) take(await answer.json());
  };
  // One change after the other: each is based on the state that the one before it made.
  let handing = false;
  let again = false;
  const hand = async () => {
    const values = page.get("job");
    if (JSON.stringify(values) === JSON.stringify(known.values)) return;
    const body = JSON.stringify({ revision: known.revision, values });
    const answer = await ask("job", "PUT", body).catch(() => null);
    if (!answer?.ok && answer?.status !== 409) return;
    const found = await answer.json();
    if (answer.ok && again) known = found; // something newer is already on its way
    else take(found);
  };
  page.on("change:job", async () => {
    again = true;
    if (handing) return;
    handing = true;
    while (again) {
      again = false;
      await hand();
    }
    handing = false;
  });
  take(job);
  setInterval(() => document.hidden || look(), LOOK_EVERY_MS);
  document.addEventListener("visibilitychange", () => document.hidden || look());
}

const place = document.getElementById("calculator");
if (place) {
  begin(place).catch((error) => {
    console.error(error);
    place.querySelector(".refinish-wait").textContent = "This calculator did not start. Load the page again.";
  });
}
