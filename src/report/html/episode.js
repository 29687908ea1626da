// One episode: its samples are unpacked only now.
let open = null;
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
  return { time: signals[0], follower: signals.slice(1, 1 + data.joints.length),
    leader: signals.slice(1 + data.joints.length) };
};

const episode = async (at, go) => {
  $("episode").hidden = false;
  $("e-title").textContent = "Episode " + data.id[at];
  const list = findings(at);
  $("e-sum").textContent = status[data.verdict[at]] + ", " + data.length[at].toFixed(2) + " s, " +
    data.frames[at] + " frames, " + list.length + (list.length === 1 ? " finding" : " findings");
  const body = make("tbody");
  const marks = [];
  for (const f of list) {
    const spans = data.spans[f] || [];
    const lines = spans.length ? spans : [null];
    lines.forEach((span, i) => {
      const row = make("tr");
      const state = make("td");
      if (i === 0) state.append(make("span", status[data.severity[f]], tint[data.severity[f]]));
      row.append(state, make("td", i === 0 ? told(f) : ""));
      row.append(make("td", span ? span[0].toFixed(2) : "-", "n"));
      row.append(make("td", span ? span[1].toFixed(2) : "-", "n"));
      row.append(make("td", span ? span[2] + "-" + span[3] : "-", "n wide"));
      const look = make("td");
      if (span) {
        marks.push({ from: span[0], to: span[1], joint: data.joint[f],
          title: data.checks[data.check[f]].title });
        const zoom = make("button", "zoom to");
        zoom.type = "button";
        zoom.addEventListener("click", () => {
          if (!open || !open.samples) return;
          const room = Math.max(0.5, span[1] - span[0]);
          if (data.joint[f] >= 0) $("e-joint").value = data.joint[f];
          layout();
          view(span[0] - room, span[1] + room);
          $("plot").focus();
        });
        look.append(zoom);
      }
      row.append(look);
      body.append(row);
    });
  }
  $("e-findings").tBodies[0].replaceWith(body);
  open = { at, marks, samples: null };
  const samples = await unpack(at);
  if (open.at !== at) return;
  open.samples = samples;
  $("plot").replaceChildren();
  if (!samples) {
    $("plot").append(make("p", "No trace of this episode is in this file." +
      (data.trace ? " To see it: " + data.trace + " --episode " + shell(data.id[at]) : "")));
    $("readout").textContent = "";
  } else {
    open.end = samples.time[samples.time.length - 1];
    open.from = 0;
    open.to = open.end;
    layout();
    view(0, open.end);
  }
  $("plot").dataset.episode = at;
  if (go) $("e-title").focus();
};
