// The overview of episodes and checks, the course over the session, addresses and the cursor.
import assert from "node:assert/strict";
import { test } from "node:test";

import { close, drawn, no_barrier, open } from "./browser.mjs";

const said = (page) => page.locator("#m-said").innerText();
const press = async (page, ...keys) => {
  for (const key of keys) await page.keyboard.press(key);
};
const opened = (page, name) => page.waitForFunction((name) =>
  document.querySelector("#e-title").textContent === "Episode " + name, name);
// Where in the overview a row or column is, in pixels of its canvas.
const place = (page, row, column, of) => page.evaluate(([row, column, of]) => {
  const box = document.querySelector("#matrix canvas").getBoundingClientRect();
  // The last column ends where the line below the first row ends.
  const pen = document.querySelector("#matrix canvas").getContext("2d");
  const scale = window.devicePixelRatio;
  const line = pen.getImageData(0, 18 * scale, Math.round(box.width * scale), 1).data;
  let end = 0;
  for (let x = 0; x < box.width * scale; x++) if (line[4 * x + 3] > 60) end = x / scale;
  const cell = Math.min(26, (end + 1) / of);
  return { x: box.left + end - (of - column - 0.5) * cell, y: box.top + 18 * row + 9 };
}, [row, column, of]);

test("the overview is moved through with keys, says what is there, and opens the episode", async () => {
  const page = await open("nursery.html");
  await page.focus("#matrix");
  assert.match(await said(page), /^Episode 0, verdict: \. ok\. Enter or a click opens it\.$/);
  await press(page, "ArrowRight", "ArrowRight");
  assert.match(await said(page), /^Episode 2, verdict: x FAIL\. Dropped frames: dropped share/);
  const rows = [];
  for (let row = 0; row < 40; row++) {
    rows.push((await said(page)).split(": ")[0].split(", ").slice(1).join(", "));
    await press(page, "ArrowDown");
  }
  const named = [...new Set(rows)];
  assert.ok(named.includes("dropped frames") && named.includes("tracking lag"), named.join());
  assert.ok(!named.includes("spikes"), "a check that found nothing is folded away");
  await press(page, "End");
  assert.match(await said(page), /^Episode 23, /);
  await press(page, "Home");
  assert.match(await said(page), /^Episode 0, /);
  await page.keyboard.press("Shift+ArrowRight");
  assert.match(await said(page), /^Episode 10, /);
  await press(page, "Enter");
  await opened(page, "10");
  assert.match(page.url(), /#episode=10$/);
  // Its samples are unpacked before it has the focus.
  await page.waitForFunction(() => document.activeElement.id === "e-title");
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("checks without a finding unfold; what was not assessed has a mark of its own", async () => {
  const page = await open("nursery.html");
  const high = () => page.locator("#matrix canvas").evaluate((canvas) => canvas.clientHeight);
  const folded = await high();
  assert.match(await page.locator("#m-fold").innerText(), /^\d+ checks found nothing in any episode; \d+ measured nothing/);
  await page.check("#m-all");
  const all = await high();
  const checks = await page.evaluate(() => JSON.parse(document.getElementById("data").textContent).checks.length);
  assert.ok(folded < all && all === 18 * (checks + 1) + 22, `${folded}, ${all}, ${checks} checks`);
  await page.focus("#matrix");
  await press(page, ...Array(80).fill("ArrowDown"));
  assert.match(await said(page), /^Episode 0, [^:]+: - n\/a\./);
  await close(page);
});

test("a click on a mark opens its episode, and the keys back and forward of the browser work", async () => {
  const page = await open("nursery.html");
  const first = await page.locator("#e-title").innerText();
  await page.locator("#overview").scrollIntoViewIfNeeded();
  await page.locator("#matrix").scrollIntoViewIfNeeded();
  const at = await place(page, 0, 17, 24);
  await page.mouse.move(at.x, at.y);
  assert.match(await said(page), /^Episode 17, verdict: x FAIL/);
  await page.mouse.click(at.x, at.y);
  await opened(page, "17");
  await page.locator("#table tbody a", { hasText: /^4$/ }).click();
  await opened(page, "4");
  assert.match(page.url(), /#episode=4$/);
  await page.goBack();
  await opened(page, "17");
  await page.goForward();
  await opened(page, "4");
  await page.goBack();
  await page.goBack();
  await page.waitForFunction((first) => document.querySelector("#e-title").textContent === first, first);
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("an address opens its episode, also one with a hostile name; one that is not here is said", async () => {
  let page = await open("nursery.html#episode=13");
  await opened(page, "13");
  await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length === 6);
  await close(page);
  const hostile = "</script><script>document.title='owned'</script>";
  page = await open(`hostile.html#episode=${encodeURIComponent(hostile)}`);
  await opened(page, hostile);
  assert.notEqual(await page.title(), "owned");
  await close(page);
  for (const name of ["nobody", "%E0%A4%A", "<img src=x onerror=document.title='owned'>"]) {
    page = await open(`nursery.html#episode=${name}`);
    assert.match(await page.locator("#e-title").innerText(), /^No episode of that name/);
    assert.equal(await page.locator("#plot canvas").count(), 0);
    assert.notEqual(await page.title(), "owned");
    assert.deepEqual(page.faults, []);
    await close(page);
  }
});

test("the contents lead to every part", async () => {
  for (const [name, still] of [["nursery.html", false], ["comparison.html", true]]) {
    const page = await open(name, {}, still);
    const links = page.locator("nav a");
    assert.ok(await links.count() >= 6);
    for (const link of await links.all()) {
      await link.click();
      const [top, high] = await page.evaluate(() => {
        const part = document.querySelector(location.hash);
        return [part.getBoundingClientRect().top, part.offsetHeight];
      });
      assert.ok(high > 10 && top < 900, `${await link.innerText()} at ${top}`);
    }
    await close(page);
  }
});

test("points of the course have names, shapes and limits with their value, and open their episode", async () => {
  const page = await open("nursery.html");
  const lag = page.locator(".course").first();
  assert.match(await lag.getAttribute("aria-label"), /^tracking lag/);
  assert.equal(await lag.locator("[data-at]").count(), 24);
  assert.match(await lag.textContent(), /warn 150 ms/);
  assert.match(await lag.textContent(), /fail 300 ms/);
  assert.deepEqual(await lag.locator("text.name").allTextContents(), ["17"]);
  const point = lag.locator('[data-at="17"]');
  assert.match(await point.getAttribute("class"), /fail/);
  await point.hover();
  assert.match(await lag.locator("+ p").innerText(), /^Episode 17: \d+ ms; the episode as a whole: x FAIL/);
  await point.click();
  await opened(page, "17");
  await lag.focus();
  await press(page, "Home", "ArrowRight", "ArrowRight");
  assert.match(await lag.locator("+ p").innerText(), /^Episode 2: /);
  await press(page, "Enter");
  await opened(page, "2");
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("the cursor reads out leader, follower and their difference, and the file and rows are named", async () => {
  const page = await open("nursery.html#episode=17");
  await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length === 6);
  assert.match(await page.locator("#e-place").innerText(), /^Rows \d+ to \d+ of nursery\/part-2\.parquet, counted from 0$/);
  const readout = page.locator("#readout");
  await page.locator("#plot canvas").nth(2).hover();
  const numbers = async () => {
    const found = /^([\d.]+) s, (\w+): leader (-?[\d.]+) deg, follower (-?[\d.]+) deg, follower minus leader (-?[\d.]+) deg$/
      .exec(await readout.innerText());
    assert.ok(found, await readout.innerText());
    return { time: +found[1], joint: found[2], leader: +found[3], follower: +found[4], apart: +found[5] };
  };
  const first = await numbers();
  assert.equal(first.joint, "elbow");
  assert.ok(Math.abs(first.follower - first.leader - first.apart) < 0.011, JSON.stringify(first));
  await page.focus("#plot");
  const before = await drawn(page);
  await press(page, ".");
  const next = await numbers();
  // One frame at 30 Hz.
  assert.ok(Math.abs(next.time - first.time - 1 / 30) < 0.004, `${first.time}, ${next.time}`);
  assert.notEqual(await drawn(page), before);
  await press(page, "ArrowDown");
  assert.equal((await numbers()).joint, "wrist_pitch");
  await press(page, ",");
  assert.equal((await numbers()).time, first.time);
  assert.deepEqual(page.faults, []);
  await close(page);
});

test("the time has ticks at round numbers, closer ones where it is zoomed", async () => {
  const page = await open("nursery.html#episode=17");
  await page.waitForFunction(() => document.querySelectorAll("#plot canvas").length === 6);
  // What the canvas is asked to write.
  const written = (key) => page.evaluate((key) => {
    const texts = [];
    const write = CanvasRenderingContext2D.prototype.fillText;
    CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
      texts.push(text);
      return write.call(this, text, ...rest);
    };
    document.querySelector("#plot").dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
    CanvasRenderingContext2D.prototype.fillText = write;
    return texts;
  }, key);
  const whole = await written("0");
  for (const tick of ["0", "2", "4", "14"]) assert.ok(whole.includes(tick), whole.join(" "));
  assert.ok(whole.includes("s"));
  let nearer = [];
  for (const key of ["+", "+", "+"]) nearer = await written(key);
  assert.ok(nearer.includes("7.2") && nearer.includes("7.4"), nearer.join(" "));
  await close(page);
});

for (const scheme of ["light", "dark"]) {
  test(`10,000 episodes: the overview is drawn at once and leads to an episode, ${scheme}`, async () => {
    const page = await open("many.html", { colorScheme: scheme });
    for (let again = 0; again < 3; again++) {
      await page.check("#m-all");
      if (again < 2) await page.uncheck("#m-all");
    }
    const [times, checks] = await page.evaluate(() => [
      performance.getEntriesByName("matrix").map((entry) => entry.duration),
      JSON.parse(document.getElementById("data").textContent).checks.length]);
    console.log(`many.html: overview of ${checks} checks drawn in ${times.map((ms) => ms.toFixed(0)).join(", ")} ms`);
    assert.ok(checks >= 58, `${checks} checks`);
    // 100 ms for each; the first sorts all findings as well and has slack for a slow machine.
    assert.ok(times.length >= 6 && times[0] <= 240, times.join(" "));
    const rest = times.slice(1).sort((a, b) => a - b);
    assert.ok(rest[rest.length >> 1] <= 100, times.join(" "));
    await page.focus("#matrix");
    const stretch = /^Episodes (\d+) to (\d+), (\d+) of 10000, verdict: (x FAIL|! warn|\. ok) in \d+/;
    const [, from, to, held] = stretch.exec(await said(page));
    assert.equal(to - from + 1, +held);
    assert.ok(+held >= 50 && +held <= 200, held);
    await press(page, "ArrowRight", "ArrowRight", "Enter");
    assert.match(await said(page), new RegExp(`^Episode ${2 * held}, verdict`));
    assert.ok(await page.locator("#m-out").isVisible());
    await press(page, "Escape");
    assert.match(await said(page), stretch);
    await press(page, "Enter", "ArrowRight", "Enter");
    await opened(page, String(2 * held + 1));
    // Every episode is in one column, and what it shows is the worst in it.
    const counted = await page.evaluate(async () => {
      const data = JSON.parse(document.getElementById("data").textContent);
      return data.verdict.filter((verdict) => verdict === 2).length;
    });
    await page.focus("#matrix");
    await press(page, "Escape", "Home");
    let fails = 0;
    for (let column = 0; column < 300; column++) {
      const text = await said(page);
      fails += +(/x FAIL in (\d+)/.exec(text)?.[1] ?? 0);
      await press(page, "ArrowRight");
      if (await said(page) === text) break;
    }
    assert.equal(fails, counted);
    await no_barrier(page);
    assert.deepEqual(page.faults, []);
    await close(page);
  });
}

test("390 pixels wide, what does not fit says so and can be scrolled to", async () => {
  for (const [name, still] of [["nursery.html", false], ["comparison.html", true], ["trace.html", false], ["hostile.html", false]]) {
    const page = await open(name, { viewport: { width: 390, height: 844 } }, still);
    await page.locator("details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
    let over = 0;
    for (const region of await page.locator(".scroll").all()) {
      // What is off the screen may not have been laid out.
      await region.scrollIntoViewIfNeeded();
      const [wide, sign] = await region.evaluate((one) => new Promise((next) =>
        requestAnimationFrame(() => requestAnimationFrame(() => next(
          [one.scrollWidth > one.clientWidth, /scroll/.test(getComputedStyle(one, "::before").content)])))));
      assert.equal(sign, wide, `${name}: ${await region.getAttribute("aria-label")}`);
      over += wide;
    }
    const [hidden, cut] = await page.evaluate(() => {
      const shown = [...document.querySelectorAll("main *, header *")].filter((one) => one.getClientRects().length);
      return [[...document.querySelectorAll("th, td")].filter((one) => getComputedStyle(one).display === "none").length,
        shown.filter((one) => !one.closest(".scroll") && one.scrollWidth > one.clientWidth + 1 &&
          getComputedStyle(one).overflowX !== "visible" && one.clientWidth).map((one) => one.outerHTML.slice(0, 80))];
    });
    assert.ok(over >= 1, `${name}: no region scrolls`);
    if (name === "nursery.html") assert.ok(over >= 8, `${over} regions scroll`);
    assert.equal(hidden, 0, `${name}: cells that are not shown`);
    assert.deepEqual(cut, [], name);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= 390, name);
    await close(page);
  }
});

test("no sentence is on a page five times", async () => {
  for (const [name, still] of [["comparison.html", true], ["hostile-comparison.html", true], ["nursery.html", false]]) {
    const page = await open(name, {}, still);
    await page.locator("details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
    const text = await page.evaluate(() => [...document.querySelectorAll("p, li, th, h2, h3, caption, .note")]
      .map((one) => one.innerText));
    const counts = new Map();
    for (const sentence of text.flatMap((one) => one.split(/(?<=[.;:])\s+|\n/))) {
      if (sentence.trim().split(/\s+/).length >= 5) counts.set(sentence, (counts.get(sentence) ?? 0) + 1);
    }
    assert.deepEqual([...counts].filter(([, times]) => times >= 5), [], name);
    await close(page);
  }
});

test("a change stands on one line with what it is of", async () => {
  const page = await open("comparison.html", {}, true);
  await page.locator("details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
  const cells = await page.locator("td.one-line").evaluateAll((all) => all.map((cell) => {
    const range = document.createRange();
    range.selectNodeContents(cell);
    const tops = [...range.getClientRects()].map((box) => Math.round(box.top / 8));
    return [cell.innerText, new Set(tops).size];
  }));
  assert.ok(cells.length > 20);
  for (const [text, lines] of cells) {
    assert.equal(lines <= 1, true, text);
    assert.match(text, /^(-|(B - A =|B \/ A =|share) -?[\d.]+ \S+ \(-?[\d.]+ to -?[\d.]+\))$/);
  }
  await close(page);
});
