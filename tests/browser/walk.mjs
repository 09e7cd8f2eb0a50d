// Looks at the page with a real browser, as a person would: at three widths, light and dark, by clicks and by keys.
// Started by tests/it/browser.rs; by hand:
//   node tests/browser/walk.mjs MODULES walk http://127.0.0.1:8480 PICTURES JOB
//   node tests/browser/walk.mjs MODULES live http://127.0.0.1:8480      (then a line for each thing to do, see below)
// MODULES is a folder with node_modules/playwright-core and node_modules/axe-core. Ends with 1 and says why where
// something is not as it should be.
import { createRequire } from "node:module";
import { mkdirSync } from "node:fs";
import { createInterface } from "node:readline";
import { join } from "node:path";

const [modules, mode, base, ...rest] = process.argv.slice(2);
const require = createRequire(join(modules, "node_modules", "/"));
const { chromium } = require("playwright-core");
const axe = require("axe-core").source;

const WIDTHS = [[390, 844], [820, 1180], [1400, 900]];
const wrong = [];
const say = (text) => { wrong.push(text); console.error("WRONG: " + text); };

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});

// A page whose console, errors and requests are listened to.
async function open(width, height, dark, script = true) {
  const context = await browser.newContext({
    viewport: { width, height },
    colorScheme: dark ? "dark" : "light",
    javaScriptEnabled: script,
  });
  const page = await context.newPage();
  page.on("console", (said) => { if (["error", "warning"].includes(said.type())) say(`console at ${page.url()}: ${said.text()}`); });
  page.on("pageerror", (error) => say(`script at ${page.url()}: ${error}`));
  page.on("request", (asked) => {
    if (!asked.url().startsWith(base) && !asked.url().startsWith("data:")) say(`${page.url()} loads ${asked.url()}`);
  });
  return page;
}

// What must hold of every page at every width: nothing is wider than the screen, and axe finds nothing.
async function holds(page, where) {
  const wide = await page.evaluate(() => {
    const root = document.documentElement;
    const inScroller = (one) => { for (let at = one.parentElement; at; at = at.parentElement) if (["auto", "scroll", "hidden"].includes(getComputedStyle(at).overflowX) && at !== document.body) return true; return false; };
    const out = [...document.querySelectorAll("body *")].filter((one) => {
      const box = one.getBoundingClientRect();
      return box.width > 0 && (box.right > innerWidth + 1 || box.left < -1) && !inScroller(one) && !one.matches(".skip, .unseen");
    });
    return { root: root.scrollWidth, screen: innerWidth, out: out.slice(0, 4).map((one) => one.outerHTML.slice(0, 120)) };
  });
  if (wide.root > wide.screen || wide.out.length > 0) say(`${where}: wider than the screen: ${JSON.stringify(wide)}`);
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  for (const one of found.violations) {
    const places = one.nodes.slice(0, 3).map((node) => `${node.target.join(" ")} ${node.failureSummary}`);
    say(`${where}: axe ${one.id} (${one.impact}): ${one.help}\n    ${places.join("\n    ")}`);
  }
  return found.passes === undefined ? 0 : found.passes.length;
}

async function walk(pictures, job) {
  mkdirSync(pictures, { recursive: true });
  for (const [width, height] of WIDTHS) {
    for (const dark of [false, true]) {
      const look = `${width}-${dark ? "dark" : "light"}`;
      const page = await open(width, height, dark);
      const shot = async (name, whole = true) => {
        await page.screenshot({ path: join(pictures, `${name}-${look}.png`), fullPage: whole });
        await holds(page, `${name} ${look}`);
      };
      await page.goto(base + "/");
      await page.waitForSelector(".bench.on");
      await shot("bench", false);
      const top = await page.evaluate(() => document.documentElement.scrollHeight - innerHeight);
      if (width > 800 && top > 0) say(`bench ${look}: ${top} pixels are below the screen`);
      // Clicked through as a person would: to the jobs, to one of them, to its report, back, to the alerts.
      await page.click("nav >> text=Jobs");
      await page.waitForURL("**/jobs");
      await shot("jobs");
      await page.fill("#name", job.slice(0, -1));
      await page.click("form.search button");
      await page.waitForURL("**/jobs?name=*");
      await page.click(`table >> text="${job}"`);
      await page.waitForURL("**/job/*");
      await shot("job");
      await page.click("text=The report for the customer");
      await page.waitForURL("**/report");
      if (!(await page.textContent("h1"))) say(`report ${look}: it has no heading`);
      const styled = await page.evaluate(() => getComputedStyle(document.body).maxWidth !== "none");
      if (!styled) say(`report ${look}: its style was refused`);
      await page.screenshot({ path: join(pictures, `report-${look}.png`) });
      await page.goBack();
      await page.click("nav[aria-label=Pages] >> text=Alerts");
      await page.waitForURL("**/alerts");
      await shot("alerts");
      await page.context().close();
    }
  }
  await keys(job);
  await switched();
  await without(pictures, job);
  await printed(pictures, job);
}

