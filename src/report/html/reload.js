// While the session goes on the file is written again: the page loads it from disk, and what was on the
// screen stays there. Whoever types or marks text is not disturbed.
const place = "teleassay" + location.pathname;
const busy = () => {
  const focused = document.activeElement;
  const typing = focused && ["INPUT", "SELECT", "TEXTAREA"].includes(focused.tagName);
  return document.hidden || typing || String(getSelection()) !== "";
};
// A browser may keep nothing of a file on disk: then the page begins at its top.
try {
  const kept = JSON.parse(sessionStorage.getItem(place) || "null");
  // The episode that the address names is scrolled to when its trace is unpacked: a little later.
  if (kept) for (const after of [0, 50, 150, 300]) setTimeout(() => scrollTo(kept[0], kept[1]), after);
} catch {}
setInterval(() => {
  if (busy()) return;
  try {
    sessionStorage.setItem(place, JSON.stringify([scrollX, scrollY]));
  } catch {}
  location.reload();
}, EVERY);
