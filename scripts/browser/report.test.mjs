// The HTML report in a real browser. Ceilings carry slack for a slow machine.
import assert from "node:assert/strict";
import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";

import { asked, close, drawn, folder, narrow, no_barrier, nothing_runs_out, open } from "./browser.mjs";

const names = (page) => page.locator("#table tbody th").allTextContents();

test("nothing is asked of the network, and no script faults", async () => {
  const page = await open("nursery.html");
  assert.deepEqual(asked.requests, ["/nursery.html"]);
  assert.deepEqual(page.faults, []);
  const policy = await page.locator("meta[http-equiv]").getAttribute("content");
  assert.match(policy, /default-src 'none'/);
  await close(page);
});

test("verdict, what was not read and cautions stand there without scripts", async () => {
  const page = await open("nursery.html", { javaScriptEnabled: false }, true);
  assert.match(await page.locator(".sentence").innerText(), /Exclude or re-record/);
  assert.match(await page.locator("body").innerText(), /An audit is not a safety function/);
  assert.ok(await page.getByRole("heading", { name: "Where this comes from" }).isVisible());
  await close(page);
});

test("the table sorts, filters and saves what is filtered", async () => {
  const page = await open("nursery.html");
  assert.equal((await names(page)).length, 24);
  await page.click('th button[data-by="id"]');
  assert.deepEqual(await names(page), [...Array(24).keys()].map(String));
  assert.equal(await page.locator("th[aria-sort=ascending]").count(), 1);
  await page.click('th button[data-by="id"]');
  assert.equal((await names(page))[0], "23");
  assert.equal(await page.locator("th[aria-sort=descending]").count(), 1);
  await page.selectOption("#f-verdict", "2");
  const failed = await names(page);
  assert.ok(failed.length > 0 && failed.length < 24);
  assert.match(await page.locator("#shown").innerText(), new RegExp(`^${failed.length} of 24`));
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("#csv")]);
  const lines = readFileSync(await download.path(), "utf8").trim().split("\r\n");
  assert.equal(lines.length, failed.length + 1);
  assert.ok(lines.slice(1).every((line) => line.split(",")[1] === "fail"));
  await page.selectOption("#f-verdict", "");
  await page.selectOption("#f-check", { label: "dropped frames" });
  assert.ok((await names(page)).length >= 1);
  await page.selectOption("#f-check", "");
  await page.fill("#f-name", "17");
  assert.deepEqual(await names(page), ["17"]);
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("an episode opens, zooms to a span and follows the keys", async () => {
  const page = await open("nursery.html");
  await page.fill("#f-name", "17");
  await page.click("#table tbody button");
  assert.match(await page.locator("#e-title").innerText(), /Episode 17/);
  await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length === 6);
  const whole = await drawn(page);
  await page.focus("#plot");
  await page.keyboard.press("+");
  const nearer = await drawn(page);
  assert.notEqual(nearer, whole);
  const readout = page.locator("#readout");
  const at = await readout.innerText();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await readout.innerText(), at);
  await page.keyboard.press("0");
  assert.match(await readout.innerText(), /^0\.00 s to/);
  assert.equal(await drawn(page), whole);
  await page.fill("#f-name", "2");
  await page.locator("#table tbody tr", { has: page.locator("th", { hasText: /^2$/ }) })
    .locator("button").click();
  await page.waitForFunction(() => /Episode 2$/.test(document.querySelector("#e-title").textContent));
  const zoom = page.locator("#e-findings tbody button").first();
  await zoom.waitFor();
  await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length > 0);
  await zoom.click();
  const [from, to] = (await readout.innerText()).match(/[\d.]+/g).map(Number);
  assert.ok(to - from > 0 && to - from < 10, `${from} to ${to}`);
  assert.equal(await page.evaluate(() => document.activeElement.id), "plot");
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("behind a file that was not read, each trace is that of the episode named above it", async () => {
  const recorded = JSON.parse(readFileSync(join(folder, "first.json"), "utf8"));
  const page = await open("damaged.html");
  const rows = await names(page);
  assert.equal(rows.length, 16);
  assert.ok(!rows.includes("9") && rows.includes("18"));
  let behind = 0;
  for (const [at, name] of rows.entries()) {
    await page.locator("#table tbody button").nth(at).click();
    await page.waitForFunction((name) => document.querySelector("#e-title").textContent === "Episode " + name, name);
    await page.waitForTimeout(120);
    // What is drawn: the samples that the script unpacks for the place it drew last.
    const drawn = await page.evaluate(() => {
      const place = document.querySelector("#plot").dataset.episode;
      const packed = document.querySelector(`script[data-episode="${place}"]`);
      return packed && JSON.parse(packed.dataset.shape);
    });
    const shown = await page.locator("#plot canvas").count();
    assert.equal(shown > 0, Boolean(drawn), name);
    if (!drawn) continue;
    const { first, frames } = recorded[name];
    assert.equal(drawn.n, frames, `frames of episode ${name}`);
    const [low, high] = drawn.ends[1];
    assert.ok(low - 1e-3 <= first && first <= high + 1e-3, `${name}: ${first} of ${low} to ${high}`);
    behind += +name >= 16;
  }
  assert.ok(behind >= 2, `${behind} traces behind the gap`);
  assert.deepEqual(page.faults, []);
  await close(page);
});

