// The address of an episode: what is behind the # of the page's own address. The keys of a browser
// that go back and forward work, and a link to an episode can be sent.
const address = (at) => "#episode=" + encodeURIComponent(data.id[at]);
// The episode that the address names: -1 where it names one that is not here, null where it names none.
const addressed = () => {
  const named = /^#episode=(.*)$/.exec(location.hash);
  if (!named) return null;
  try {
    return data.id.indexOf(decodeURIComponent(named[1]));
  } catch {
    return -1;
  }
};
const go = (at) => {
  location.hash = address(at);
  return episode(at, true);
};
// Opens what the address names; else the worst episode that has a trace.
const arrive = () => {
  const at = addressed();
  if (at === null) {
    if (data.traces.length) episode(data.traces[0], false);
  } else if (at < 0) {
    nothing("No episode of that name is in this report.");
  } else if (!open || open.at !== at) {
    episode(at, true);
  }
};
window.addEventListener("hashchange", arrive);
