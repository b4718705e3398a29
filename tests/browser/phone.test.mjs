// On a telephone: a storm is reported, and a crew tells what it left where, in a few touches.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { begin, browser, open, password, plan, service } from "./service.mjs";

const phone = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };

let chromium;
before(async () => (chromium = await browser()));
after(() => chromium.close());

for (const javaScriptEnabled of [true, false]) {
  test(`a storm takes two touches, and what was left here two, ${javaScriptEnabled ? "with" : "without"} scripts`, async () => {
    const at = await service();
    const owner = await open(chromium, { ...phone, javaScriptEnabled });
    await begin(owner, at);
    await plan(owner, at, 2);
    await owner.getByRole("button", { name: "Give out" }).tap();
    await owner.getByRole("heading", { name: "Crews to tell" }).waitFor();
    await owner.goto(`${at.base}/sign-ins`);
    await owner.getByLabel("Name", { exact: true }).fill("Nia North");
    await owner.getByLabel("What they may do").selectOption({ label: "see the sheet of North crew and tell how it goes" });
    await owner.getByRole("button", { name: "Add" }).tap();
    await owner.locator(".done code").waitFor();
    const link = await owner.locator(".done code").innerText();
    await owner.goto(at.base);
    // A storm of today, everywhere.
    await owner.getByRole("link", { name: "Weather", exact: true }).tap();
    await owner.getByRole("button", { name: "Mark the storm" }).tap();
    await owner.waitForURL(`${at.base}/weather#kept`);
    assert.equal(await owner.getByRole("link", { name: "Mon 7 Dec 2026", exact: true }).count(), 1);
    // The crew's own sheet is where it is after signing in.
    const crew = await open(chromium, { ...phone, javaScriptEnabled });
    await crew.goto(link);
    await crew.getByLabel("Password", { exact: true }).fill(password);
    await crew.getByLabel("The same again").fill(password);
    await crew.getByRole("button", { name: "Sign in" }).tap();
    await crew.waitForURL(/\/crews\/north/);
    // A foreman's whole errand in the cold: where to and with what, and whom to call, without a touch; I am done, and the
    // hose was left there, in three.
    const began = Date.now();
    let touches = 0;
    const touch = async (what) => (touches++, what.tap());
    const today = crew.locator(".crewday").first();
    assert.match(await today.innerText(), /^Today, Mon 7 Dec/);
    assert.equal(await today.getByRole("heading", { name: "Birch Street" }).count(), 1);
    assert.ok((await today.getByRole("checkbox").count()) > 1, "what to bring has boxes");
    const called = today.locator("a[href^='tel:']").first();
    assert.ok((await called.boundingBox()).height >= 40, "a number for a thumb in a glove");
    assert.ok((await called.boundingBox()).y < 2 * 740, "on the first two screens");
    await touch(today.getByRole("button", { name: /^Done/ }).first());
    await crew.waitForURL(/#kept$/);
    assert.match(await crew.locator(".crewday").first().innerText(), /Done\./);
    const left = crew.locator(".left").first();
    await touch(left.locator("summary"));
    const thing = left.getByRole("button").first();
    const name = (await thing.innerText()).replace(/^[^:]*:\s*/, "");
    const told = crew.waitForResponse((answer) => answer.request().method() === "GET" && answer.url().includes("/crews/north"));
    await touch(thing);
    await (await told).finished();
    const took = (Date.now() - began) / 1000;
    assert.ok(touches <= 3 && took < 20, `${touches} touches, ${took} s`);
    console.log(`a foreman's errand: ${touches} touches, ${took.toFixed(1)} s`);
    await owner.goto(`${at.base}/changes`);
    assert.match(await owner.locator("main").innerText(), new RegExp(`${name} was left at `));
    for (const page of [owner, crew]) {
      assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= 360);
      assert.deepEqual(page.complaints, []);
    }
    await at.end();
  });
}