// By keys alone: every place is reached, and where one is can be seen.
async function keys(job) {
  const page = await open(820, 1180, false);
  await page.goto(base + "/jobs");
  const reached = [];
  for (let press = 0; press < 30; press++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const one = document.activeElement;
      const style = getComputedStyle(one);
      return { body: one === document.body, what: one.textContent.trim() || one.id, seen: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2 };
    });
    // Past the last place comes the browser itself.
    if (!at.body && !at.seen) say(`keys: where one is at "${at.what}" cannot be seen`);
    reached.push(at.what);
  }
  for (const wanted of ["To what is shown", "Bench", "Alerts", "serial", "Search", job]) {
    if (!reached.includes(wanted)) say(`keys: "${wanted}" is not reached: ${reached.join(" | ")}`);
  }
  await page.goto(base + "/jobs");
  await page.focus("#serial");
  await page.keyboard.type("no such serial");
  await page.keyboard.press("Enter");
  await page.waitForURL("**serial=no*");
  await page.context().close();
}

// Light and dark by the switch, kept for the next page; the sound is off until somebody switches it on.
async function switched() {
  const page = await open(820, 1180, false);
  await page.goto(base + "/");
  const paper = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  const light = await paper();
  await page.click("#theme");
  const dark = await paper();
  if (light === dark) say("switch: it stays light");
  await page.goto(base + "/alerts");
  if (await paper() !== dark) say("switch: the next page is light again");
  await page.goto(base + "/");
  if (await page.getAttribute("#sound", "aria-pressed") !== "false") say("sound: it is on before anybody asked");
  await page.click("#sound");
  if (await page.textContent("#sound") !== "Sound on") say("sound: it cannot be switched on");
  await page.context().close();
}

// Without any script: the bench as it was, said to be so, and everything for the office.
async function without(pictures, job) {
  const page = await open(820, 1180, false, false);
  await page.goto(base + "/");
  if (!(await page.textContent("body")).includes("Not live")) say("no script: it does not say that it is not live");
  await page.screenshot({ path: join(pictures, "bench-no-script.png") });
  await page.goto(base + "/jobs");
  await page.click(`table >> text="${job}"`);
  await page.waitForURL("**/job/*");
  await page.context().close();
}

async function printed(pictures, job) {
  const page = await open(820, 1180, true);
  await page.goto(`${base}/job/${encodeURIComponent(job)}`);
  await page.pdf({ path: join(pictures, "job.pdf"), format: "A4" });
  await page.emulateMedia({ media: "print" });
  const paper = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  if (!["rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"].includes(paper)) say(`print: the paper is ${paper}`);
  await page.context().close();
}

// One page stays open while the test changes what it shows. A line on standard input for each step:
//   wait CSS            until there is such a place        shot FILE WIDTH HEIGHT   a picture, with what must hold of it
//   text CSS WORDS      until its text has these words     silent WORDS             these words are nowhere to be seen
//   quiet               from here on errors of the console are expected (the connection is cut on purpose)
async function live() {
  let page = await open(1400, 900, false);
  await page.goto(base + "/");
  console.log("ready");
  for await (const line of createInterface({ input: process.stdin })) {
    const [what, ...words] = line.trim().split(" ");
    const text = words.slice(1).join(" ");
    if (what === "wait") await page.waitForSelector(words.join(" "), { timeout: 20000 });
    else if (what === "text") {
      await page.waitForFunction(([css, text]) => [...document.querySelectorAll(css)].some((one) => one.innerText.includes(text)), [words[0], text], { timeout: 20000 });
    } else if (what === "silent") {
      const seen = await page.evaluate(() => document.body.innerText);
      if (seen.includes(words.join(" "))) say(`"${words.join(" ")}" is still to be seen`);
    } else if (what === "shot") {
      await page.setViewportSize({ width: Number(words[1]), height: Number(words[2]) });
      await page.emulateMedia({ colorScheme: words[3] === "dark" ? "dark" : "light" });
      await holds(page, words[0]);
      await page.screenshot({ path: words[0] });
    } else if (what === "quiet") page.removeAllListeners("console");
    else say(`unknown step ${line}`);
    console.log("done");
  }
}

try {
  if (mode === "walk") await walk(rest[0], rest[1]);
  else await live();
} catch (error) {
  say(String(error && error.stack || error));
}
await browser.close();
if (mode === "walk" && wrong.length === 0) console.log("all as it should be");
process.exit(wrong.length === 0 ? 0 : 1);
