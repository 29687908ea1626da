// What all browser tests need: a server that counts what is asked of it, a browser, pages.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { join } from "node:path";
import { after, before } from "node:test";

const require = createRequire(join(process.env.TELEASSAY_BROWSER, "package.json"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
export const folder = process.env.TELEASSAY_REPORTS;

let browser;
let server;
export const asked = { requests: [] };
before(async () => {
  server = createServer((request, response) => {
    asked.requests.push(request.url);
    try {
      response.setHeader("content-type", "text/html");
      response.end(readFileSync(join(folder, request.url)));
    } catch {
      response.statusCode = 404;
      response.end();
    }
  });
  await new Promise((ready) => server.listen(0, "127.0.0.1", ready));
  browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
});
after(async () => {
  await browser?.close();
  server?.close();
});

// Opens a page; `still` for one that has no script and so never says that it is ready.
export const open = async (name, options = {}, still = false) => {
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, ...options });
  const page = await context.newPage();
  page.faults = [];
  page.on("pageerror", (error) => page.faults.push(String(error)));
  page.on("console", (said) => said.type() === "error" && page.faults.push(said.text()));
  asked.requests = [];
  await page.goto(`http://127.0.0.1:${server.address().port}/${name}`);
  if (!still) await page.waitForSelector("html[data-ready]");
  return page;
};
export const close = (page) => page.context().close();

// Every fold opened, nothing that axe finds wrong.
export const no_barrier = async (page) => {
  await page.locator("details").evaluateAll((all) => all.forEach((one) => { one.open = true; }));
  // Run as a debugger would, since the page's own policy lets no script in.
  const result = await page.evaluate(`${axe}; axe.run(document, { resultTypes: ["violations"] })`);
  const found = result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3)}`);
  assert.deepEqual(found, []);
};

export const narrow = { viewport: { width: 320, height: 640 } };
export const nothing_runs_out = async (page) => {
  const over = await page.evaluate(() => document.documentElement.scrollWidth);
  assert.ok(over <= 320, `${over} pixels wide`);
};

// Whether anything is drawn on a canvas, as a fingerprint of its pixels.
export const drawn = (page) => page.evaluate(() => {
  let sum = 0;
  for (const canvas of document.querySelectorAll("#plot canvas")) {
    const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
    for (let i = 0; i < pixels.length; i += 4) sum = (sum * 31 + pixels[i] + pixels[i + 3]) % 1e9;
  }
  return sum;
});
