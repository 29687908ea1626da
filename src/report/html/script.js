"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const $ = (id) => document.getElementById(id);
  const words = data.words;
  const many = data.id.length;
  const status = ["\u2022 ok", "! warn", "x FAIL"];
  const tint = ["is-pass", "is-warn", "is-fail"];

  // Every cell is made as text: a name from the data is never markup.
  const make = (tag, text, kind) => {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    if (kind) element.className = kind;
    return element;
  };
  const findings = (at) => {
    const list = [];
    for (let f = data.first[at]; f < data.first[at + 1]; f++) list.push(f);
    return list;
  };
  const place = (f) => (data.joint[f] < 0 ? "" : " " + data.joints[data.joint[f]]);
  const told = (f) => {
    const note = words[data.note[f]];
    return data.checks[data.check[f]].title + place(f) + ": " + words[data.metric[f]] + " " +
      words[data.value[f]] + ", limit " + words[data.limit[f]] + (note ? "; " + note : "");
  };
  const leading = (at) => {
    const list = findings(at);
    if (!list.length) return "";
    return told(list[0]) + (list.length > 1 ? " (+" + (list.length - 1) + ")" : "");
  };

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
      const head = make("th", data.id[at]);
      head.scope = "row";
      row.append(head);
      const state = make("td");
      state.append(make("span", status[data.verdict[at]], tint[data.verdict[at]]));
      row.append(state, make("td", data.length[at].toFixed(2), "n"));
      row.append(make("td", data.frames[at], "n wide"), make("td", task(at), "wide"));
      row.append(make("td", leading(at)));
      const look = make("td");
      const open = make("button", "open");
      open.type = "button";
      open.setAttribute("aria-label", "open episode " + data.id[at]);
      open.addEventListener("click", () => episode(at, true));
      look.append(open);
      row.append(look);
      body.append(row);
    }
    $("table").tBodies[0].replaceWith(body);
    $("shown").textContent = chosen.length + " of " + many + " episodes";
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
      const list = findings(at).map(told).join("; ");
      lines.push([cell(data.id[at]), ["pass", "warn", "fail"][data.verdict[at]], data.length[at],
        data.frames[at], cell(task(at)), cell(list)].join(","));
    }
    const link = make("a");
    link.href = URL.createObjectURL(new Blob([lines.join("\r\n") + "\r\n"], { type: "text/csv" }));
    link.download = "episodes.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  };

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
      $("plot").append(make("p", "No trace of this episode is in this file. To see it: " +
        data.trace + " --episode " + data.id[at]));
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

  // The plot: a canvas per joint, follower solid, leader dashed, flagged spans tinted and hatched.
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const layout = () => {
    const only = $("e-joint").value;
    const joints = only === "" ? data.joints.map((_, j) => j) : [+only];
    $("plot").replaceChildren(...joints.map((j) => {
      const canvas = make("canvas");
      canvas.dataset.joint = j;
      canvas.style.height = only === "" ? "96px" : "260px";
      return canvas;
    }));
  };
  const view = (from, to) => {
    const least = open.end / 2000 || 0.01;
    const span = Math.min(Math.max(to - from, least), open.end || 1);
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
    if (!(high > low)) { low -= 1; high += 1; }
    const left = 56;
    const x = (t) => left + (t - from) / (to - from) * (width - left - 4);
    const y = (v) => height - 8 - (v - low) / (high - low) * (height - 26);
    for (const mark of open.marks) {
      if (mark.joint >= 0 && mark.joint !== joint) continue;
      if (mark.to < from || mark.from > to) continue;
      const a = Math.max(x(mark.from), left);
      const b = Math.min(Math.max(x(mark.to), a + 3), width);
      pen.save();
      pen.beginPath();
      pen.rect(a, 0, b - a, height);
      pen.clip();
      pen.globalAlpha = 0.14;
      pen.fillStyle = colour("--fail");
      pen.fillRect(a, 0, b - a, height);
      pen.globalAlpha = 0.5;
      pen.strokeStyle = colour("--fail");
      for (let s = a - height; s < b; s += 8) {
        pen.beginPath();
        pen.moveTo(s, height);
        pen.lineTo(s + height, 0);
        pen.stroke();
      }
      pen.restore();
      pen.fillStyle = colour("--fail");
      pen.font = "11px system-ui, sans-serif";
      pen.fillText(mark.title, a + 3, height - 3);
    }
    pen.font = "11px system-ui, sans-serif";
    pen.fillStyle = colour("--dim");
    pen.fillText(data.joints[joint] + ", " + data.units[joint], left + 4, 11);
    pen.textAlign = "right";
    pen.fillText(high.toPrecision(3), left - 4, 22);
    pen.fillText(low.toPrecision(3), left - 4, height - 4);
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

  data.checks.forEach((check, at) => {
    if (!data.check.includes(at)) return;
    const option = make("option", check.title);
    option.value = at;
    $("f-check").append(option);
  });
  const all = make("option", "all");
  all.value = "";
  $("e-joint").append(all, ...data.joints.map((name, j) => {
    const option = make("option", name);
    option.value = j;
    return option;
  }));
  $("e-joint").addEventListener("change", () => { if (open && open.samples) { layout(); draw(); } });
  for (const id of ["f-name", "f-verdict", "f-check", "f-rows"]) $(id).addEventListener("input", choose);
  $("filter").addEventListener("submit", (event) => event.preventDefault());
  for (const button of document.querySelectorAll("th button")) {
    button.addEventListener("click", () => sort(button.dataset.by));
  }
  $("csv").addEventListener("click", csv);
  $("back").addEventListener("click", () => { page -= 1; show(); });
  $("on").addEventListener("click", () => { page += 1; show(); });
  const again = () => { if (open && open.samples) draw(); };
  window.addEventListener("resize", again);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
  choose();
  if (many && data.traces.length) episode(data.traces[0], false);
  document.documentElement.dataset.ready = "yes";
})();
