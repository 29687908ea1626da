// Marks of a status: each has a shape of its own, so that no two differ by their colour alone.
const OK = 0, WARN = 1, FAIL = 2, SUPPRESSED = 3, NOT_ASSESSED = 4;
const named = [". ok", "! warn", "x FAIL", "suppressed", "- n/a"];
const tones = ["--pass", "--warn", "--fail", "--dim", "--dim"];
const mark = (pen, state, x, y, size) => {
  const half = size / 2;
  pen.beginPath();
  if (state === FAIL) pen.rect(x - half, y - half, size, size);
  if (state === WARN) {
    pen.moveTo(x, y - half);
    pen.lineTo(x + half, y + half);
    pen.lineTo(x - half, y + half);
    pen.closePath();
  }
  if (state === OK) pen.arc(x, y, 1.5, 0, 2 * Math.PI);
  if (state === SUPPRESSED) pen.arc(x, y, Math.max(half - 1, 1.5), 0, 2 * Math.PI);
  if (state === NOT_ASSESSED) { pen.moveTo(x - 3, y); pen.lineTo(x + 3, y); }
  if (state === SUPPRESSED || state === NOT_ASSESSED) pen.stroke(); else pen.fill();
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
