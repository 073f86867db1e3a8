// The pocket page in a real browser. PAGE is the file, PROFILES a folder for
// empty browser profiles, SHOTS (optional) a folder for screenshots.
import assert from "node:assert/strict";
import { mkdtempSync } from "node:fs";
import { join } from "node:path";
import { after, test } from "node:test";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const address = pathToFileURL(process.env.PAGE).href;
const phone = { width: 390, height: 844 };
const open = [];

// show opens the page on a phone without any signal, and notes everything that
// the page should not do.
async function show({ scheme = "light", scripts = true, at = "" } = {}) {
  const context = await chromium.launchPersistentContext(mkdtempSync(join(process.env.PROFILES, "profile-")), {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
    headless: true, viewport: phone, deviceScaleFactor: 2, isMobile: true, hasTouch: true,
    colorScheme: scheme, javaScriptEnabled: scripts, offline: true,
  });
  open.push(context);
  const page = context.pages()[0] ?? await context.newPage();
  const asked = [], said = [];
  page.on("request", (r) => { if (!r.url().startsWith(address) && !r.url().startsWith("data:")) asked.push(r.url()); });
  page.on("console", (m) => said.push(`${m.type()}: ${m.text()}`));
  page.on("pageerror", (e) => said.push(String(e)));
  await page.goto(address + at);
  return { page, asked, said };
}

after(() => Promise.all(open.map((context) => context.close())));

const shoot = (page, name, fullPage = false) => process.env.SHOTS ? page.screenshot({ path: join(process.env.SHOTS, name + ".png"), fullPage }) : null;

const heading = (page) => page.locator("h1:visible").innerText();

// answer gives an answer by keyboard alone, from wherever the focus is.
async function answer(page, words) {
  for (let presses = 0; presses < 40; presses++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const e = document.activeElement, style = getComputedStyle(e);
      return { words: e.textContent, list: e.closest(".answers") !== null, outline: parseFloat(style.outlineWidth), style: style.outlineStyle };
    });
    assert.ok(at.style !== "none" && at.outline >= 2, `the focus on ${at.words} cannot be seen`);
    if (at.list && at.words === words) {
      await page.keyboard.press("Enter");
      return;
    }
  }
  assert.fail(`no answer ${words} can be reached by keyboard`);
}

const walk = ["No, and there is time", "Toward you", "A latch with a small pin beside it", "No", "It is pressed in", "A blade goes in"];

for (const scheme of ["light", "dark"]) {
  test(`a phone in ${scheme}: by keyboard through six questions to a plan`, async () => {
    const { page, asked, said } = await show({ scheme });
    await shoot(page, `${scheme}-start`);
    for (const words of walk) {
      const before = await heading(page);
      await answer(page, words);
      assert.notEqual(await heading(page), before, `${words} leads on`);
      assert.equal(await page.locator("section:visible").count(), 1, "one screen at a time");
      assert.equal(await page.evaluate(() => scrollY), 0, "a new screen shows its top");
    }
    assert.equal(await heading(page), "Try this, in this order");
    const ways = await page.locator(".plan:visible li").evaluateAll((all) => all.map((e) => e.dataset.way));
    assert.ok(ways.length >= 4 && ways[0] === "try-first" && ways.includes("force-it"), ways.join());
    assert.equal(await page.locator(".said:visible li").count(), walk.length, "what was said stands above the plan");
    await shoot(page, `${scheme}-plan`, true);
    await page.goBack();
    assert.match(await heading(page), /gap/, "back goes back one question");
    assert.deepEqual(asked, [], "nothing is asked of the network");
    assert.deepEqual(said, [], "nothing stands on the console");
  });

  test(`a phone in ${scheme}: every part fits, can be tapped and read`, async () => {
    const { page } = await show({ scheme });
    for (const at of ["#start", "#stop", "#tools", "#ways", "#t-slip-outward", "#t-lever-under-door"]) {
      await page.goto(address + at);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${at} is no wider than the phone`);
      const small = await page.locator(".answers a:visible, nav a").evaluateAll((all) => all.filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.textContent));
      assert.deepEqual(small, [], `all of ${at} can be tapped`);
      const faint = await page.evaluate(faintText);
      assert.deepEqual(faint, [], `all of ${at} can be read`);
      await shoot(page, `${scheme}-${at.slice(1)}`, true);
    }
    const paper = await page.locator("svg:visible path").first().evaluate((e) => getComputedStyle(e).fill);
    assert.equal(paper === "rgb(255, 255, 255)", scheme === "light", `the drawing's ground is ${paper}`);
  });
}

// faintText lists the visible words whose contrast with their ground is under
// 4.5 to 1 (WCAG 2.2, success criterion 1.4.3).
function faintText() {
  const light = (rgb) => rgb.map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const parse = (colour) => colour.match(/[\d.]+/g).map(Number);
  const groundOf = (e) => {
    for (; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] === 1) return c.slice(0, 3);
    }
    return [255, 255, 255];
  };
  const faint = [];
  for (const e of document.querySelectorAll("body *")) {
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim() !== "");
    if (!own || e.closest("svg") || ["SCRIPT", "STYLE"].includes(e.tagName) || e.getClientRects().length === 0) continue;
    const [a, b] = [light(parse(getComputedStyle(e).color).slice(0, 3)), light(groundOf(e))];
    const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (contrast < 4.5) faint.push(`${e.textContent.trim()} ${contrast.toFixed(1)}`);
  }
  return faint;
}

