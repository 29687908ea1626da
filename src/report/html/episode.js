// One episode: its samples are unpacked only now.
let open = null;
// Where it lies: its file and rows, the first row of a file being 0.
const lies = (at) => {
  const file = data.files[data.file[at]];
  if (file === undefined || !data.lines[at]) return "";
  return "Rows " + data.row[at] + " to " + (data.row[at] + data.lines[at] - 1) + " of " + file +
    ", counted from 0";
};
const nothing = (text) => {
  open = null;
  $("episode").hidden = false;
  $("e-title").textContent = text;
  $("e-sum").textContent = $("e-place").textContent = $("readout").textContent = $("e-note").textContent = "";
  $("e-findings").tBodies[0].replaceChildren();
  $("plot").replaceChildren();
  $("e-title").focus();
};
const unpack = async (at) => {
  const script = document.querySelector('script[data-episode="' + at + '"]');
  if (!script) return null;
  const packed = Uint8Array.from(atob(script.textContent.trim()), (c) => c.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const shape = JSON.parse(script.dataset.shape);
  const n = shape.n;
  const signals = shape.ends.map(([low, high], s) => {
    const start = 2 * n * s;
    const values = new Float64Array(n);
    let level = 0;
    for (let i = 0; i < n; i++) {
      level = (level + bytes[start + i] + 256 * bytes[start + n + i]) & 65535;
      values[i] = level === 65535 ? NaN : low + (high - low) * (level / 65534);
    }
    return values;
  });
  return { even: shape.even, gap: shape.gap, time: signals[0], follower: signals.slice(1, 1 + data.joints.length),
    leader: signals.slice(1 + data.joints.length) };
};

// Where a span stands on the drawing: by its frames where the stamps are unsound.
const ends = (span) => {
  const even = open.samples.even;
  return even ? [span[2] * even, span[3] * even] : [span[0], span[1]];
};
const zoom_to = (f, span) => {
  if (!open || !open.samples) return;
  const [from, to] = ends(span);
  const room = Math.max(0.5, to - from);
  if (data.joint[f] >= 0) $("e-joint").value = data.joint[f];
  layout();
  view(from - room, to + room);
  $("plot").focus();
};

const episode = async (at, go) => {
  $("episode").hidden = false;
  $("e-title").textContent = "Episode " + data.id[at];
  const list = findings(at);
  $("e-sum").textContent = status[data.verdict[at]] + ", " + data.length[at].toFixed(2) + " s, " +
    data.frames[at] + " frames, " + list.length + (list.length === 1 ? " finding" : " findings");
  $("e-place").textContent = lies(at);
  const body = make("tbody");
  const placed = [];
  for (const f of list) {
    const spans = data.spans[f] || [];
    const lines = spans.length ? spans : [null];
    lines.forEach((span, i) => {
      const row = make("tr");
      const state = make("td");
      if (i === 0) state.append(make("span", status[data.severity[f]], tint[data.severity[f]]));
      const far = make("td");
      if (i === 0) far.append(ruler(f));
      row.append(state, make("td", i === 0 ? message(f) : ""), far);
      row.append(make("td", span ? span[0].toFixed(2) : "-", "n"));
      row.append(make("td", span ? span[1].toFixed(2) : "-", "n"));
      row.append(make("td", span ? span[2] + "-" + span[3] : "-", "n"));
      const look = make("td");
      if (span) {
        placed.push({ f, span });
        const zoom = make("button", "zoom to");
        zoom.type = "button";
        zoom.addEventListener("click", () => zoom_to(f, span));
        look.append(zoom);
      }
      row.append(look);
      body.append(row);
    });
  }
  $("e-findings").tBodies[0].replaceWith(body);
  open = { at, marks: [], samples: null, cursor: null, joint: drawn[0] || 0 };
  const samples = await unpack(at);
  if (open.at !== at) return;
  open.samples = samples;
  $("plot").replaceChildren();
  $("e-note").textContent = samples && samples.even ?
    "The stamps are missing or run backward: drawn at even steps." : "";
  if (!samples) {
    $("plot").append(make("p", "No trace of this episode is in this file." +
      (data.trace ? " To see it: " + data.trace + " --episode " + shell(data.id[at]) : "")));
    $("readout").textContent = "";
  } else {
    open.end = samples.time[samples.time.length - 1];
    open.marks = placed.map(({ f, span }) => {
      const [from, to] = ends(span);
      const title = data.checks[data.check[f]].title;
      return { from, to, joint: data.joint[f], title, severity: data.severity[f] };
    });
    layout();
    view(...(data.window || [0, open.end]));
  }
  $("plot").dataset.episode = at;
  if (go) $("e-title").focus();
};