for (const scheme of ["light", "dark"]) {
  test(`no barrier that axe finds, ${scheme}`, async () => {
    const page = await open("nursery.html", { colorScheme: scheme });
    await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length > 0);
    await no_barrier(page);
    await close(page);
  });
}

test("320 pixels wide, nothing runs out of the page; it prints", async () => {
  const page = await open("nursery.html", narrow);
  await nothing_runs_out(page);
  const pdf = await page.pdf({ format: "A4" });
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  await close(page);
});

test("hostile names stay text", async () => {
  const page = await open("hostile.html");
  assert.notEqual(await page.title(), "owned");
  const shown = await names(page);
  assert.equal(shown.length, 6);
  assert.ok(shown.some((name) => name.startsWith("</script><script>")));
  assert.ok(shown.some((name) => name.includes("x".repeat(300))));
  assert.equal(await page.locator("#table b").count(), 0);
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("#csv")]);
  const csv = readFileSync(await download.path(), "utf8");
  assert.ok(csv.includes("'=1+1"), "a cell that begins like a formula is disarmed");
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("10,000 episodes with 500 traces: small, ready at once, an episode opens at once", async () => {
  const bytes = statSync(join(folder, "many.html")).size;
  assert.ok(bytes <= 10e6, `${bytes} bytes`);
  const page = await open("many.html");
  const ready = await page.evaluate(() => performance.getEntriesByType("navigation")[0].domComplete);
  assert.equal(await page.locator("#table tbody tr").count(), 100);
  assert.match(await page.locator("#shown").innerText(), /^10000 of 10000/);
  const traces = await page.locator("script[data-episode]").count();
  await page.waitForFunction(() => document.querySelector("#plot").dataset.episode);
  const opened = await page.evaluate(async () => {
    const begun = performance.now();
    const before = document.querySelector("#plot").dataset.episode;
    document.querySelectorAll("#table tbody button")[5].click();
    while (document.querySelector("#plot").dataset.episode === before) {
      await new Promise((next) => setTimeout(next, 0));
    }
    return performance.now() - begun;
  });
  console.log(`many.html: ${bytes} bytes, ${traces} traces, ready ${ready.toFixed(0)} ms, ` +
    `an episode ${opened.toFixed(0)} ms`);
  assert.ok(traces >= 500, `${traces} traces`);
  assert.ok(ready <= 1200, `ready after ${ready} ms`);
  assert.ok(opened <= 120, `an episode opens in ${opened} ms`);
  await close(page);
});

