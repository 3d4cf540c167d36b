"use strict";
(() => {
  const table = document.querySelector("table.sites");
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const names = rows.map((row) => row.cells[0].textContent.toLowerCase());
  const heads = [...table.tHead.rows[0].cells];
  const [find, which, order, shown] = ["find", "which", "order", "shown"].map((id) => document.getElementById(id));
  const compare = new Intl.Collator(undefined, { numeric: true }).compare;

  const key = (row, column) => row.cells[column].dataset.k ?? row.cells[column].textContent;

  function filter() {
    const text = find.value.trim().toLowerCase();
    let count = 0;
    rows.forEach((row, number) => {
      const fits = names[number].includes(text) && (!which.value || row.classList.contains(which.value));
      row.hidden = !fits;
      count += fits ? 1 : 0;
    });
    shown.textContent = `${count} of ${rows.length} sites`;
  }

  function sort(column, down) {
    heads.forEach((head, number) => {
      if (number === column) head.setAttribute("aria-sort", down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    const keyed = rows.map((row, number) => [column < 0 ? "" : key(row, column), number, row]);
    const figures = column >= 0 && keyed.every(([value]) => value !== "" && !Number.isNaN(Number(value)));
    keyed.sort(([one, before], [other, after]) => {
      const found = figures ? one - other : compare(one, other);
      return (down ? -found : found) || before - after;
    });
    body.append(...keyed.map(([, , row]) => row));
    order.value = column < 0 ? "" : String(column);
  }

  heads.forEach((head, column) => {
    const name = head.textContent;
    const button = document.createElement("button");
    button.append(...head.childNodes);
    head.append(button);
    const downFirst = head.classList.contains("figure") || head.classList.contains("trend");
    button.addEventListener("click", () => {
      const now = head.getAttribute("aria-sort");
      sort(column, now ? now === "ascending" : downFirst);
    });
    order.add(new Option(`by ${name.trim()}`, String(column)));
  });
  order.addEventListener("change", () => {
    const column = order.value === "" ? -1 : Number(order.value);
    const head = heads[column];
    sort(column, Boolean(head) && (head.classList.contains("figure") || head.classList.contains("trend")));
  });
  find.addEventListener("input", filter);
  which.addEventListener("change", filter);
  document.querySelector(".controls").hidden = false;
  filter();
})();
