// Every page: without a fault of accessibility that axe-core finds (WCAG 2.2 AA), and on a narrow screen without being
// wider than it. SHOTS=FOLDER takes pictures at three widths, light, dark and grey.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { begin, browser, open, plan, service } from "./service.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const pages = ["/", "/week/2026-12-14", "/season", "/crews", "/crews/north", "/jobs", "/wish", "/people", "/equipment", "/places", "/prices", "/matters", "/weather", "/plan", "/given-out/1", "/questions", "/questions/why?job=birch-attic", "/questions/chance", "/changes", "/changes/2", "/sign-ins", "/me", "/step/alder-attic/seal", "/step/alder-attic/seal/move", "/step/alder-attic/seal/move?to=2026-12-13+am", "/book/jobs/of/alder-attic/history", "/book/jobs/of/alder-attic", "/book/jobs/new", "/book/shop", "/book/weather/of/%230", "/no-such-page"];

let chromium, at, state;
before(async () => {
  chromium = await browser();
  at = await service();
  const page = await open(chromium);
  await begin(page, at);
  await plan(page, at, 1);
  await page.getByRole("button", { name: "Give out" }).click();
  await page.goto(`${at.base}/weather`);
  await page.getByRole("button", { name: "Mark the storm" }).click();
  await plan(page, at, 1);
  state = await page.context().storageState();
  await page.context().close();
});
after(async () => {
  await chromium.close();
  await at.end();
});

for (const colorScheme of ["light", "dark"]) {
  test(`no fault of accessibility, ${colorScheme}`, async () => {
    const page = await open(chromium, { storageState: state, colorScheme, bypassCSP: true });
    const faults = [];
    for (const path of pages) {
      await page.goto(at.base + path);
      await page.evaluate(axe);
      const found = await page.evaluate((tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags } }), tags);
      for (const fault of found.violations) {
        faults.push(`${path}: ${fault.id}: ${fault.help}: ${fault.nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(" | ")}`);
      }
    }
    assert.deepEqual(faults, []);
  });
}

test("no fault of accessibility before signing in", async () => {
  const page = await open(chromium, { bypassCSP: true });
  await page.goto(`${at.base}/sign-in`);
  await page.evaluate(axe);
  const found = await page.evaluate((tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags } }), tags);
  assert.deepEqual(found.violations.map((fault) => fault.id), []);
});

test("no page is wider than its screen, and nothing on it is scrolled sideways", async () => {
  const wide = [];
  for (const width of [360, 700, 820, 1280]) {
    const page = await open(chromium, { storageState: state, viewport: { width, height: 740 } });
    for (const path of pages) {
      await page.goto(at.base + path);
      await page.evaluate(() => document.fonts.ready);
      // But for the days of a week, which are turned like pages.
      const found = await page.evaluate(() => {
        const scrolls = (of) => of.scrollWidth > of.clientWidth + 1 && of.clientWidth > 0 && /auto|scroll/.test(getComputedStyle(of).overflowX);
        const parts = [...document.querySelectorAll("main *:not(.days)")].filter(scrolls);
        return [...(document.documentElement.scrollWidth > innerWidth ? ["the page"] : []), ...parts.map((of) => of.getAttribute("aria-label") ?? of.className)];
      });
      wide.push(...found.map((what) => `${path} at ${width}: ${what}`));
    }
    await page.context().close();
  }
  assert.deepEqual(wide, []);
});

test("every sort of mark is told apart in grey", async () => {
  const page = await open(chromium, { storageState: state });
  await page.goto(`${at.base}/`);
  const kinds = ["storm", "no-travel", "covered"];
  const hatches = await page.evaluate((kinds) => {
    // Lines that lean left, lines that lean right, level lines, and whether they are rows of dots.
    const look = (of) => [/l-/, /l\d/, /h/].map((lean) => lean.test(of.getAttribute("d"))).join() + getComputedStyle(of).strokeDasharray;
    return ["drawing", "key"].map((where) => kinds.map((kind) => look(document.querySelector(`.${where} .hatch.${kind}`))));
  }, kinds);
  assert.deepEqual(hatches[0], hatches[1], "the key's hatches are the drawing's");
  assert.equal(new Set(hatches[0]).size, kinds.length);
  const unnamed = await page.evaluate(() => [...document.querySelectorAll(".drawing a.strip")].filter((strip) => !strip.querySelector("text .who")?.textContent.trim()).length);
  assert.equal(unnamed, 0, "each strip says whose it is, by name or letter");
  const dashes = await page.evaluate(() => ["held", "waits", "out"].map((of) => getComputedStyle(document.querySelector(`.line .${of}`)).strokeDasharray));
  assert.equal(new Set(dashes).size, 3);
});

