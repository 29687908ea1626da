// The table: worst first until a heading is pressed.
let order = data.worst;
let sorted = { by: "worst", up: false };
let chosen = [];
let page = 0;
const compare = new Intl.Collator("en", { numeric: true }).compare;
const by = {
  id: (a, b) => compare(data.id[a], data.id[b]),
  length: (a, b) => data.length[a] - data.length[b],
  frames: (a, b) => data.frames[a] - data.frames[b],
  task: (a, b) => compare(task(a), task(b)),
};
const task = (at) => (data.task[at] < 0 ? "" : words[data.task[at]]);

const choose = () => {
  const name = $("f-name").value.toLowerCase();
  const verdict = $("f-verdict").value;
  const check = $("f-check").value;
  chosen = order.filter((at) => {
    if (name && !data.id[at].toLowerCase().includes(name)) return false;
    if (verdict && data.verdict[at] !== +verdict) return false;
    return !check || findings(at).some((f) => data.check[f] === +check);
  });
  page = 0;
  show();
};

const show = () => {
  const rows = +$("f-rows").value;
  const pages = Math.max(1, Math.ceil(chosen.length / rows));
  page = Math.min(Math.max(page, 0), pages - 1);
  const body = make("tbody");
  for (const at of chosen.slice(page * rows, (page + 1) * rows)) {
    const row = make("tr");
    const head = make("th");
    head.scope = "row";
    const link = make("a", data.id[at]);
    link.href = address(at);
    head.append(link);
    row.append(head);
    const state = make("td");
    state.append(make("span", status[data.verdict[at]], tint[data.verdict[at]]));
    row.append(state, make("td", leading(at)));
    const look = make("td");
    const open = make("button", "open");
    open.type = "button";
    open.setAttribute("aria-label", "open episode " + data.id[at]);
    open.addEventListener("click", () => go(at));
    look.append(open);
    row.append(look, make("td", data.length[at].toFixed(2), "n"));
    row.append(make("td", data.frames[at], "n"), make("td", task(at)));
    body.append(row);
  }
  $("table").tBodies[0].replaceWith(body);
  $("shown").textContent = chosen.length + " of " + many + (many === 1 ? " episode" : " episodes");
  $("page").textContent = "page " + (page + 1) + " of " + pages;
  $("back").disabled = page === 0;
  $("on").disabled = page === pages - 1;
};

const sort = (key) => {
  const up = sorted.by === key ? !sorted.up : key !== "worst";
  sorted = { by: key, up };
  if (key === "worst") {
    order = up ? [...data.worst].reverse() : data.worst;
  } else {
    order = data.id.map((_, at) => at).sort((a, b) => (up ? 1 : -1) * by[key](a, b) || a - b);
  }
  for (const button of document.querySelectorAll("th button")) {
    const on = button.dataset.by === key;
    button.parentElement.setAttribute("aria-sort",
      on ? (up ? "ascending" : "descending") : "none");
  }
  choose();
};

const cell = (text) => {
  // A sheet would run a cell that begins like a formula.
  const safe = /^[=+\-@\t\r]/.test(text) ? "'" + text : text;
  return /[",\n\r]/.test(safe) ? '"' + safe.replace(/"/g, '""') + '"' : safe;
};
const csv = () => {
  const lines = ["episode,verdict,seconds,frames,task,findings"];
  for (const at of chosen) {
    const list = findings(at).map(message).join(" ");
    lines.push([cell(data.id[at]), ["pass", "warn", "fail"][data.verdict[at]], data.length[at],
      data.frames[at], cell(task(at)), cell(list)].join(","));
  }
  const link = make("a");
  link.href = URL.createObjectURL(new Blob([lines.join("\r\n") + "\r\n"], { type: "text/csv" }));
  link.download = "episodes.csv";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
};

data.checks.forEach((check, at) => {
  if (!data.check.includes(at)) return;
  const option = make("option", check.title);
  option.value = at;
  $("f-check").append(option);
});
for (const id of ["f-name", "f-verdict", "f-check", "f-rows"]) {
  $(id).addEventListener("input", choose);
}
$("filter").addEventListener("submit", (event) => event.preventDefault());
for (const button of document.querySelectorAll("th button")) {
  button.addEventListener("click", () => sort(button.dataset.by));
}
$("csv").addEventListener("click", csv);
$("back").addEventListener("click", () => { page -= 1; show(); });
$("on").addEventListener("click", () => { page += 1; show(); });
