// Marks of a status: each has a shape of its own, so that no two differ by their colour alone.
const OK = 0, WARN = 1, FAIL = 2, SUPPRESSED = 3, NOT_ASSESSED = 4;
const named = [". ok", "! warn", "x FAIL", "suppressed", "- n/a"];
const tones = ["--pass", "--warn", "--fail", "--dim", "--dim"];
// Adds a mark to a path, which is filled or stroked as a whole: thousands of marks are drawn at once.
const hollow = (state) => state === SUPPRESSED || state === NOT_ASSESSED;
const mark = (path, state, x, y, size) => {
  const half = size / 2;
  if (state === FAIL) path.rect(x - half, y - half, size, size);
  if (state === WARN) {
    path.moveTo(x, y - half);
    path.lineTo(x + half, y + half);
    path.lineTo(x - half, y + half);
    path.closePath();
  }
  if (state === OK) path.rect(x - 1.25, y - 1.25, 2.5, 2.5);
  if (state === SUPPRESSED) {
    const radius = Math.max(half - 1, 1.5);
    path.moveTo(x + radius, y);
    path.arc(x, y, radius, 0, 2 * Math.PI);
  }
  if (state === NOT_ASSESSED) { path.moveTo(x - 3, y); path.lineTo(x + 3, y); }
};
// How far a finding is: a mark on a line, its limit in the middle, twice its limit at the right.
const ruler = (f) => {
  const sheet = make("template");
  sheet.innerHTML = "<svg></svg>";
  const space = sheet.content.firstChild.namespaceURI;
  const draw = (name, facts) => {
    const shape = document.createElementNS(space, name);
    for (const [key, value] of Object.entries(facts)) shape.setAttribute(key, value);
    return shape;
  };
  const far = data.far[f];
  const x = 4 + Math.min(far, 2) * 46;
  const kind = data.severity[f] === FAIL ? "fail" : "warn";
  const image = draw("svg", { class: "ruler", width: 100, height: 14, viewBox: "0 0 100 14",
    role: "img", "aria-label": far >= 9 ? "9 times the limit or more" : far + " times the limit" });
  const shape = far > 2 ? "M93 2l6 5l-6 5z" : kind === "fail" ? "M" + (x - 4) + " 3h8v8h-8z" :
    "M" + x + " 3l4.5 8h-9z";
  image.append(draw("line", { class: "edge", x1: 4, x2: 96, y1: 7, y2: 7 }),
    draw("line", { class: "limit", x1: 50, x2: 50, y1: 0, y2: 14 }), draw("path", { class: kind, d: shape }));
  return image;
};
