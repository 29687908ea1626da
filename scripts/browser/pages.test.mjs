// The pages of `compare` and `trace` in a real browser.
import assert from "node:assert/strict";
import { test } from "node:test";

import { asked, close, drawn, narrow, no_barrier, nothing_runs_out, open } from "./browser.mjs";

const comparison = (options) => open("comparison.html", options, true);

test("a comparison asks nothing of the network and has no script", async () => {
  const page = await comparison();
  assert.deepEqual(asked.requests, ["/comparison.html"]);
  assert.equal(await page.locator("script").count(), 0);
  const policy = await page.locator("meta[http-equiv]").getAttribute("content");
  assert.match(policy, /default-src 'none'/);
  assert.doesNotMatch(policy, /script-src/);
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("answer, biggest cause and what to do stand on the first screen", async () => {
  const page = await comparison();
  const first = page.viewportSize().height;
  for (const [what, said] of [[".sentence", /After a correction: offset elbow/],
    ["h2:first-of-type", /Biggest cause: offset elbow/], ["main ul", /subtract 4\.\d+ deg from elbow/]]) {
    const found = page.locator(what).first();
    assert.match(await found.innerText(), said);
    const box = await found.boundingBox();
    assert.ok(box.y + box.height <= first, `${what} ends at ${box.y + box.height}`);
  }
  const cause = await page.locator("main section").first().innerText();
  assert.match(cause, /B - A = 4\.\d+ deg \(95 % interval 4\.\d+ to 4\.\d+\), from 24 and 24 episodes/);
  await close(page);
});

test("the band of what does not matter stands at one place in every row", async () => {
  const page = await comparison();
  await page.locator("details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
  const bands = await page.locator("td svg").evaluateAll((all) => all.map((svg) => {
    const box = svg.querySelector(".zone").getBoundingClientRect();
    const own = svg.getBoundingClientRect();
    return [Math.round(box.right - own.left), Math.round(own.width)].join();
  }));
  assert.ok(bands.length > 20);
  assert.equal(new Set(bands).size, 1, [...new Set(bands)].join(" "));
  const out = await page.locator("table").evaluateAll((all) =>
    all.filter((table) => table.scrollWidth > table.parentElement.clientWidth).length);
  assert.equal(out, 0, "no table is wider than the page");
  // An answer is drawn as it is worded: the bar of what is the same lies within the band.
  const inside = await page.locator("details tr:has(svg)").evaluateAll((all) => all.every((row) => {
    const [zone, bar] = [".zone", ".whisker"].map((part) => row.querySelector(part).getBoundingClientRect());
    return bar.left >= zone.left - 2 && bar.right <= zone.right + 2;
  }));
  assert.ok(inside);
  await close(page);
});

for (const scheme of ["light", "dark"]) {
  test(`no barrier that axe finds on either page, ${scheme}`, async () => {
    for (const [name, still] of [["comparison.html", true], ["hostile-comparison.html", true],
      ["course.html", true], ["trace.html", false]]) {
      const page = await open(name, { colorScheme: scheme }, still);
      await no_barrier(page);
      await close(page);
    }
  });
}

test("320 pixels wide, nothing runs out of either page", async () => {
  for (const [name, still] of [["comparison.html", true], ["hostile-comparison.html", true],
    ["course.html", true], ["trace.html", false], ["hostile-trace.html", false]]) {
    const page = await open(name, narrow, still);
    await nothing_runs_out(page);
    await close(page);
  }
});

test("both print, with what is folded on the screen", async () => {
  // As wide as a page of A4 within its margins, in pixels of 1/96 inch.
  const page = await comparison({ viewport: { width: 718, height: 1047 } });
  const hidden = page.locator("details td", { hasText: "= same" }).first();
  assert.ok(!(await hidden.isVisible()));
  await page.emulateMedia({ media: "print" });
  const height = await hidden.evaluate((cell) => cell.getBoundingClientRect().height);
  assert.ok(height > 5, `${height} pixels high on paper`);
  const [width, highest] = await page.evaluate(() => [document.documentElement.scrollWidth,
    Math.max(...[...document.querySelectorAll("tr")].map((row) => row.offsetHeight))]);
  assert.ok(width <= 718, `${width} pixels wide on paper`);
  assert.ok(highest <= 120, `a row is ${highest} pixels high on paper`);
  assert.equal((await page.pdf({ format: "A4" })).subarray(0, 5).toString(), "%PDF-");
  await close(page);
  const trace = await open("trace.html");
  await trace.emulateMedia({ media: "print" });
  assert.ok(await trace.locator("#plot canvas").first().isVisible());
  assert.equal(await trace.locator("#e-findings button:visible").count(), 0);
  assert.equal((await trace.pdf({ format: "A4" })).subarray(0, 5).toString(), "%PDF-");
  await close(trace);
});

test("hostile names of folders, joints and tasks stay text", async () => {
  for (const [name, still] of [["hostile-comparison.html", true], ["hostile-trace.html", false]]) {
    const page = await open(name, {}, still);
    assert.notEqual(await page.title(), "owned");
    assert.deepEqual(page.faults, []);
    assert.equal(await page.locator("img, b, iframe").count(), 0);
    const text = await page.locator("body").innerText();
    assert.ok(text.includes("</style><script>document.title='owned'</script>"), text);
    await close(page);
  }
  const page = await open("hostile-comparison.html", {}, true);
  assert.match(await page.locator("body").innerText(), /<img src=x onerror=document\.title='owned'>/);
  assert.match(await page.locator("body").innerText(), /tasks of B alone.*<b>other<\/b>/);
  await close(page);
});

test("a trace asks nothing of the network, follows the keys and zooms to a span", async () => {
  const page = await open("trace.html");
  assert.deepEqual(asked.requests, ["/trace.html"]);
  assert.equal(await page.locator("#plot canvas").count(), 6);
  const whole = await drawn(page);
  const readout = page.locator("#readout");
  await page.focus("#plot");
  await page.keyboard.press("+");
  assert.notEqual(await drawn(page), whole);
  const at = await readout.innerText();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await readout.innerText(), at);
  await page.keyboard.press("0");
  assert.equal(await drawn(page), whole);
  assert.equal(await page.locator("#e-findings tbody button").count(), 8);
  await page.locator("#e-findings tbody button").first().click();
  const [from, to] = (await readout.innerText()).match(/[\d.]+/g).map(Number);
  assert.ok(from < 1.33 && to > 1.47 && to - from < 2, `${from} to ${to}`);
  assert.equal(await page.evaluate(() => document.activeElement.id), "plot");
  await page.selectOption("#e-joint", { label: "elbow" });
  assert.equal(await page.locator("#plot canvas").count(), 1);
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("a part of a trace shows its joints and its time first, and stamps that run backward are reported", async () => {
  const page = await open("trace-part.html");
  assert.equal(await page.locator("#plot canvas").count(), 2);
  assert.match(await page.locator("#readout").innerText(), /^2\.00 s to 6\.00 s of/);
  assert.match(await page.locator("#e-note").innerText(), /run backward: drawn at even steps/);
  await page.locator("#e-findings tbody button").first().click();
  // Frames 223 and 224 at 30 Hz.
  const [from, to] = (await page.locator("#readout").innerText()).match(/[\d.]+/g).map(Number);
  assert.ok(from < 7.43 && to > 7.47 && to - from < 2, `${from} to ${to}`);
  await close(page);
});

test("without scripts a trace still says what was found and how to draw it", async () => {
  const page = await open("trace.html", { javaScriptEnabled: false }, true);
  assert.match(await page.locator(".sentence").innerText(), /dropped frames/);
  assert.match(await page.locator("noscript").innerText(), /Dropped frames: dropped share .*limit/);
  assert.match(await page.locator("noscript").innerText(), /--out-svg FILE/);
  await close(page);
});
