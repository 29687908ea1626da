// The overview: a column for each episode in the order of recording, a row for each check. Where
// there are more episodes than columns, a column is a stretch of them, and opening it shows these.
const ROW = 18;
const CELL = 9;
const grid = { from: 0, to: many, above: [], row: 0, column: 0 };
let cells = null;
const bits = (text) => Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
// The state of each check in each episode, and how many episodes each check has flagged.
const sort_out = () => {
  cells = new Uint8Array(data.checks.length * many);
  const flagged = data.checks.map(() => 0);
  const fails = data.checks.map(() => 0);
  for (const [all, state] of [[data.gaps.not_assessed, NOT_ASSESSED], [data.gaps.suppressed, SUPPRESSED]]) {
    all.forEach((text, check) => {
      if (!text) return;
      const set = bits(text);
      for (let at = 0; at < many; at++) {
        if (set[at >> 3] >> (at & 7) & 1) cells[check * many + at] = state;
      }
    });
  }
  for (let at = 0; at < many; at++) {
    for (let f = data.first[at]; f < data.first[at + 1]; f++) {
      const place = data.check[f] * many + at;
      const before = cells[place];
      if (before !== WARN && before !== FAIL) flagged[data.check[f]] += 1;
      if (data.severity[f] === FAIL && before !== FAIL) fails[data.check[f]] += 1;
      if (before !== FAIL) cells[place] = data.severity[f];
    }
  }
  const seen = data.checks.map((_, check) => {
    const begin = check * many;
    for (let at = 0; at < many; at++) if (cells[begin + at] !== NOT_ASSESSED) return true;
    return false;
  });
  const worst = data.checks.map((_, check) => check);
  worst.sort((a, b) => fails[b] - fails[a] || flagged[b] - flagged[a] || a - b);
  grid.with = worst.filter((check) => flagged[check]);
  grid.without = worst.filter((check) => !flagged[check] && seen[check]);
  grid.blind = worst.filter((check) => !seen[check]);
};
const state_of = (check, at) => (check < 0 ? data.verdict[at] : cells[check * many + at]);
// What a cell holds: how many episodes of each state.
const count = (check, column) => {
  const counts = [0, 0, 0, 0, 0];
  const from = grid.from + column * grid.step;
  const to = Math.min(from + grid.step, grid.to);
  for (let at = from; at < to; at++) counts[state_of(check, at)] += 1;
  return { counts, from, to };
};
const short = (pen, text, room) => {
  if (pen.measureText(text).width <= room) return text;
  let end = text.length;
  while (end > 1 && pen.measureText(text.slice(0, end) + "\u2026").width > room) end -= 1;
  return text.slice(0, end) + "\u2026";
};
const matrix = () => {
  const canvas = $("matrix").firstElementChild;
  const scale = window.devicePixelRatio || 1;
  // Asking for the width lays the page out, which is needed anyway and not part of the drawing.
  const width = canvas.clientWidth;
  const begun = performance.now();
  if (!cells) sort_out();
  grid.rows = [-1, ...grid.with, ...($("m-all").checked ? [...grid.without, ...grid.blind] : [])];
  const height = ROW * grid.rows.length + 22;
  canvas.style.height = height + "px";
  canvas.width = width * scale;
  canvas.height = height * scale;
  const pen = canvas.getContext("2d");
  pen.scale(scale, scale);
  pen.font = "12px system-ui, sans-serif";
  const names = grid.rows.map((check) => (check < 0 ? "episode" : data.checks[check].title));
  const longest = Math.max(...names.map((name) => pen.measureText(name).width));
  const left = grid.left = Math.min(Math.ceil(longest) + 10, Math.floor(width * 0.45));
  const shown = grid.to - grid.from;
  grid.step = nice(Math.max(shown / Math.max(Math.floor((width - left) / CELL), 1), 1));
  grid.columns = Math.max(Math.ceil(shown / grid.step), 1);
  grid.wide = Math.min((width - left) / grid.columns, 26);
  grid.column = Math.min(grid.column, grid.columns - 1);
  grid.row = Math.min(grid.row, grid.rows.length - 1);
  const marks = tones.map(() => new Path2D());
  const [dim, ink, line] = ["--dim", "--ink", "--line"].map(colour);
  grid.rows.forEach((check, row) => {
    const y = ROW * row + ROW / 2;
    pen.fillStyle = row === 0 ? ink : dim;
    pen.textBaseline = "middle";
    pen.fillText(short(pen, names[row], left - 8), 2, y);
    pen.fillStyle = line;
    pen.fillRect(0, ROW * (row + 1) - 0.5, left + grid.wide * grid.columns, row === 0 ? 1.5 : 0.5);
    for (let column = 0; column < grid.columns; column++) {
      const { counts, from, to } = count(check, column);
      const state = [FAIL, WARN, SUPPRESSED, OK, NOT_ASSESSED].find((one) => counts[one]);
      const share = (counts[FAIL] + counts[WARN]) / (to - from);
      // The more of a stretch is flagged, the larger the mark; one of a thousand is still seen.
      const most = Math.min(grid.wide - 1, 11);
      mark(marks[state], state, left + grid.wide * (column + 0.5), y, share ? Math.max(most * Math.sqrt(share), 4.5) : most);
    }
  });
  marks.forEach((path, state) => {
    pen.fillStyle = pen.strokeStyle = colour(tones[state]);
    if (hollow(state)) pen.stroke(path); else pen.fill(path);
  });
  pen.fillStyle = dim;
  pen.textBaseline = "alphabetic";
  let free = 0;
  const every = nice(Math.max(Math.ceil(60 / grid.wide), 1));
  for (let column = 0; column < grid.columns; column += every) {
    const x = left + grid.wide * (column + 0.5);
    const name = short(pen, data.id[grid.from + column * grid.step], 80);
    if (x < free || x + pen.measureText(name).width > width) continue;
    pen.fillRect(x - 0.5, height - 21, 1, 5);
    pen.fillText(name, x, height - 4);
    free = x + pen.measureText(name).width + 8;
  }
  if (document.activeElement === $("matrix") || grid.pointed) {
    pen.strokeStyle = ink;
    pen.lineWidth = 2;
    pen.strokeRect(left + grid.wide * grid.column, ROW * grid.row + 1, Math.max(grid.wide, 6), ROW - 2);
  }
  $("m-out").hidden = !grid.above.length;
  performance.measure("matrix", { start: begun });
};
// What the cell under the mark says.
const spell = () => {
  const check = grid.rows[grid.row];
  const { counts, from, to } = count(check, grid.column);
  const what = check < 0 ? "verdict" : data.checks[check].title;
  if (to - from === 1) {
    const found = check < 0 ? findings(from).slice(0, 1) : findings(from).filter((f) => data.check[f] === check);
    const said = found.map(message).join(" ");
    $("m-said").textContent = "Episode " + data.id[from] + ", " + what + ": " + named[state_of(check, from)] +
      (said ? ". " + said : ".") + " Enter or a click opens it.";
    return;
  }
  const said = [FAIL, WARN, SUPPRESSED, OK, NOT_ASSESSED].filter((one) => counts[one]);
  $("m-said").textContent = "Episodes " + data.id[from] + " to " + data.id[to - 1] + ", " + (to - from) + " of " + many +
    ", " + what + ": " + said.map((one) => named[one] + " in " + counts[one]).join(", ") + ". Enter or a click shows these.";
};
const look_into = () => {
  const from = grid.from + grid.column * grid.step;
  const to = Math.min(from + grid.step, grid.to);
  if (to - from === 1) { go(from); return; }
  grid.above.push([grid.from, grid.to, grid.column]);
  Object.assign(grid, { from, to, column: 0 });
  matrix();
  spell();
};
const look_out = () => {
  if (!grid.above.length) return;
  const [from, to, column] = grid.above.pop();
  Object.assign(grid, { from, to, column });
  matrix();
  spell();
};
const move_to = (row, column) => {
  grid.row = Math.min(Math.max(row, 0), grid.rows.length - 1);
  grid.column = Math.min(Math.max(column, 0), grid.columns - 1);
  matrix();
  spell();
};
const point = (event) => {
  const box = $("matrix").firstElementChild.getBoundingClientRect();
  const [x, y] = [event.clientX - box.left - grid.left, event.clientY - box.top];
  const [row, column] = [Math.floor(y / ROW), Math.floor(x / grid.wide)];
  if (x < 0 || row >= grid.rows.length || column >= grid.columns) return false;
  grid.pointed = true;
  if (row !== grid.row || column !== grid.column || !$("m-said").textContent) move_to(row, column);
  return true;
};
const overview = () => {
  $("matrix").append(make("canvas"));
  matrix();
  $("m-fold").textContent = (grid.without.length ? grid.without.length + " checks found nothing in any episode" : "") +
    (grid.without.length && grid.blind.length ? "; " : "") +
    (grid.blind.length ? grid.blind.length + " measured nothing in any episode" : "");
  $("m-all").parentElement.hidden = !(grid.without.length + grid.blind.length);
  $("m-all").addEventListener("change", matrix);
  $("m-out").addEventListener("click", look_out);
  $("matrix").addEventListener("pointermove", point);
  $("matrix").addEventListener("pointerleave", () => { grid.pointed = false; matrix(); });
  $("matrix").addEventListener("click", (event) => { if (point(event)) look_into(); });
  $("matrix").addEventListener("focus", () => { matrix(); spell(); });
  $("matrix").addEventListener("blur", matrix);
  $("matrix").addEventListener("keydown", (event) => {
    const step = event.shiftKey ? 10 : 1;
    const act = {
      ArrowLeft: () => move_to(grid.row, grid.column - step),
      ArrowRight: () => move_to(grid.row, grid.column + step),
      ArrowUp: () => move_to(grid.row - step, grid.column),
      ArrowDown: () => move_to(grid.row + step, grid.column),
      Home: () => move_to(grid.row, 0),
      End: () => move_to(grid.row, grid.columns - 1),
      Enter: look_into,
      " ": look_into,
      Escape: look_out,
    }[event.key];
    if (act && !event.ctrlKey && !event.metaKey && !event.altKey) { act(); event.preventDefault(); }
  });
  redrawn.push(matrix);
};
