// A job on one screen: a new customer's attic from the telephone to the plan, and steps as rows of a table.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { begin, browser, open, service } from "./service.mjs";

let chromium;
before(async () => (chromium = await browser()));
after(() => chromium.close());

/** The names of a job's steps as its form shows them. */
const steps = (page) => page.locator(".steprows input[name$='.name']").evaluateAll((all) => all.map((of) => of.value));

test("an attic for a new customer is planned in few clicks and fields", async () => {
  const at = await service();
  const page = await open(chromium);
  await begin(page, at);
  let [clicks, fields] = [0, 0];
  const click = async (what) => (clicks++, what.click());
  const fill = async (label, text) => (fields++, page.getByLabel(label, { exact: true }).fill(text));
  const choose = async (label, option) => (fields++, page.getByLabel(label, { exact: true }).selectOption({ label: option }));
  const began = Date.now();
  await click(page.getByRole("link", { name: "Jobs", exact: true }));
  await click(page.getByRole("link", { name: "Add a job" }));
  await fill("Customer and telephone", "Mrs. Placeholder, 555-0117");
  await click(page.getByText("At a place that is not in the list yet"));
  await fill("Address", "17 Hollis Road");
  await fill("Owner's drive", "25");
  await choose("Like", "attic, air sealed and blown");
  await choose("How much it matters", "Wanted");
  await fill("Wanted by", "2027-01-08");
  await click(page.getByRole("button", { name: "Save, and plan again" }));
  await page.getByText("It is not given out yet").waitFor({ timeout: 80_000 });
  const took = (Date.now() - began) / 1000;
  assert.ok(clicks <= 6 && fields <= 8 && took < 90, `${clicks} clicks, ${fields} fields, ${took} s`);
  assert.match(await page.locator("main").innerText(), /17 Hollis Road, attic, air sealed and blown/);
  // The place is the book's from now on, with its drive, and the steps are the pattern's.
  await page.goto(`${at.base}/places`);
  assert.match(await page.locator("main").innerText(), /17 Hollis Road/);
  await page.goto(`${at.base}/book/jobs/of/17-hollis-road-attic-air-sealed-and-blown`);
  assert.deepEqual(await steps(page), ["Air seal attic", "Combustion zone test", "Blow attic", ""]);
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("steps are moved, copied, added and removed as rows", async () => {
  const at = await service();
  const page = await open(chromium);
  await begin(page, at);
  const job = `${at.base}/book/jobs/of/hill-farm-pack`;
  await page.goto(job);
  assert.deepEqual(await steps(page), ["Set up staging", "Drill and dense pack", "Take down staging", ""]);
  await page.getByRole("button", { name: "Copy step 2" }).click();
  await page.getByLabel("What step 3 is").fill("Plug");
  await page.getByRole("button", { name: "Move down step 1" }).click();
  await page.getByRole("button", { name: "Remove step 4" }).click();
  await page.getByRole("button", { name: "One more step" }).click();
  await page.getByLabel("What step 5 is").fill("Sweep");
  await page.getByLabel("How long step 5 takes").fill("1.5");
  await page.getByLabel("Unit of step 5").selectOption({ label: "hours, a visit" });
  await page.getByLabel("Skill for step 5").selectOption({ label: "carpentry" });
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.goto(job);
  assert.deepEqual(await steps(page), ["Drill and dense pack", "Set up staging", "Plug", "Sweep", ""]);
  assert.equal(await page.getByLabel("How long step 3 takes").inputValue(), "5", "a copy has what it was made from");
  assert.deepEqual(page.complaints, []);
  // The same without scripts, each by one sending of the form.
  const plain = await open(chromium, { javaScriptEnabled: false, storageState: await page.context().storageState() });
  await plain.goto(job);
  for (const summary of await plain.locator(".rest > summary").all()) await summary.click();
  await plain.locator("[name='steps.1.order']").fill("0");
  await plain.locator("[name='steps.0.copy']").check();
  await plain.locator("[name='steps.3.remove']").check();
  await plain.getByRole("button", { name: "Save", exact: true }).click();
  await plain.goto(job);
  assert.deepEqual(await steps(plain), ["Set up staging", "Drill and dense pack", "Drill and dense pack", "Plug", ""]);
  await at.end();
});

test("each fault of a form leads to its field, which is in view and marked", async () => {
  const at = await service();
  const page = await open(chromium, { viewport: { width: 360, height: 740 } });
  await begin(page, at);
  await page.goto(`${at.base}/book/jobs/of/cedar-pack`);
  await page.evaluate(() => document.querySelectorAll("details").forEach((of) => (of.open = true)));
  await page.getByLabel("How long step 1 takes").fill("many");
  await page.locator("[name='steps.2.max_gust_mph']").fill("900");
  await page.locator("[name='steps.0.fixed.start.date']").fill("2026-12-14");
  await page.locator("[name='steps.0.due']").fill("2026-12-01");
  await page.locator("[name='steps.0.earliest']").fill("2026-12-14");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  const links = page.locator(".faults a");
  assert.ok((await links.count()) >= 3, await page.locator("main").innerText());
  for (const link of await links.all()) {
    assert.doesNotMatch(await link.evaluate((of) => of.parentElement.textContent), /[_`{}]|\d{4}-\d\d-\d\d/);
    await link.click();
    const field = page.locator(`[id="${decodeURIComponent(new URL(page.url()).hash.slice(1))}"]`);
    const box = await field.evaluate((of) => of.getBoundingClientRect().toJSON());
    assert.ok(box.height > 0 && box.top >= -1 && box.top < 740, `${await link.textContent()} is in view: ${JSON.stringify(box)}`);
    assert.equal(await field.getAttribute("aria-invalid"), "true", page.url());
    const says = await field.getAttribute("aria-describedby");
    assert.ok(await page.locator(`[id="${says}"] .wrong`).count(), says);
  }
  assert.equal(await page.getByLabel("How long step 1 takes").inputValue(), "many");
  await at.end();
});
