// The course of a measurement over the session: the point next to the pointer or chosen by the arrow
// keys is read out, and opens its episode.
const points = (chart) => [...chart.querySelectorAll("[data-at]")].map((shape) => {
  const [, x, y] = /^M([\d.]+) ([\d.]+)/.exec(shape.getAttribute("d"));
  return { at: +shape.dataset.at, said: shape.dataset.value + " " + chart.dataset.unit, x: +x, y: +y };
});
const courses = () => {
  for (const chart of document.querySelectorAll(".course")) {
    const image = chart.querySelector("svg");
    const readout = chart.nextElementSibling;
    const ring = document.createElementNS(image.namespaceURI, "circle");
    ring.setAttribute("class", "ring");
    ring.setAttribute("r", "7");
    let all = null;
    let place = -1;
    const choose_point = (next) => {
      if (!all) all = points(chart);
      place = Math.min(Math.max(next, 0), all.length - 1);
      const { at, said, x, y } = all[place];
      ring.setAttribute("cx", x);
      ring.setAttribute("cy", y);
      image.append(ring);
      readout.textContent = "Episode " + data.id[at] + ": " + said + "; the episode as a whole: " +
        status[data.verdict[at]] + ". Enter or a click opens it.";
    };
    const near = (event) => {
      if (!all) all = points(chart);
      const box = image.getBoundingClientRect();
      const scale = image.viewBox.baseVal.width / box.width;
      const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
      const far = (one) => (one.x - x) ** 2 + (one.y - y) ** 2;
      let best = -1;
      all.forEach((one, at) => { if (best < 0 || far(one) < far(all[best])) best = at; });
      return best >= 0 && far(all[best]) < 40 ** 2 ? best : -1;
    };
    chart.setAttribute("role", "application");
    chart.addEventListener("pointermove", (event) => {
      const at = near(event);
      if (at >= 0 && at !== place) choose_point(at);
    });
    chart.addEventListener("click", (event) => {
      const at = near(event);
      if (at < 0) return;
      choose_point(at);
      go(all[at].at);
    });
    chart.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 10 : 1;
      const act = {
        ArrowLeft: () => choose_point(place - step),
        ArrowRight: () => choose_point(place + step),
        Home: () => choose_point(0),
        End: () => choose_point(Infinity),
        Enter: () => { if (place >= 0) go(all[place].at); },
      }[event.key];
      if (act && !event.ctrlKey && !event.metaKey && !event.altKey) { act(); event.preventDefault(); }
    });
  }
};
