// From the sheet: a Monday's errands counted, a strip opened, dragged and moved, with scripts and without.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { begin, browser, open, plan, service } from "./service.mjs";

let chromium;
before(async () => (chromium = await browser()));
after(() => chromium.close());

/** A week that was given out on Monday morning. */
async function week(options = {}) {
  const at = await service();
  const page = await open(chromium, options);
  await page.addInitScript(() => (window.print = () => sessionStorage.setItem("printed", "yes")));
  await begin(page, at);
  await plan(page, at, 2);
  await page.getByRole("button", { name: "Give out" }).click();
  await page.goto(`${at.base}/`);
  return { at, page };
}

/** A new customer's job, a storm, a crew's report, planned again, given out, told and printed: clicks and fields. */
async function errands({ page }, scripts) {
  let [clicks, fields] = [0, 0];
  const click = async (what) => (clicks++, what.click());
  const fill = async (label, text) => (fields++, page.getByLabel(label, { exact: true }).fill(text));
  const choose = async (label, option) => (fields++, page.getByLabel(label, { exact: true }).selectOption({ label: option }));
  const button = (name) => page.getByRole("button", { name });
  const link = (name) => page.getByRole("link", { name, exact: true });
  // A new customer and job.
  await click(page.locator(".weekhead").getByRole("link", { name: "A caller: which date?" }));
  await choose("What", "attic, air sealed and blown");
  await fill("Address of a new place", "17 Hollis Road");
  await fill("Owner's drive", "25");
  await fill("Customer and telephone", "Mrs. Placeholder, 555-0117");
  await fill("Wanted by", "2027-01-08");
  await click(button("Which dates?"));
  const dates = page.getByRole("region", { name: "Dates to offer" });
  await dates.waitFor({ timeout: 40_000 });
  await click(dates.locator("button.first").first());
  await page.locator("#progress").waitFor();
  // A storm.
  await click(link("Weather"));
  const storm = page.locator("form[action='/weather/storm']");
  fields += 2;
  await storm.getByLabel("From").fill("2026-12-14");
  await storm.getByLabel("To", { exact: true }).fill("2026-12-15");
  await click(storm.getByRole("button", { name: "Mark the storm" }));
  // A crew's report.
  await click(link("Week"));
  await click(page.locator(".of-week a.strip[href='/step/birch-attic/seal']").first());
  await click(button("Done"));
  await page.getByText(/^Noted/).waitFor();
  // Planned again, instead of what was begun with the job.
  await click(button("Plan again"));
  await page.getByText("It is not given out yet").waitFor({ timeout: 80_000 });
  assert.match(await page.locator("main").innerText(), /17 Hollis Road/);
  await click(button("Give out"));
  // People are told.
  await page.getByRole("heading", { name: "Crews to tell" }).waitFor();
  assert.equal(await page.locator("#customers a[href='tel:5550117']").count() > 0, true, "the new customer is called by a touch");
  if (scripts) await click(button(/^Copy/).first());
  // Printed: without scripts by the browser's own command.
  await click(link("Print the week"));
  await page.getByRole("heading", { name: /^Week 50/ }).waitFor();
  if (scripts) await page.waitForFunction(() => sessionStorage.getItem("printed") === "yes");
  return [clicks, fields];
}

test("a Monday's errands take twelve clicks and twelve fields at most", async () => {
  const at = await week();
  const [clicks, fields] = await errands(at, true);
  assert.ok(clicks <= 12 && fields <= 12, `${clicks} clicks, ${fields} fields`);
  console.log(`a Monday's errands: ${clicks} clicks, ${fields} fields`);
  assert.deepEqual(at.page.complaints, []);
  await at.at.end();
});

test("the same without scripts", async () => {
  const at = await week({ javaScriptEnabled: false });
  const [clicks, fields] = await errands(at, false);
  assert.ok(clicks <= 12 && fields <= 12, `${clicks} clicks, ${fields} fields`);
  assert.deepEqual(at.page.complaints, []);
  await at.at.end();
});