test("100,000 episodes, each flagged: still opens, sorts and filters", async () => {
  const bytes = statSync(join(folder, "huge.html")).size;
  const page = await open("huge.html");
  const ready = await page.evaluate(() => performance.getEntriesByType("navigation")[0].domComplete);
  assert.match(await page.locator("#shown").innerText(), /^100000 of 100000/);
  assert.equal(await page.locator("#table tbody tr").count(), 100);
  const flagged = await page.evaluate(() => JSON.parse(document.getElementById("data").textContent)
    .verdict.filter((verdict) => verdict > 0).length);
  assert.ok(flagged >= 90_000, `${flagged} flagged`);
  const timed = async (act) => {
    const begun = performance.now();
    await act();
    return performance.now() - begun;
  };
  const sorted = await timed(() => page.click('th button[data-by="id"]'));
  assert.equal((await names(page)).length, 100);
  const filtered = await timed(() => page.fill("#f-name", "99999"));
  assert.ok((await names(page)).every((name) => name.includes("99999")));
  await page.click("#table tbody button");
  assert.match(await page.locator("#e-title").innerText(), /99999/);
  console.log(`huge.html: ${bytes} bytes, ${flagged} flagged, ready ${ready.toFixed(0)} ms, ` +
    `sorted ${sorted.toFixed(0)} ms, filtered ${filtered.toFixed(0)} ms`);
  assert.ok(ready <= 6000, `ready after ${ready} ms`);
  assert.ok(sorted <= 3000 && filtered <= 1500, `sorted ${sorted} ms, filtered ${filtered} ms`);
  assert.deepEqual(page.faults, []);
  await close(page);
});

// What the checks call each fault that the demonstration plants.
const CALLED = {
  "dropped-frames": "dropped frames", "repeated-frames": "repeated frames", jitter: "timestamp jitter",
  "clock-backward": "non monotonic time", "missing-values": "missing values", "limit-dwell": "limit dwell",
  "dead-joint": "dead joint", "lag-joint": "tracking lag", "load-surges": "external disturbance",
  outlier: "outlier episode",
};

for (const scheme of ["light", "dark"]) {
  test(`cause, remedy and episodes of each planted fault stand on the first screen, ${scheme}`, async () => {
    const { faults } = JSON.parse(readFileSync(join(folder, "nursery/answers.json"), "utf8")).recipe;
    assert.ok(faults.length >= 10);
    const page = await open("nursery.html", { viewport: { width: 1280, height: 800 }, colorScheme: scheme });
    const causes = await page.locator("#plan li").evaluateAll((all) => all.map((one) => ({
      what: one.querySelector(".what").innerText,
      episodes: [...one.querySelectorAll(".what a")].map((link) => link.innerText),
      why: one.querySelector(".why").innerText,
      bottom: one.getBoundingClientRect().bottom,
    })));
    for (const { fault, episodes, joint } of faults) {
      // A check that only repeats a cause is named with it.
      const called = new RegExp(`(FAIL|warn|[Aa]lso:.*) ${CALLED[fault.kind]}`);
      const found = causes.find(({ what, why }) => called.test(what) || called.test(why));
      assert.ok(found, `${fault.kind} in ${causes.map(({ what }) => what).join("; ")}`);
      assert.ok(!joint || found.what.includes(joint), found.what);
      assert.deepEqual(found.episodes, episodes.map(String), fault.kind);
      assert.match(found.why, /\w{3}.*\. Fix: \w{3}/s);
      assert.ok(found.bottom <= 800, `${fault.kind} ends at ${found.bottom}`);
    }
    await page.locator("#plan a", { hasText: /^17$/ }).first().click();
    await page.waitForFunction(() => document.querySelector("#e-title").textContent === "Episode 17");
    assert.deepEqual(page.faults, []);
    await close(page);
  });
}
