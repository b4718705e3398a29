// A service of its own for each test, and a browser at it.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const program = process.env.YARDLESS_BIN;
if (!program) throw new Error("YARDLESS_BIN names the program; tests/browser/run sets it");

export const password = "a long password";

/** Starts a service as of the demo's first Monday. */
export async function service() {
  const folder = mkdtempSync(join(tmpdir(), "yardless-"));
  const args = ["serve", "--bind", "127.0.0.1:0", "--now", "2026-12-07 am"];
  const child = spawn(program, args, { cwd: folder, stdio: ["ignore", "ignore", "pipe"] });
  let log = "";
  const told = await new Promise((done, fail) => {
    child.stderr.on("data", (part) => {
      log += part;
      const base = log.match(/serves at (\S+?)\/ /)?.[1];
      const link = log.match(/link\/([0-9a-f]{64})/)?.[1];
      if (base && link) done({ base, link });
    });
    child.on("exit", () => fail(new Error(log)));
  });
  // A test that fails leaves nothing behind either.
  process.on("exit", () => child.kill("SIGKILL"));
  const end = () =>
    new Promise((done) => {
      child.on("exit", () => {
        rmSync(folder, { recursive: true, force: true });
        done();
      });
      child.kill("SIGKILL");
    });
  return { ...told, end };
}

/** One browser for all tests of a file. */
export async function browser() {
  const args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args });
}

/** A page that fails on what a browser complains of. */
export async function open(browser, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  page.complaints = [];
  page.on("pageerror", (e) => page.complaints.push(e.message));
  page.on("console", (m) => {
    if (m.type() === "error") page.complaints.push(m.text());
  });
  return page;
}

/** The first owner signs in by the link and begins with the demo. */
export async function begin(page, { base, link }) {
  await page.goto(`${base}/link/${link}`);
  await page.getByLabel("Your name").fill("Rae Owner");
  await page.getByLabel("Password", { exact: true }).fill(password);
  await page.getByLabel("The same again").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("button", { name: "Begin" }).click();
  await page.getByText("No plan has been given out yet").waitFor();
}

/** Plans for some seconds, and waits for what comes of it. */
export async function plan(page, { base }, seconds) {
  await page.goto(`${base}/plan`);
  await page.getByLabel("Search for, seconds").fill(String(seconds));
  await page.getByRole("button", { name: /^Plan( again)?$/ }).click();
  await page.getByText("It is not given out yet").waitFor({ timeout: 60_000 });
}
