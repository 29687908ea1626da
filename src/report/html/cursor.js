// The cursor: what leader and follower are at a time, and how far apart. Pointer and keys of the plot.
const digits = (value) => (Number.isNaN(value) ? "-" : value.toFixed(2));
const values = (joint) => {
  const i = open.cursor;
  const [follower, leader] = [open.samples.follower[joint], open.samples.leader[joint]];
  return { follower: follower ? follower[i] : NaN, leader: leader ? leader[i] : NaN };
};
// Drawn over a joint's plot: a line, a dot on each signal, and the values at the right.
const cursor = (pen, joint, { x, y, width, height }) => {
  const at = x(open.samples.time[open.cursor]);
  if (at < LEFT - 1 || at > width) return;
  pen.fillStyle = colour("--ink");
  pen.fillRect(at - 0.5, 0, 1, height);
  const { follower, leader } = values(joint);
  for (const [value, tone] of [[follower, "--follower"], [leader, "--leader"]]) {
    if (Number.isNaN(value)) continue;
    pen.fillStyle = colour(tone);
    pen.beginPath();
    pen.arc(at, y(value), 3.5, 0, 2 * Math.PI);
    pen.fill();
  }
  const apart = "follower - leader " + digits(follower - leader);
  // A narrow plot has room for the difference alone; the line below it says the rest.
  const text = width < 480 ? apart :
    "leader " + digits(leader) + ", follower " + digits(follower) + ", " + apart;
  pen.font = "11px system-ui, sans-serif";
  const wide = pen.measureText(text).width;
  const from = Math.max(width - wide - 8, LEFT + 4);
  pen.fillStyle = colour("--ground");
  pen.fillRect(from - 3, 0, wide + 6, 15);
  pen.fillStyle = colour("--ink");
  pen.fillText(text, from, 11);
};
const read_out = () => {
  const unit = " " + data.units[open.joint];
  const { follower, leader } = values(open.joint);
  $("readout").textContent = open.samples.time[open.cursor].toFixed(3) + " s, " + data.joints[open.joint] +
    ": leader " + digits(leader) + unit + ", follower " + digits(follower) + unit +
    ", follower minus leader " + digits(follower - leader) + unit;
};
const at_pointer = (event) => {
  const box = $("plot").getBoundingClientRect();
  const share = (event.clientX - box.left - LEFT) / (box.width - LEFT - 4);
  return open.from + Math.min(Math.max(share, 0), 1) * (open.to - open.from);
};
const nearest = (t) => {
  const { time } = open.samples;
  const i = before(time, t);
  return i + 1 < time.length && time[i + 1] - t < t - time[i] ? i + 1 : i;
};
const put_cursor = (i) => {
  open.cursor = Math.min(Math.max(i, 0), open.samples.time.length - 1);
  draw();
  read_out();
};
const read = (event) => {
  const canvas = event.target.closest("canvas");
  if (!canvas) return;
  open.joint = +canvas.dataset.joint;
  put_cursor(nearest(at_pointer(event)));
};
let pressed = null;
$("plot").addEventListener("pointerdown", (event) => {
  if (!open || !open.samples) return;
  pressed = at_pointer(event);
  read(event);
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
// By one sample, or to the middle of what is drawn; what is drawn follows the cursor.
const step_cursor = (by) => {
  const from = open.cursor === null ? nearest((open.from + open.to) / 2) : open.cursor + by;
  const at = open.samples.time[Math.min(Math.max(from, 0), open.samples.time.length - 1)];
  const span = open.to - open.from;
  if (at < open.from) view(at, at + span);
  if (at > open.to) view(at - span, at);
  put_cursor(from);
};
const step_joint = (by) => {
  const joints = [...$("plot").querySelectorAll("canvas")].map((canvas) => +canvas.dataset.joint);
  const place = joints.indexOf(open.joint) + by;
  open.joint = joints[Math.min(Math.max(place, 0), joints.length - 1)];
  step_cursor(0);
};
$("plot").addEventListener("keydown", (event) => {
  if (!open || !open.samples || event.ctrlKey || event.metaKey || event.altKey) return;
  const span = open.to - open.from;
  const middle = (open.to + open.from) / 2;
  const step = span * (event.shiftKey ? 0.5 : 0.1);
  const act = {
    ArrowLeft: () => view(open.from - step, open.to - step),
    ArrowRight: () => view(open.from + step, open.to + step),
    ArrowUp: () => step_joint(-1),
    ArrowDown: () => step_joint(1),
    ",": () => step_cursor(-1),
    ".": () => step_cursor(1),
    "<": () => step_cursor(-10),
    ">": () => step_cursor(10),
    ";": () => step_cursor(-10),
    ":": () => step_cursor(10),
    "+": () => view(middle - span / 4, middle + span / 4),
    "=": () => view(middle - span / 4, middle + span / 4),
    "-": () => view(middle - span, middle + span),
    0: () => view(0, open.end),
  }[event.key];
  if (act) { act(); event.preventDefault(); }
});

const every_joint = make("option", "all");
every_joint.value = "";
$("e-joint").append(every_joint, ...drawn.map((j) => {
  const option = make("option", data.joints[j]);
  option.value = j;
  return option;
}));
$("e-joint").addEventListener("change", () => {
  if (open && open.samples) { layout(); draw(); }
});
// What is drawn again where the page or its colours change.
const redrawn = [() => { if (open && open.samples) draw(); }];
const again = () => redrawn.forEach((draw) => draw());
window.addEventListener("resize", again);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
