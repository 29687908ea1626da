// The plot: a canvas per joint, follower solid, leader dashed, flagged spans tinted and hatched.
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const drawn = data.drawn || data.joints.map((_, j) => j);
const layout = () => {
  const only = $("e-joint").value;
  const joints = only === "" ? drawn : [+only];
  $("plot").replaceChildren(...joints.map((j) => {
    const canvas = make("canvas");
    canvas.dataset.joint = j;
    canvas.style.height = joints.length > 1 ? "96px" : "260px";
    return canvas;
  }));
};
const view = (from, to) => {
  const low = open.end / 2000 || 0.01;
  const span = Math.min(Math.max(to - from, low), open.end || 1);
  open.from = Math.min(Math.max(from, 0), Math.max(open.end - span, 0));
  open.to = open.from + span;
  draw();
  $("readout").textContent = open.from.toFixed(2) + " s to " + open.to.toFixed(2) + " s of " +
    open.end.toFixed(2) + " s";
};
const draw = () => {
  for (const canvas of $("plot").querySelectorAll("canvas")) {
    trace(canvas, +canvas.dataset.joint);
  }
};
const before = (time, at) => {
  let low = 0;
  let high = time.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time[middle] <= at) low = middle; else high = middle - 1;
  }
  return low;
};
const trace = (canvas, joint) => {
  const { samples, from, to } = open;
  const scale = window.devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight;
  canvas.width = width * scale;
  canvas.height = height * scale;
  const pen = canvas.getContext("2d");
  pen.scale(scale, scale);
  const first = before(samples.time, from);
  const last = Math.min(before(samples.time, to) + 1, samples.time.length - 1);
  const lines = [samples.follower[joint], samples.leader[joint]].filter(Boolean);
  let low = Infinity;
  let high = -Infinity;
  for (const line of lines) {
    for (let i = first; i <= last; i++) {
      if (line[i] < low) low = line[i];
      if (line[i] > high) high = line[i];
    }
  }
  if (low > high) { low = -1; high = 1; }
  // A joint at rest is drawn as a line in the middle, not as its noise.
  const room = Math.max((data.units[joint] === "mm" ? 1 : 0.5) - (high - low), 0) / 2;
  low -= room;
  high += room;
  const left = 56;
  const x = (t) => left + (t - from) / (to - from) * (width - left - 4);
  const foot = open.marks.length ? 18 : 8;
  const y = (v) => height - foot - (v - low) / (high - low) * (height - foot - 18);
  let labelled = 0;
  for (const mark of open.marks) {
    if (mark.joint >= 0 && mark.joint !== joint) continue;
    if (mark.to < from || mark.from > to) continue;
    const a = Math.max(x(mark.from), left);
    const b = Math.min(Math.max(x(mark.to), a + 3), width);
    const tone = colour(mark.severity === 2 ? "--fail" : "--warn");
    pen.save();
    pen.beginPath();
    pen.rect(a, 0, b - a, height);
    pen.clip();
    pen.globalAlpha = 0.14;
    pen.fillStyle = tone;
    pen.fillRect(a, 0, b - a, height);
    pen.globalAlpha = 0.5;
    pen.strokeStyle = tone;
    for (let s = a - height; s < b; s += 8) {
      pen.beginPath();
      pen.moveTo(s, height);
      pen.lineTo(s + height, 0);
      pen.stroke();
    }
    pen.restore();
    pen.fillStyle = tone;
    pen.font = "11px system-ui, sans-serif";
    if (a >= labelled) {
      pen.fillText(mark.title, a + 3, height - 3);
      labelled = a + 6 + pen.measureText(mark.title).width;
    }
  }
  pen.font = "11px system-ui, sans-serif";
  pen.fillStyle = colour("--dim");
  pen.fillText(data.joints[joint] + ", " + data.units[joint], left + 4, 11);
  pen.textAlign = "right";
  pen.fillText(high.toPrecision(3), left - 4, 22);
  pen.fillText(low.toPrecision(3), left - 4, height - foot + 4);
  pen.textAlign = "left";
  pen.save();
  pen.beginPath();
  pen.rect(left, 0, width - left, height);
  pen.clip();
  const stroke = (line, name, dash) => {
    if (!line) return;
    pen.strokeStyle = colour(name);
    pen.lineWidth = 1.5;
    pen.setLineDash(dash);
    pen.beginPath();
    let pen_up = true;
    for (let i = first; i <= last; i++) {
      if (Number.isNaN(line[i])) { pen_up = true; continue; }
      // Where nothing was recorded nothing is drawn.
      if (i > first && samples.time[i] - samples.time[i - 1] > samples.gap) pen_up = true;
      if (pen_up) pen.moveTo(x(samples.time[i]), y(line[i]));
      else pen.lineTo(x(samples.time[i]), y(line[i]));
      pen_up = false;
    }
    pen.stroke();
  };
  stroke(samples.follower[joint], "--follower", []);
  stroke(samples.leader[joint], "--leader", [6, 4]);
  pen.restore();
};

const at_pointer = (event) => {
  const box = $("plot").getBoundingClientRect();
  const share = (event.clientX - box.left - 56) / (box.width - 60);
  return open.from + Math.min(Math.max(share, 0), 1) * (open.to - open.from);
};
const read = (event) => {
  const canvas = event.target.closest("canvas");
  if (!canvas) return;
  const joint = +canvas.dataset.joint;
  const t = at_pointer(event);
  const i = before(open.samples.time, t);
  const said = (line) => (line ? line[i].toPrecision(4) : "-");
  $("readout").textContent = open.samples.time[i].toFixed(3) + " s, " + data.joints[joint] +
    ": follower " + said(open.samples.follower[joint]) + ", leader " +
    said(open.samples.leader[joint]) + " " + data.units[joint];
};
let pressed = null;
$("plot").addEventListener("pointerdown", (event) => {
  if (open && open.samples) pressed = at_pointer(event);
});
$("plot").addEventListener("pointermove", (event) => {
  if (open && open.samples) read(event);
});
$("plot").addEventListener("pointerup", (event) => {
  if (pressed === null) return;
  const to = at_pointer(event);
  if (Math.abs(to - pressed) > (open.to - open.from) / 50) {
    view(Math.min(pressed, to), Math.max(pressed, to));
  }
  pressed = null;
});
$("plot").addEventListener("keydown", (event) => {
  if (!open || !open.samples) return;
  const span = open.to - open.from;
  const middle = (open.to + open.from) / 2;
  const step = span * (event.shiftKey ? 0.5 : 0.1);
  const act = {
    ArrowLeft: () => view(open.from - step, open.to - step),
    ArrowRight: () => view(open.from + step, open.to + step),
    "+": () => view(middle - span / 4, middle + span / 4),
    "=": () => view(middle - span / 4, middle + span / 4),
    "-": () => view(middle - span, middle + span),
    0: () => view(0, open.end),
  }[event.key];
  if (act) { act(); event.preventDefault(); }
});

const all = make("option", "all");
all.value = "";
$("e-joint").append(all, ...drawn.map((j) => {
  const option = make("option", data.joints[j]);
  option.value = j;
  return option;
}));
const again = () => { if (open && open.samples) draw(); };
$("e-joint").addEventListener("change", () => {
  if (open && open.samples) { layout(); draw(); }
});
window.addEventListener("resize", again);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