test("a strip opens beside the sheet, is had where it is, and that is taken back", async () => {
  const { at, page } = await week();
  await page.locator(".of-week a.strip[href='/step/cedar-pack/pack']").first().click();
  const chosen = page.locator("#chosen");
  await chosen.getByText("Ms. Placeholder").waitFor();
  assert.equal(await chosen.locator("a[href='tel:5550103']").innerText(), "555-0103");
  await chosen.getByRole("button", { name: /^Have it here/ }).click();
  await page.getByText(/^Fixed Drill and dense pack/).waitFor();
  assert.equal(await page.getByRole("button", { name: "Let it move" }).count(), 1);
  await page.getByRole("button", { name: "Take it back" }).click();
  await page.goto(`${at.base}/step/cedar-pack/pack`);
  assert.equal(await page.getByRole("button", { name: "Let it move" }).count(), 0);
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("a strip that is dragged to another half-day is moved there once that is decided", async () => {
  const { at, page } = await week();
  await page.goto(`${at.base}/week/2026-12-14`);
  const strip = page.locator(".of-week a.strip[href='/step/alder-attic/seal']").first();
  const box = await strip.locator(".paper").boundingBox();
  const halves = await page.locator(".of-week svg.sheet").getAttribute("data-halves");
  const columns = halves.split(";").map((half) => half.split(","));
  const svg = await page.locator(".of-week svg.sheet").boundingBox();
  const scale = svg.width / (await page.locator(".of-week svg.sheet").evaluate((of) => of.viewBox.baseVal.width));
  const friday = columns.find(([, half]) => half === "2026-12-18 am");
  // From where it is grabbed, so far that its left edge is in Friday's column.
  const by = svg.x + Number(friday[0]) * scale + 12 - box.x;
  await page.mouse.move(box.x + 16, box.y + 8);
  await page.mouse.down();
  await page.mouse.move(box.x + 16 + by / 2, box.y + 8, { steps: 4 });
  await page.mouse.move(box.x + 16 + by, box.y + 8, { steps: 4 });
  assert.equal(await page.locator("svg.sheet .ghost").count(), 1, "where it would be is drawn");
  await page.mouse.up();
  await page.waitForURL(/\/step\/alder-attic\/seal\/move\?to=2026-12-18%20am/);
  await page.getByRole("button", { name: "Do it" }).waitFor({ timeout: 40_000 });
  assert.match(await page.locator(".answer").innerText(), /It costs \$[\d,.]+ more than the plan given out/);
  await page.getByRole("button", { name: "Do it" }).click();
  await page.waitForURL(`${at.base}/given-out/2`);
  await page.goto(`${at.base}/step/alder-attic/seal`);
  assert.match(await page.locator("#opened").innerText(), /Planned\s+Fri 18 Dec/);
  // One that is let go where it was opens as by a click.
  await page.goto(`${at.base}/`);
  await page.locator(".of-week a.strip").first().click();
  await page.locator("#chosen h2").waitFor();
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("a finger that rests on a strip drags it, and one that is drawn over it scrolls", async () => {
  const { at, page } = await week({ viewport: { width: 820, height: 1100 }, hasTouch: true, isMobile: true });
  await page.goto(`${at.base}/week/2026-12-14`);
  const strip = page.locator(".of-week a.strip[href='/step/alder-attic/seal']").first();
  await strip.scrollIntoViewIfNeeded();
  const sheet = page.locator(".of-week svg.sheet");
  const touch = await page.context().newCDPSession(page);
  const finger = (type, x, y) => touch.send("Input.dispatchTouchEvent", { type, touchPoints: type === "touchEnd" ? [] : [{ x, y }] });
  const grip = async () => {
    const box = await strip.locator(".paper").boundingBox();
    return [box.x + 16, box.y + 8, box];
  };
  // Drawn at once it scrolls the page, and nothing is moved.
  let [x, y] = await grip();
  const scrolled = () => page.evaluate(() => scrollY);
  const before = await scrolled();
  const way = before > 120 ? 1 : -1;
  await finger("touchStart", x, y);
  for (let n = 1; n <= 10; n++) await finger("touchMove", x, y + way * n * 8);
  assert.equal(await page.locator("svg.sheet .ghost").count(), 0);
  await finger("touchEnd");
  await page.waitForFunction((before) => scrollY !== before, before);
  // Rested on it takes hold: the sheet stays, and the strip goes along.
  await page.waitForTimeout(400);
  let box;
  [x, y, box] = await grip();
  const still = await scrolled();
  const halves = (await sheet.getAttribute("data-halves")).split(";").map((half) => half.split(","));
  const svg = await sheet.boundingBox();
  const scale = svg.width / (await sheet.evaluate((of) => of.viewBox.baseVal.width));
  const friday = halves.find(([, half]) => half === "2026-12-18 am");
  const by = svg.x + Number(friday[0]) * scale + 12 - box.x;
  await finger("touchStart", x, y);
  await page.locator("svg.sheet .ghost").waitFor({ state: "attached" });
  for (let n = 1; n <= 8; n++) await finger("touchMove", x + (by * n) / 8, y);
  assert.equal(await scrolled(), still, "what is held does not scroll");
  await finger("touchEnd");
  await page.waitForURL(/\/step\/alder-attic\/seal\/move\?to=2026-12-18%20am/);
  // A touch opens it, as a click does.
  await page.goto(`${at.base}/week/2026-12-14`);
  await strip.tap();
  await page.locator("#chosen h2").waitFor();
  assert.deepEqual(page.complaints, []);
  await at.end();
});
