// The sheets on paper: pages are counted, on both papers and either way round. PAPER=FOLDER keeps the PDFs to be looked at.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { begin, browser, open, plan, service } from "./service.mjs";

const papers = ["Letter", "A4"].flatMap((format) => [true, false].map((landscape) => ({ format, landscape })));
const mondays = ["2026-12-07", "2026-12-14", "2026-12-21", "2026-12-28", "2027-01-04", "2027-01-11"];

let chromium, at, page, folder;
before(async () => {
  folder = mkdtempSync(join(tmpdir(), "yardless-paper-"));
  chromium = await browser();
  at = await service();
  page = await open(chromium);
  await begin(page, at);
  await plan(page, at, 2);
  await page.getByRole("button", { name: "Give out" }).click();
  await page.getByRole("heading", { name: "Crews to tell" }).waitFor();
});
after(async () => {
  await chromium.close();
  await at.end();
  rmSync(folder, { recursive: true, force: true });
});

/** The text of each page of a PDF, as it is laid out. */
function pagesOf(pdf, name) {
  const file = join(process.env.PAPER ?? folder, `${name}.pdf`);
  if (pdf) writeFileSync(file, pdf);
  const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
  return text.split("\f").slice(0, -1);
}

/** The pages of one of the service's pages on some paper. */
async function printed(path, paper) {
  await page.goto(at.base + path);
  const pdf = await page.pdf({ ...paper, preferCSSPageSize: false });
  assert.ok(!pdf.includes("/Annots"), `${path}: paper leads nowhere`);
  return pagesOf(pdf, `${path.replace(/\W+/g, "-")}-${paper.format}-${paper.landscape ? "broad" : "high"}`);
}

/** What every printed page has and lacks. */
function foots(pages, ...words) {
  pages.forEach((text, n) => {
    for (const word of ["Quill Ridge Insulation", "plan 1", "printed ", `page ${n + 1} of ${pages.length}`, ...words]) {
      assert.ok(text.includes(word), `page ${n + 1} says ${word}: ${text}`);
    }
    for (const word of ["Sign out", "Weather ", "Week after", "Why?", "Print"]) assert.ok(!text.includes(word), `page ${n + 1} does without ${word}`);
  });
}

for (const paper of papers) {
  const name = `${paper.format} ${paper.landscape ? "broadside" : "upright"}`;
  test(`a week is two pages, ${name}`, async () => {
    for (const monday of mondays) {
      const pages = await printed(`/week/${monday}`, paper);
      assert.equal(pages.length, 2, `${monday}: ${pages.length} pages`);
      foots(pages, "week of Mon ");
      const day = new Date(`${monday}T12:00Z`).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", timeZone: "UTC" }).replace(",", "");
      assert.ok(pages[0].includes(day), `the drawing has ${day}`);
      // A late week may have no work that calls for a caution.
      const heads = monday < "2026-12-28" ? ["Hauls", "Cautions", "Contacts"] : ["Hauls"];
      for (const head of heads) assert.ok(!pages[0].includes(head) && pages[1].includes(head), `${monday}: ${head} is on the back`);
    }
  });
  test(`six weeks are one page, and crews stand two on one, ${name}`, async () => {
    const season = await printed("/season", paper);
    assert.equal(season.length, 1);
    foots(season, "all weeks");
    const crews = await printed("/crews?week=2026-12-07", paper);
    assert.equal(crews.length, 2, "three crews");
    foots(crews, "crews, week of Mon 7 Dec 2026");
    assert.ok(/North crew[\s\S]*South crew/.test(crews[0].replace(/\s+/g, " ")) && crews[1].includes("Vent crew"));
    assert.equal((await printed("/crews/north?week=2026-12-07", paper)).length, 1);
  });
}

test("the page prints itself, where scripts run", async () => {
  await page.goto(at.base);
  await page.evaluate(() => {
    window.printed = 0;
    window.print = () => window.printed++;
  });
  await page.getByRole("button", { name: "Print" }).click();
  assert.equal(await page.evaluate(() => window.printed), 1);
  const without = await open(chromium, { javaScriptEnabled: false, storageState: await page.context().storageState() });
  await without.goto(at.base);
  assert.equal(await without.getByRole("button", { name: "Print" }).count(), 0);
  assert.deepEqual(page.complaints, []);
});

test("the command line makes the same pages, as a file that stands alone and as a PDF", async () => {
  const run = (...words) => execFileSync(process.env.YARDLESS_BIN, words, { cwd: folder, encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  const book = ["--book", join(import.meta.dirname, "../../data/demo.json")];
  run("plan", ...book, "--from", "2026-12-07", "--steps", "40", "--out", "plan.json");
  const week = ["week", "plan.json", ...book, "--now", "2026-12-07"];
  run(...week, "--week", "2026-12-07", "--html", "week.html", "--pdf", "week.pdf", "--browser", process.env.CHROMIUM);
  const made = readFileSync(join(folder, "week.pdf"));
  assert.ok(made.length < 500_000, `a PDF that can be sent: ${made.length} bytes`);
  const pages = pagesOf(made, "week-of-the-command-line");
  assert.equal(pages.length, 4, "the week's two, and three crews on two");
  assert.ok(pages[0].includes("plan.json") && pages[3].includes("page 4 of 4"), pages[3]);
  assert.ok(!pages[1].includes("North crew, week of") && pages[2].includes("North crew, week of"), "crews begin a page");
  const alone = await open(chromium, { offline: true });
  const asked = [];
  alone.on("request", (request) => asked.push(request.url()));
  await alone.goto(`file://${join(folder, "week.html")}`);
  assert.deepEqual(asked.filter((url) => !url.startsWith("data:")).length, 1, `only itself: ${asked}`);
  assert.equal(await alone.locator("a[href], button, script").count(), 0);
  assert.deepEqual(pagesOf(await alone.pdf({ format: "Letter", landscape: true }), "week-of-the-file").length, 4);
  run(...week, "--html", "season.html");
  await alone.goto(`file://${join(folder, "season.html")}`);
  assert.match(pagesOf(await alone.pdf({ format: "A4", landscape: true }), "season-of-the-file")[0], /Mon 7 Dec to Sun 17 Jan/);
  assert.deepEqual(alone.complaints, []);
});
