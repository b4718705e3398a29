// The whole Monday in a real browser: with scripts and without, and by the keyboard alone.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { begin, browser, open, password, plan, service } from "./service.mjs";

let chromium;
before(async () => {
  chromium = await browser();
});
after(async () => chromium.close());

/** Signs in, marks a storm, plans again, reads what changes, gives out, sees it on the week sheet. */
async function monday(page, at) {
  await begin(page, at);
  await plan(page, at, 2);
  await page.getByRole("button", { name: "Give out" }).click();
  await page.getByRole("heading", { name: "Crews to tell" }).waitFor();
  assert.match(await page.locator(".copied").first().innerText(), /, week of Mon /);
  await page.getByRole("link", { name: "Week", exact: true }).click();
  await page.getByRole("heading", { name: /^Week 50/ }).waitFor();
  await page.getByRole("button", { name: "Sign out" }).click();
  await page.getByLabel("Name").fill("Rae Owner");
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("link", { name: "Weather" }).click();
  const storm = page.locator("form[action='/weather/storm']");
  await storm.getByLabel("From").fill("2026-12-14");
  await storm.getByLabel("To", { exact: true }).fill("2026-12-15");
  await storm.getByLabel("Nobody travels", { exact: false }).check();
  await storm.getByRole("button", { name: "Mark the storm" }).click();
  await page.getByRole("link", { name: "Mon 14 Dec 2026 to Tue 15 Dec 2026" }).waitFor();
  await page.getByRole("link", { name: "Week", exact: true }).click();
  assert.match(await page.getByRole("alert").innerText(), /does not hold by the book as it is now/);
  await plan(page, at, 3);
  const changes = await page.locator(".whole").first().innerText();
  assert.match(changes, /WHAT CHANGES/);
  assert.match(changes, /because/);
  assert.ok((await page.locator(".drawing svg.sheet").first().innerHTML()).includes("* "), "moved strips are marked");
  await page.getByRole("button", { name: "Give out" }).click();
  await page.getByRole("heading", { name: "Crews to tell" }).waitFor();
  assert.match(await page.locator(".copied").first().innerText(), /, week of Mon /);
  await page.getByRole("link", { name: "Week", exact: true }).click();
  await page.getByRole("heading", { name: /^Week 50/ }).waitFor();
  assert.equal(await page.getByRole("alert").count(), 0, "the new plan holds");
  await page.getByRole("link", { name: /Week after/ }).click();
  const sheet = page.locator(".drawing svg.sheet");
  assert.ok((await sheet.locator("rect.mark.no-travel").count()) > 0, "the storm is hatched into the sheet");
  assert.ok((await sheet.locator("a.strip").count()) > 3 && (await sheet.locator("a.line").count()) >= 3);
}

test("the whole Monday", async () => {
  const at = await service();
  const page = await open(chromium);
  await monday(page, at);
  // A strip tells what it is, and why then.
  await page.goto(`${at.base}/`);
  await page.locator("a.strip").first().click();
  await page.locator("#chosen").getByRole("link", { name: "Why not sooner?" }).waitFor();
  assert.match(await page.locator("#chosen .why").innerText(), /^[^.]{10,}\./);
  assert.match(await page.locator("#chosen").innerText(), /Mon 7 Dec/);
  // A level line has no height to be clicked at by a driver.
  await page.locator("a.line").first().dispatchEvent("click");
  await page.locator("#chosen").getByText(/at Owner's drive|hauled|held/).first().waitFor();
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("the same without scripts", async () => {
  const at = await service();
  const page = await open(chromium, { javaScriptEnabled: false });
  await monday(page, at);
  await page.goto(`${at.base}/`);
  await page.locator("a.strip").first().click();
  assert.match(page.url(), /\/step\/[^/]+\/[^/]+$/);
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("planning moves on the page, and is stopped", async () => {
  const at = await service();
  const page = await open(chromium);
  await begin(page, at);
  await page.goto(`${at.base}/plan`);
  await page.getByLabel("Search for, seconds").fill("300");
  await page.getByRole("button", { name: "Plan", exact: true }).click();
  const progress = page.locator("#progress");
  await progress.waitFor();
  await page.waitForFunction(() => /^[1-9]/.test(document.querySelector("[data-seen=elapsed]")?.textContent ?? ""));
  assert.match(await progress.innerText(), /Cost \$[\d,]+\.\d\d, no plan costs less than \$[\d,]+\.\d\d, apart by [\d.]+ %/);
  await page.getByRole("button", { name: /^Stop/ }).click();
  await page.getByText("It is not given out yet").waitFor();
  assert.match(await page.locator("#planning .done").innerText(), /stopped by hand/);
  assert.deepEqual(page.complaints, []);
  await at.end();
});

test("by the keyboard alone", async () => {
  const at = await service();
  const page = await open(chromium);
  const keys = page.keyboard;
  const focused = () => page.evaluate(() => (document.activeElement.innerText || document.activeElement.getAttribute("aria-label") || document.activeElement.name || "").trim());
  /** Goes on with Tab until something is in focus. */
  const to = async (what) => {
    for (let n = 0; n < 200; n++) {
      await keys.press("Tab");
      if (what.test(await focused())) return;
    }
    assert.fail(`${what} cannot be reached`);
  };
  await page.goto(`${at.base}/link/${at.link}`);
  await to(/^name$/);
  await keys.type("Rae Owner");
  await to(/^password$/);
  await keys.type(password);
  await to(/^again$/);
  await keys.type(password);
  await keys.press("Enter");
  await page.waitForURL(`${at.base}/start`);
  await to(/^Begin$/);
  await keys.press("Enter");
  await page.getByText("No plan has been given out yet").waitFor();
  // The first thing in reach leads past the head.
  await keys.press("Tab");
  assert.equal(await focused(), "To the sheet");
  await to(/^Plan again$/);
  await keys.press("Enter");
  await page.waitForURL(`${at.base}/plan`);
  await to(/^seconds$/);
  await keys.press("Control+A");
  await keys.type("1");
  await keys.press("Enter");
  await page.getByText("It is not given out yet").waitFor({ timeout: 30_000 });
  await to(/^Give out$/);
  await keys.press("Enter");
  await page.waitForURL(`${at.base}/given-out/1`);
  await to(/^The week$/);
  await keys.press("Enter");
  await page.waitForURL(`${at.base}/`);
  await to(/^North Air seal/);
  const outline = await page.evaluate(() => getComputedStyle(document.activeElement.querySelector(".paper")).strokeWidth);
  assert.equal(outline, "3px", "what is in focus is seen");
  await keys.press("Enter");
  await page.locator("#chosen").getByText(/North/).first().waitFor();
  await keys.press("Escape");
  assert.equal(await page.locator("#chosen").isVisible(), false);
  assert.match(await focused(), /^North/, "and one is where one was");
  assert.deepEqual(page.complaints, []);
  await at.end();
});
