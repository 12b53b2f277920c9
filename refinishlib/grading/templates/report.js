"use strict";
// Sorts and filters the table of marks. Everything is on the page already; nothing is loaded or sent.
(() => {
  const table = document.querySelector("#marks");
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const find = document.querySelector("#find");
  const group = document.querySelector("#group");
  const needy = document.querySelector("#needy");
  const count = document.querySelector("#count");

  const filter = () => {
    const words = find.value.trim().toLowerCase();
    let shown = 0;
    for (const row of rows) {
      const fits = (!words || row.dataset.find.includes(words))
        && (!group || !group.value || row.dataset.group === group.value)
        && (!needy.checked || row.dataset.needy === "yes");
      row.hidden = !fits;
      shown += fits;
    }
    count.textContent = shown === rows.length ? `all ${shown}` : `${shown} of ${rows.length}`;
  };

  const value = (row, column) => {
    const found = row.cells[column].dataset.sort ?? row.cells[column].textContent;
    return found !== "" && !Number.isNaN(Number(found)) ? Number(found) : found;
  };
  const order = (a, b) => {
    if (a === "" || b === "") return (a === "") - (b === "");
    if (typeof a === "number" && typeof b === "number") return a - b;
    return String(a).localeCompare(String(b));
  };
  const headings = [...table.tHead.rows[0].cells];
  headings.forEach((heading, column) => {
    const button = heading.querySelector("button");
    if (!button) return;
    button.addEventListener("click", () => {
      const down = heading.getAttribute("aria-sort") === "ascending";
      for (const other of headings) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", down ? "descending" : "ascending");
      const sorted = [...rows].sort((a, b) => {
        const [left, right] = [value(a, column), value(b, column)];
        const empty = left === "" || right === "";
        return (down && !empty ? -1 : 1) * order(left, right);
      });
      body.append(...sorted);
    });
  });

  for (const field of [find, group, needy]) field?.addEventListener("input", filter);
  document.querySelector("#filters").hidden = false;
  filter();
})();
