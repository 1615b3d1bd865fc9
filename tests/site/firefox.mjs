// Drives Firefox for engines.py: node firefox.mjs PROGRAM PROFILE. A line in is JSON, {open: address} or {js: expression}; the line
// out is {value} or {fault}. When no more lines come, Firefox ends, and so does this.
import { createInterface } from "node:readline";
import puppeteer from "puppeteer-core";

const [executablePath, userDataDir] = process.argv.slice(2);
const browser = await puppeteer.launch({ browser: "firefox", executablePath, userDataDir, headless: true });
const page = await browser.newPage();
for await (const line of createInterface({ input: process.stdin })) {
  const { open, js } = JSON.parse(line);
  try {
    const value = open ? await page.goto(open) : await page.evaluate(js);
    console.log(JSON.stringify({ value: open ? true : (value ?? null) }));
  } catch (error) {
    console.log(JSON.stringify({ fault: String(error?.message ?? error) }));
  }
}
await browser.close();
