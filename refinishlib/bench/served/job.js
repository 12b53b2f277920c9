// The pages *This job* and *Shop and units*: what is typed or chosen goes to the server, which keeps it for all devices.

const about = JSON.parse(document.getElementById("about").textContent);
const one = (id) => document.getElementById(id);
const said = one("said");
const xsrf = () => document.cookie.match(/(?:^|; )_xsrf=([^;]*)/)?.[1] ?? "";
const NOT_THERE = "The bench does not answer: nothing was kept. Is it still running?";

// The answer as data; null, with a sentence on the page, where it was refused.
async function ask(path, method = "GET", body = undefined) {
  let answer;
  try {
    answer = await fetch(`${about.at}/${path}`, { method, body, headers: { "X-XSRFToken": xsrf() } });
  } catch {
    said.textContent = NOT_THERE;
    return null;
  }
  const found = await answer.json().catch(() => ({}));
  if (answer.ok || answer.status === 409) return { ...found, stale: answer.status === 409 };
  said.textContent = found.sentence ?? NOT_THERE;
  return null;
}

function download(name, text) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/octet-stream" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

const form = one("job");
const values = () => Object.fromEntries(new FormData(form));

let known = about.revision;
let carried = {}; // what the job has that no field here shows
let typed = Promise.resolve();

function show(job) {
  known = job.revision;
  carried = job.values;
  for (const field of form.elements) {
    if (field.name && document.activeElement !== field) field.value = job.values[field.name] ?? "";
  }
}

// One change after the other, each on the state that the one before it made.
function keep() {
  typed = typed.then(async () => {
    const body = { revision: known, values: { ...carried, ...values() } };
    const found = await ask("job", "PUT", JSON.stringify(body));
    if (!found) return;
    if (!found.stale) {
      known = found.revision;
      carried = found.values;
      said.textContent = "Kept.";
      return;
    }
    show(found);
    said.textContent = "Somebody else has changed the job just now. Look, and type yours again.";
  });
  return typed;
}

// Another device may change the job; the fields follow, but never under the fingers.
async function look() {
  if (document.hidden) return;
  const found = await ask("job");
  if (found && found.revision !== known) show(found);
}

if (form) {
  const name = () => values().vehicle.trim() || "job";
  let wait;
  form.addEventListener("input", () => {
    clearTimeout(wait);
    wait = setTimeout(keep, 300);
  });
  form.addEventListener("change", () => {
    clearTimeout(wait);
    keep();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  one("print").addEventListener("click", () => window.print());
  one("new").addEventListener("click", async () => {
    await typed;
    const answer = await ask("job", "PUT", JSON.stringify({ revision: known, values: { vehicle: "" } }));
    if (answer) location.reload();
  });
  one("put-aside").addEventListener("click", async () => {
    await keep();
    const answer = await ask("job/aside", "POST", "{}");
    if (answer) location.reload();
  });
  one("take-up")?.addEventListener("click", async () => {
    const answer = await ask("job/aside", "POST", JSON.stringify({ "take up": one("aside").value }));
    if (answer) location.reload();
  });
  one("save").addEventListener("click", async () => {
    await keep();
    const found = await ask("job/file");
    if (found) download(`${name()}.json`, JSON.stringify({ format: found.format, values: found.values }, null, 1));
  });
  one("record").addEventListener("click", async () => {
    await keep();
    const found = await ask("job/record");
    if (found) download(`${name()}.toml`, found.text);
    if (found) said.textContent = "The record is written. Keep it with the vehicle's papers.";
  });
  one("open").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    const answer = await ask("job/file", "POST", await file.text());
    event.target.value = "";
    if (answer) location.reload();
  });
  look();
  setInterval(look, 3000);
}

one("units")?.addEventListener("change", async (event) => {
  const chosen = Object.fromEntries(new FormData(event.currentTarget));
  if (await ask("units", "PUT", JSON.stringify(chosen))) said.textContent = "Kept. Each calculator takes them when it is opened.";
});
