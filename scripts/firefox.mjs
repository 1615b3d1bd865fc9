// Drives Firefox for engines.py: node firefox.mjs PROGRAM PROFILE SETTINGS. A line in is JSON, {open: address}, {js: expression} or
// {errors: true}; the line out is {value} or {fault}. When no more lines come, Firefox ends, and so does this.
import { createInterface } from "node:readline";
import puppeteer from "puppeteer-core";

const [executablePath, userDataDir, settings] = process.argv.slice(2);
const browser = await puppeteer.launch({ browser: "firefox", executablePath, userDataDir, headless: true, extraPrefsFirefox: JSON.parse(settings) });
const page = await browser.newPage();
const wrong = [];
page.on("console", (said) => said.type() === "error" && wrong.push(said.text()));
page.on("pageerror", ({ message }) => wrong.push(message));
for await (const line of createInterface({ input: process.stdin })) {
  const { open, js, errors } = JSON.parse(line);
  try {
    const value = errors ? wrong.splice(0) : open ? Boolean(await page.goto(open)) : await page.evaluate(js);
    console.log(JSON.stringify({ value: value ?? null }));
  } catch (error) {
    console.log(JSON.stringify({ fault: String(error?.message ?? error) }));
  }
}
await browser.close();
