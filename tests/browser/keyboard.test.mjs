// A Monday's errands by the keyboard alone: what is in focus is seen, in view and where the eye goes on, and nothing holds one.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { begin, browser, open, plan, service } from "./service.mjs";

let chromium;
before(async () => (chromium = await browser()));
after(() => chromium.close());

/** What is in focus: its name, where it is, and whether it is seen to be in focus. */
const inFocus = () => {
  const of = document.activeElement;
  if (!of || of === document.body) return null;
  const label = of.labels?.[0]?.textContent ?? of.getAttribute("aria-label") ?? of.textContent;
  const box = of.getBoundingClientRect().toJSON();
  const style = getComputedStyle(of);
  const ringed = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  const drawn = of.closest("svg") && [...of.querySelectorAll(".paper, .waits, .held, .hauls")].some((part) => parseFloat(getComputedStyle(part).strokeWidth) >= 3);
  // What a sheet of paper or a floating window holds has an order of its own.
  return {
    name: label.replace(/\s+/g, " ").trim(),
    seen: Boolean(ringed || drawn || (of.closest("svg") && !of.querySelector(".waits, .held, .hauls, .paper"))),
    within: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    top: box.top + scrollY,
    flows: !of.closest("svg, #chosen, .skip, .days") && of.id !== "main",
    button: of.tagName === "BUTTON",
    html: of.outerHTML.slice(0, 120),
  };
};

/** Hands for a page: Tab until something is in focus, type a field, press what is in focus. */
function hands(page) {
  const count = { clicks: 0, fields: 0, tabs: 0 };
  const to = async (what, button = false) => {
    let before = null;
    for (let n = 0; n < 120; n++) {
      await page.keyboard.press("Tab");
      count.tabs++;
      const of = await page.evaluate(inFocus);
      if (!of) continue;
      assert.ok(of.seen, `in focus and not seen: ${of.html}`);
      assert.ok(of.within, `in focus and out of view: ${of.html}`);
      // Rows of fields stand beside each other: as far up as a field with its hint is high.
      if (before?.flows && of.flows) assert.ok(of.top > before.top - 90, `from ${before.html} back up to ${of.html}`);
      before = of;
      if (what.test(of.name) && (of.button || !button)) return;
    }
    assert.fail(`${what} is not reached by Tab on ${page.url()}`);
  };
  const press = async () => (count.clicks++, page.keyboard.press("Enter"));
  const type = async (what, text) => {
    await to(what);
    count.fields++;
    await page.keyboard.type(text);
  };
  return { count, to, press, type };
}

for (const javaScriptEnabled of [true, false]) {
  test(`a Monday's errands by the keyboard, ${javaScriptEnabled ? "with" : "without"} scripts`, async () => {
    const at = await service();
    const page = await open(chromium, { javaScriptEnabled });
    await page.addInitScript(() => (window.print = () => sessionStorage.setItem("printed", "yes")));
    await begin(page, at);
    await plan(page, at, 2);
    await page.getByRole("button", { name: "Give out" }).click();
    await page.goto(`${at.base}/`);
    const { count, to, press, type } = hands(page);
    // A new customer and job; a form is sent by Enter in its last field.
    await to(/^A caller: which date\?$/);
    await press();
    await page.waitForURL(/\/wish$/);
    await type(/^What$/, "attic, air");
    await type(/^Address of a new place/, "17 Hollis Road");
    await type(/^Customer and telephone/, "Mrs. Placeholder, 555-0117");
    await type(/^Wanted by/, "01082027");
    await type(/^Owner's drive/, "25");
    await press();
    await page.getByRole("region", { name: "Dates to offer" }).waitFor({ timeout: 40_000 });
    await to(/^Take this date/);
    await press();
    await page.waitForURL(/\/plan/);
    // A storm.
    await to(/^Weather$/);
    await press();
    await page.waitForURL(/\/weather/);
    await type(/^From$/, "12142026");
    await type(/^To$/, "12152026");
    await press();
    await page.waitForURL(/\/weather#kept/);
    assert.equal(await page.getByRole("link", { name: "Mon 14 Dec 2026 to Tue 15 Dec 2026", exact: true }).count(), 1);
    // A crew's report.
    await to(/^Week$/);
    await press();
    await page.getByRole("heading", { name: /^Week 50/ }).waitFor();
    await to(/^(! )?North.* Air seal attic, Birch attic/);
    await press();
    await (javaScriptEnabled ? page.locator("#chosen h2") : page.locator("#opened")).waitFor();
    await to(/^Done/);
    await press();
    await page.getByText(/^Noted/).waitFor();
    // Planned again and given out.
    await to(/^Plan again$/, true);
    await press();
    await page.getByText("It is not given out yet").waitFor({ timeout: 80_000 });
    assert.match(await page.locator("main").innerText(), /17 Hollis Road/);
    await to(/^Give out$/);
    await press();
    await page.getByRole("heading", { name: "Crews to tell" }).waitFor();
    // People are told, and the week is printed: without scripts by the browser's own keys.
    if (javaScriptEnabled) {
      await to(/^Copy/);
      await press();
      await page.getByText("Copied").first().waitFor();
    }
    await to(/^Print the week$/);
    await press();
    await page.getByRole("heading", { name: /^Week 50/ }).waitFor();
    if (javaScriptEnabled) await page.waitForFunction(() => sessionStorage.getItem("printed") === "yes");
    assert.ok(count.clicks <= 12 && count.fields <= 12, JSON.stringify(count));
    console.log(`a Monday's errands by the keyboard: ${JSON.stringify(count)}`);
    assert.deepEqual(page.complaints, []);
    await at.end();
  });
}