// readerTree is what a screen reader is given: role, name and level of each
// node that it would say.
async function readerTree(page) {
  const session = await page.context().newCDPSession(page);
  const { nodes } = await session.send("Accessibility.getFullAXTree");
  return nodes.filter((n) => !n.ignored).map((n) => ({
    role: n.role?.value, name: n.name?.value ?? "", level: n.properties?.find((p) => p.name === "level")?.value.value,
  }));
}

const named = (tree, role) => tree.filter((n) => n.role === role);

test("a screen reader is given one screen, with headings, lists and names", async () => {
  const { page } = await show();
  for (const at of ["", "#t-plunger-lean", "#ways", "#stop"]) {
    await page.goto(address + at);
    const tree = await readerTree(page);
    const heads = named(tree, "heading");
    assert.deepEqual(heads.filter((h) => h.level === 1).length, 1, `${at}: one first heading`);
    assert.ok(heads.every((h, i) => i === 0 || h.level <= heads[i - 1].level + 1), `${at}: no level is left out`);
    for (const role of ["link", "image", "img", "navigation", "region"]) {
      assert.ok(named(tree, role).every((n) => n.name !== ""), `${at}: every ${role} has a name`);
    }
    for (const role of ["banner", "main", "contentinfo", "navigation"]) {
      assert.equal(named(tree, role).length, 1, `${at}: one ${role}`);
    }
  }
  await page.goto(address);
  const start = await page.locator("main").ariaSnapshot();
  assert.match(start, /heading "Does fire or smoke show, or is a life at stake\?" \[level=1\]/);
  assert.match(start, /- list:[\s\S]*- link "Yes"[\s\S]*- link "No, and there is time"/);
  await page.goto(address + "#t-plunger-lean");
  const drawn = await page.locator("svg:visible").ariaSnapshot();
  assert.match(drawn, /img "The door from above/, "a drawing says what it shows");
});

test("a plan reads in order: what was said, then numbered steps", async () => {
  const { page } = await show();
  for (const words of walk) await answer(page, words);
  const snapshot = await page.locator("main").ariaSnapshot();
  const order = ["Try this, in this order", "What you said", "Try first", "Force it", "Leave it secure"].map((words) => snapshot.indexOf(words));
  assert.ok(order.every((at, i) => at >= 0 && (i === 0 || at > order[i - 1])), snapshot);
  assert.equal(await page.evaluate(() => document.activeElement.querySelector("h1")?.textContent), "Try this, in this order", "the reader's focus is on the new screen");
});

test("without scripts everything is there too", async () => {
  const { page, said } = await show({ scripts: false });
  for (const words of ["No, but minutes count", "Away from you", "A latch that springs", "Yes"]) {
    await page.locator(".answers a:visible", { hasText: new RegExp(`^${words}$`) }).click();
  }
  assert.match(await heading(page), /room under the door/);
  await page.locator(".answers a:visible").first().click();
  assert.ok(await page.locator(".plan:visible li").count() >= 3);
  assert.deepEqual(said, []);
});

test("every link leads somewhere, and back from a technique to the plan", async () => {
  const { page } = await show();
  const lost = await page.evaluate(() => [...document.querySelectorAll("a")].map((a) => a.getAttribute("href"))
    .filter((href) => !href.startsWith("#") || document.getElementById(href.slice(1)) === null));
  assert.deepEqual(lost, []);
  for (const words of walk) await answer(page, words);
  await page.locator(".plan:visible li a").nth(1).click();
  assert.notEqual(await heading(page), "Try this, in this order");
  await page.locator(".back:visible").click();
  assert.equal(await heading(page), "Try this, in this order");
});
