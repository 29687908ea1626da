// The plot: a canvas per joint, follower solid, leader dashed, flagged spans tinted and hatched.
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const drawn = data.drawn || data.joints.map((_, j) => j);
// Room on the left of a plot for its values, and below the last one for the time.
const LEFT = 56;
const AXIS = 18;
const layout = () => {
  const only = $("e-joint").value;
  const joints = only === "" ? drawn : [+only];
  $("plot").replaceChildren(...joints.map((j) => {
    const canvas = make("canvas");
    canvas.dataset.joint = j;
    canvas.style.height = (joints.length > 1 ? 96 : 260) + (j === joints.at(-1) ? AXIS : 0) + "px";
    return canvas;
  }));
  if (!joints.includes(open.joint)) open.joint = joints[0];
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
  const all = $("plot").querySelectorAll("canvas");
  all.forEach((canvas, at) => trace(canvas, +canvas.dataset.joint, at === all.length - 1));
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
// Times worth a tick: 1, 2 or 5 times a power of ten, as many as have room.
const ticks = (from, to, most) => {
  const step = nice((to - from) / Math.max(most, 1));
  const list = [];
  for (let n = Math.ceil(from / step - 1e-9); n * step <= to + step * 1e-9; n++) list.push(n * step);
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return list.map((at) => [at, at.toFixed(digits)]);
};
// Upright lines at the ticks; their times below the last plot.
const timeline = (pen, { x, width, height, last_one }) => {
  pen.font = "11px system-ui, sans-serif";
  for (const [at, text] of ticks(open.from, open.to, (width - LEFT) / 80)) {
    pen.fillStyle = colour("--line");
    pen.fillRect(x(at) - 0.5, 0, 1, height);
    if (!last_one) continue;
    pen.fillStyle = colour("--dim");
    pen.textAlign = "center";
    if (x(at) < width - 24) pen.fillText(text, x(at), height + AXIS - 5);
    pen.textAlign = "left";
  }
  if (!last_one) return;
  pen.fillStyle = colour("--dim");
  pen.fillRect(LEFT, height, width - LEFT, 1);
  pen.textAlign = "right";
  pen.fillText("s", width - 4, height + AXIS - 5);
  pen.textAlign = "left";
};
const trace = (canvas, joint, last_one) => {
  const { samples, from, to } = open;
  const scale = window.devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight - (last_one ? AXIS : 0);
  canvas.width = width * scale;
  canvas.height = canvas.clientHeight * scale;
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
  const left = LEFT;
  const x = (t) => left + (t - from) / (to - from) * (width - left - 4);
  const foot = open.marks.length ? 18 : 8;
  const y = (v) => height - foot - (v - low) / (high - low) * (height - foot - 18);
  timeline(pen, { x, width, height, last_one });
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
    // At the right edge the name stands further left, so that it is whole.
    const long = pen.measureText(mark.title).width;
    const text_at = Math.min(a + 3, width - 4 - long);
    if (text_at >= labelled) {
      pen.fillText(mark.title, text_at, height - 3);
      labelled = text_at + 6 + long;
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
  pen.setLineDash([]);
  if (open.cursor !== null) cursor(pen, joint, { x, y, width, height });
};