/** Words of the drawing that reach out of their strip, in the fonts that the page has. */
const outside = () => {
  const far = [];
  for (const strip of document.querySelectorAll("svg.sheet:not(.swatch) a.strip")) {
    const box = strip.querySelector(".paper").getBoundingClientRect();
    for (const text of strip.querySelectorAll("text")) {
      const words = text.getBoundingClientRect();
      if (words.width > 0 && (words.left < box.left - 1 || words.right > box.right + 1)) far.push(`${text.textContent}: ${words.right - box.right}`);
    }
  }
  return far;
};

test("words stay within their strips, in the pages' fonts and in any other", async () => {
  for (const width of [360, 820, 1280]) {
    for (const fonts of ["own", "other"]) {
      const page = await open(chromium, { storageState: state, viewport: { width, height: 900 } });
      if (fonts === "other") await page.route("**/*.woff2", (route) => route.abort());
      for (const path of ["/", "/week/2026-12-14", "/week/2026-12-21", "/season"]) {
        await page.goto(at.base + path);
        await page.evaluate(() => document.fonts.ready);
        const loaded = await page.evaluate(() => [...document.fonts].filter((font) => font.status === "loaded").length);
        assert.equal(loaded > 0, fonts === "own");
        assert.deepEqual(await page.evaluate(outside), [], `${path} at ${width}, ${fonts} fonts`);
      }
      await page.context().close();
    }
  }
});

test("on a telephone the week is read a day at a time, with the places beside it", async () => {
  const page = await open(chromium, { storageState: state, viewport: { width: 360, height: 740 }, javaScriptEnabled: false });
  await page.goto(`${at.base}/`);
  assert.equal(await page.locator(".of-week").isVisible(), false);
  const shown = () =>
    page.evaluate(() => {
      const within = document.querySelector(".days").getBoundingClientRect();
      const whole = (day) => day.getBoundingClientRect().left >= within.left - 2 && day.getBoundingClientRect().right <= within.right + 2;
      return [...document.querySelectorAll(".dayview")].filter(whole).map((day) => day.getAttribute("aria-label"));
    });
  assert.deepEqual(await shown(), ["Mon 7 Dec"]);
  await page.locator("#day-2026-12-07").getByRole("link", { name: "next →" }).click();
  await page.waitForFunction(() => document.querySelector("#day-2026-12-08").getBoundingClientRect().left < 40);
  assert.deepEqual(await shown(), ["Tue 8 Dec"]);
  const [place, strip] = await page.evaluate(() => ["text.place", "a.strip .paper"].map((of) => document.querySelector(`#day-2026-12-08 ${of}`).getBoundingClientRect().toJSON()));
  assert.ok(place.left >= 0 && place.right < strip.left + 1 && strip.right <= 360, "the places stand beside the work");
  await page.locator("#day-2026-12-08").getByRole("link", { name: "← before" }).click();
  await page.waitForFunction(() => document.querySelector("#day-2026-12-07").getBoundingClientRect().left > -2);
  assert.deepEqual(await shown(), ["Mon 7 Dec"]);
});

test("a week weighs less than 120 kB without its fonts, and they less than half of that", async () => {
  const page = await open(chromium, { storageState: state });
  const weights = { fonts: 0, page: 0 };
  page.on("response", async (answer) => {
    const bytes = (await answer.body()).length;
    weights[answer.url().endsWith(".woff2") ? "fonts" : "page"] += bytes;
  });
  await page.goto(`${at.base}/week/2026-12-14`, { waitUntil: "networkidle" });
  assert.ok(weights.page > 20_000 && weights.page < 120_000, `${weights.page}`);
  assert.ok(weights.fonts > 5_000 && weights.fonts < 60_000, `${weights.fonts}`);
});

test("pictures to be looked at", { skip: !process.env.SHOTS && "SHOTS names no folder" }, async () => {
  for (const width of [360, 820, 1280]) {
    for (const look of ["light", "dark", "grey"]) {
      const page = await open(chromium, { storageState: state, viewport: { width, height: 900 }, colorScheme: look === "dark" ? "dark" : "light" });
      for (const path of pages.filter((path) => !path.includes("week") && !path.includes("%"))) {
        await page.goto(at.base + path);
        if (look === "grey") await page.addStyleTag({ content: "html { filter: grayscale(1) }" }).catch(() => {});
        await page.screenshot({ path: join(process.env.SHOTS, `${width}-${look}${path.replace(/[^a-z0-9]+/gi, "_")}.png`), fullPage: true });
      }
      await page.context().close();
    }
  }
});
