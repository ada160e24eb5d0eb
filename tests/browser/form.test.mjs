// The quote form in Chromium. Node's own test runner; axe-core checks the rules of WCAG 2.2.
import assert from "node:assert/strict";
import { readFileSync, mkdtempSync, rmSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { chromium } from "playwright-core";

const address = process.env.EVENBAY_ADDRESS;
const form = `${address}/form?key=${process.env.EVENBAY_KEY}`;
const pictures = process.env.EVENBAY_PICTURES;
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const DESKTOP = { width: 1280, height: 900 };
const PHONE = { width: 360, height: 740 };
let folder;
let browser;
let page;
let strange;
let broken;

before(async () => {
  folder = mkdtempSync(join(tmpdir(), "form-"));
  browser = await chromium.launchPersistentContext(folder, {
    executablePath: "/usr/bin/chromium", args: FLAGS, headless: true, viewport: DESKTOP,
  });
});
after(async () => {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
});
beforeEach(async () => {
  page = await browser.newPage();
  strange = [];
  broken = [];
  page.on("request", (one) => {
    if (!one.url().startsWith(`${address}/`) && !one.url().startsWith("data:")) strange.push(one.url());
  });
  page.on("pageerror", (error) => broken.push(String(error)));
  page.on("console", (line) => {
    if (/Content Security Policy|is not defined/.test(line.text())) broken.push(line.text());
  });
  await page.goto(form);
});
afterEach(async () => {
  await page.close();
  assert.deepEqual(strange, [], "requests to other hosts");
  assert.deepEqual(broken, [], "errors of the page");
});

async function faultless() {
  await page.evaluate(axe); // by the debugger, which the page's policy does not bind
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  assert.ok(found.passes.length > 15, "axe ran");
  assert.deepEqual(found.violations.map((one) => [one.id, one.nodes.map((node) => node.html)]), []);
}

async function picture(name) {
  if (pictures) await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
}

async function told(pattern) {
  await page.waitForFunction(
    (source) => new RegExp(source).test(document.getElementById("price").textContent), pattern.source,
  );
}

const PRICE = /USD [\d,]+\.\d\d/;
const active = () => page.evaluate(() => {
  const one = document.activeElement;
  const name = one.labels?.[0]?.textContent ?? one.textContent;
  return `${one.closest("fieldset")?.querySelector("legend")?.textContent ?? ""}|${name.trim()}`;
});

// Go on with Tab alone until the field is reached that a listener hears named so.
async function tabTo(wanted) {
  for (let steps = 0; steps < 60; steps += 1) {
    if ((await active()) === wanted) return;
    await page.keyboard.press("Tab");
  }
  assert.fail(`${wanted} was not reached; at ${await active()}`);
}

async function type(wanted, words) {
  await tabTo(wanted);
  await page.keyboard.press("Control+A");
  await page.keyboard.type(words);
}

async function rectangle() {
  const lengths = page.locator("#sides .length");
  for (const [index, words] of ["12 ft", "16' 0\"", "12 ft"].entries()) await lengths.nth(index).fill(words);
  await page.locator("#drop").fill("3' 6\"");
  await told(PRICE);
}

const own = (path, options = {}) => fetch(`${address}${path}`, {
  ...options, headers: { Authorization: `Bearer ${process.env.EVENBAY_OWN_KEY}`, "Content-Type": "application/json" },
}).then((answer) => answer.json());

test("the whole job by keyboard alone", async () => {
  await type("Side 1|Length", "12'");
  await type("Side 2|Length", "16 ft 0 in");
  await type("Side 3|Length", "12' 0\"");
  await type("|Deck above the ground", "3' 6-1/2\"");
  await told(PRICE);
  const without = await page.textContent("#price");
  await tabTo("|Add a stair");
  await page.keyboard.press("Enter");
  assert.equal(await active(), "Stair 1|Down from");
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.inputValue(".from"), "1");
  await type("Stair 1|Steps up to the deck", "6");
  await page.waitForFunction((before) => document.getElementById("price").textContent !== before
    && /USD/.test(document.getElementById("price").textContent), without);
  assert.equal(await page.locator("#not-met li").count(), 0, "what the form did not ask is not held against a deck");
  assert.match(await page.textContent("#built"), /\d+ posts, \d+ sections, 1 stair\.$/);
  await type("|Your name", "Ann Arden");
  await type("|E-mail", "ann@example.com");
  const price = await page.textContent("#price");
  await tabTo("|Send");
  await page.keyboard.press("Enter");
  await page.waitForSelector("#sent:not([hidden])");
  assert.equal(await active(), "|Thank you, it is sent.");
  await faultless();
  await picture("sent");
  const reference = await page.textContent("#reference");
  assert.match(reference, /^W-[0-9A-F]{8}$/);
  const { quotes } = await own(`/v1/quotes?outside_reference=${reference}`);
  assert.equal(quotes.length, 1);
  const quote = await own(`/v1/quotes/${quotes[0].quote ?? quotes[0].id}`);
  assert.equal(quote.customer.email, "ann@example.com");
  assert.equal(price.replaceAll(",", "").includes(quote.totals.gross.amount), true, `${price} is what is kept`);
});

test("what the rules for assistive technology ask, empty and filled in", async () => {
  await faultless();
  await picture("empty-desktop");
  await rectangle();
  await page.locator("#add-stair").click();
  await page.locator(".risers").fill("6");
  await page.waitForFunction(() => /1 stair/.test(document.getElementById("built").textContent));
  for (const summary of await page.locator("details > summary").all()) await summary.click();
  await faultless();
  await picture("filled-desktop");
});

test("a plan that shows what was typed, in the size of a picture", async () => {
  await rectangle();
  const shown = await page.evaluate(async () => {
    const image = document.getElementById("drawing");
    await image.decode();
    return { wide: image.naturalWidth, alt: image.alt, svg: decodeURIComponent(image.src) };
  });
  assert.equal(shown.wide, 360);
  assert.match(shown.alt, /^Plan of the deck: .* of railing, \d+ posts/);
  for (const side of ["12&#39; 0&quot;", "16&#39; 0&quot; house"]) assert.ok(shown.svg.includes(`>${side}<`), side);
});

test("wrong input is explained beside its field, in the API's words", async () => {
  await rectangle();
  await page.locator("#sides .length").nth(1).fill("sixteen");
  await page.waitForSelector("#sides li:nth-child(2) [aria-invalid]");
  const field = page.locator("#sides .length").nth(1);
  const said = await field.evaluate((one) => one.getAttribute("aria-describedby").split(" ")
    .map((id) => document.getElementById(id).textContent).join(" "));
  const refused = await own("/v1/estimates", { method: "POST", body: JSON.stringify({ deck: { levels: [{
    name: "deck", outline: { sides: [{ length: "sixteen", turn: 90 }, { length: "1 ft", turn: 90 }], closing_side: true },
    edges: [{ kind: "open" }, { kind: "open" }, { kind: "wall" }] }] } }) });
  const { detail } = refused.errors.find((one) => one.pointer.endsWith("/sides/0/length"));
  assert.ok(said.includes(detail), `${said} holds ${detail}`);
  assert.equal(await page.locator("[aria-invalid]").count(), 1);
  await faultless();
  await picture("wrong-desktop");
  await field.fill("16 ft");
  await told(PRICE);
  assert.equal(await page.locator("[aria-invalid]").count(), 0);
});

test("wrong input is explained before the other fields are filled in, and empty ones are let be", async () => {
  const field = page.locator("#sides .length").first();
  await field.fill("twelve");
  await page.waitForSelector("#sides li:nth-child(1) [aria-invalid]");
  const said = await field.evaluate((one) => one.getAttribute("aria-describedby").split(" ")
    .map((id) => document.getElementById(id).textContent).join(" "));
  assert.match(said, /12' 6-1\/2"/);
  assert.equal(await page.locator("[aria-invalid]").count(), 1);
  assert.match(await page.textContent("#price"), /3 fields more/);
  await faultless();
  await field.fill("12 ft");
  await page.waitForFunction(() => !document.querySelector("[aria-invalid]"));
  await page.locator("#drop").fill("knee-high");
  await page.waitForSelector("#drop[aria-invalid]");
});

test("what cannot be sent leads to each field that is wrong", async () => {
  await page.locator("#sides .length").first().fill("12 ft");
  await page.locator("#send").click();
  await page.waitForSelector("#trouble:not([hidden])");
  assert.match(await page.textContent("#trouble-title"), /\d places need another look\./);
  assert.equal(await page.evaluate(() => document.activeElement.id), "trouble");
  await faultless();
  const links = await page.locator("#trouble a").allTextContents();
  for (const wanted of ["Side 2: Length", "Side 3: Length", "Deck above the ground", "Your name"]) {
    assert.ok(links.includes(wanted), `${wanted} in ${links}`);
  }
  await page.locator("#trouble a", { hasText: "Your name" }).click();
  assert.equal(await page.evaluate(() => document.activeElement.id), "name");
});

test("a stair that does not fit is explained at the stair", async () => {
  await rectangle();
  await page.locator("#add-stair").click();
  await page.locator(".risers").fill("6");
  await page.locator(".width").fill("40 ft");
  await page.waitForSelector(".stair [aria-invalid], #sides [aria-invalid]");
  assert.ok((await page.locator(".error:visible").allTextContents()).join("").length > 10);
  assert.equal((await page.textContent("#price")).includes("USD"), false);
});

test("a side has a drop of its own, by keyboard, and the code is held against it", async () => {
  await rectangle();
  await page.locator("#sides .length").first().focus();
  await type("Side 2|Drop along it", "20 in");
  const [asked] = await Promise.all([
    page.waitForRequest((one) => one.url().endsWith("/v1/estimates")), page.keyboard.press("Tab"),
  ]);
  const { edges } = asked.postDataJSON().deck.levels[0];
  assert.deepEqual(edges.map((one) => one.fall_height), ["3' 6\"", "20 in", "3' 6\"", undefined]);
  await told(PRICE);
  await page.locator("#sides .fall").nth(1).fill("twenty");
  await page.waitForSelector("#sides li:nth-child(2) .fall[aria-invalid]");
  assert.equal(await page.locator("[aria-invalid]").count(), 1, "the deck's own drop is right");
  await page.locator("#sides .kind").nth(1).selectOption("wall");
  await told(PRICE);
  assert.equal(await page.locator("#sides .fall").nth(1).isVisible(), false);
});

test("the side back to the start has a drop of its own where it is open", async () => {
  await rectangle();
  assert.equal(await page.locator("#closing-fall").isVisible(), false);
  await page.locator("#closing").selectOption("open");
  await page.locator("#closing-fall").fill("5 ft");
  const asked = await page.waitForRequest((one) => one.postData()?.includes("5 ft"));
  assert.equal(asked.postDataJSON().deck.levels[0].edges[3].fall_height, "5 ft");
  await told(PRICE);
});

test("a gate is added by keyboard and built, and what does not fit is explained at it", async () => {
  await rectangle();
  const without = await page.textContent("#price");
  await tabTo("|Add a gate");
  await page.keyboard.press("Enter");
  assert.equal(await active(), "Gate 1|In the railing of");
  await page.waitForFunction((before) => /USD/.test(document.getElementById("price").textContent)
    && document.getElementById("price").textContent !== before, without);
  const drawn = await page.evaluate(() => decodeURIComponent(document.getElementById("drawing").src));
  assert.equal(drawn.split('class="gate"').length, 2);
  assert.match(await page.textContent("#left-out"), /^gate 1 is left open: this railing system describes no gates/);
  await faultless();
  await picture("gate-desktop");
  const gate = page.locator("#gates .row");
  await gate.locator(".width").fill("wide");
  await page.waitForSelector("#gates .width[aria-invalid]");
  assert.equal(await page.locator("[aria-invalid]").count(), 1);
  await gate.locator(".width").fill("3 ft");
  await gate.locator(".offset").fill("here");
  await page.waitForSelector("#gates .offset[aria-invalid]");
  await gate.locator(".offset").fill("2 ft");
  await gate.locator(".swing").selectOption("out");
  const asked = await page.waitForRequest((one) => one.postData()?.includes('"out"'));
  const { openings } = asked.postDataJSON().deck.levels[0].edges[1];
  assert.deepEqual(openings, [{ kind: "gate", gate: { name: "gate 1", width: "3 ft" }, swing: "out", hinge: "left", offset: "2 ft" }]);
  await told(PRICE);
});

test("a stair or a gate in a wall is explained in plain words, and cannot be sent", async () => {
  await rectangle();
  await page.locator("#add-gate").click();
  await told(PRICE);
  await page.locator("#sides .kind").nth(1).selectOption("wall");
  await page.waitForSelector("#gates .from[aria-invalid]");
  assert.match(await page.locator("#gates .error:visible").textContent(), /There is a wall along this side/);
  await page.locator("#name").fill("Ann Arden");
  await page.locator("#email").fill("ann@example.com");
  await page.locator("#send").click();
  await page.waitForSelector("#trouble:not([hidden])");
  assert.deepEqual(await page.locator("#trouble a").allTextContents(), ["Gate 1: In the railing of"]);
  await faultless();
  await page.locator("#gates .from").selectOption("0");
  await told(PRICE);
  assert.equal(await page.locator("[aria-invalid]").count(), 0);
});

test("on paper stands what was asked and what it comes to, and nothing to press", async () => {
  await rectangle();
  await page.locator("#add-gate").click();
  await page.waitForSelector("#left-out:not([hidden])");
  const closed = "#form details:not(#sketching):not([open])";
  await page.evaluate((folded) => window.addEventListener("beforeprint", () => {
    window.lines = document.getElementById("lines").children.length;
    window.folded = document.querySelectorAll(folded).length;
  }), closed);
  const pdf = await page.pdf({ path: pictures ? join(pictures, "print.pdf") : undefined, format: "Letter", printBackground: true });
  assert.ok(pdf.length > 10_000);
  assert.equal(await page.evaluate(() => window.folded), 0, "what is folded away is printed");
  assert.ok(await page.evaluate(() => window.lines) > 10);
  assert.ok(await page.locator(closed).count() > 0, "and folded away again");
  await page.emulateMedia({ media: "print" });
  assert.equal(await page.locator("button:visible").count(), 0);
  await page.locator("#gates .width").focus();
  assert.equal(await page.locator("#gates .width").evaluate((one) => getComputedStyle(one).outlineStyle), "none");
  assert.equal(await page.locator("#sketching").isVisible(), false);
  for (const shown of ["#price", "#drawing", "#sides .length >> nth=0", "#gates .width", "footer"]) {
    assert.ok(await page.locator(shown).isVisible(), `${shown} is printed`);
  }
  await page.emulateMedia({ media: "screen" });
});

test("a sketch by keyboard fills in the sides", async () => {
  await page.locator("#sketching summary").focus();
  await page.keyboard.press("Enter");
  await page.locator("#sketch").focus();
  const walk = [["ArrowDown", 10], ["ArrowRight", 8], ["ArrowUp", 4], ["ArrowRight", 6], ["ArrowUp", 6]];
  await page.keyboard.press("Enter");
  for (const [key, steps] of walk) {
    for (let step = 0; step < steps; step += 1) await page.keyboard.press(key);
    await page.keyboard.press("Enter");
  }
  await faultless();
  await picture("sketch-desktop");
  await page.locator("#sketch-use").focus();
  await page.keyboard.press("Enter");
  const sides = page.locator("#sides li");
  assert.equal(await sides.count(), 5);
  const lengths = await page.locator("#sides .length").evaluateAll((all) => all.map((one) => one.value));
  assert.deepEqual(lengths, ["10 ft", "8 ft", "4 ft", "6 ft", "6 ft"]);
  const turns = await page.locator("#sides .turn").evaluateAll((all) => all.slice(0, 4).map((one) => one.value));
  assert.deepEqual(turns, ["90", "90", "-90", "90"]);
  await page.locator("#drop").fill("4 ft");
  await told(PRICE);
  await picture("sketched-desktop");
});

test("a sketch drawn the other way round by pointer comes to the same deck", async () => {
  await page.locator("#sketching summary").click();
  const cells = [[18, 3], [18, 9], [12, 9], [12, 13], [4, 13], [4, 3]];
  const box = await page.locator("#sketch svg").boundingBox();
  const cell = box.width / (24 + 16 / 14);
  for (const [x, y] of cells) {
    await page.mouse.click(box.x + cell * (x + 8 / 14), box.y + cell * (y + 8 / 14));
  }
  await page.locator("#sketch-use").click();
  const lengths = await page.locator("#sides .length").evaluateAll((all) => all.map((one) => one.value));
  assert.deepEqual(lengths, ["10 ft", "8 ft", "4 ft", "6 ft", "6 ft"]);
});

test("a telephone 360 pixels wide shows everything without scrolling sideways", async () => {
  await page.setViewportSize(PHONE);
  const fits = () => page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.equal(await fits(), 0);
  await rectangle();
  await page.locator("#add-stair").click();
  await page.locator(".risers").fill("6");
  await page.waitForFunction(() => /1 stair/.test(document.getElementById("built").textContent));
  await page.locator("#add-gate").click();
  await page.locator("#sides .turn").first().selectOption("other");
  for (const summary of await page.locator("details > summary").all()) await summary.click();
  assert.equal(await fits(), 0);
  await faultless();
  await picture("filled-phone");
});

// Serve a page of another origin that frames an address; give its origin and its end.
function elsewhere(framed) {
  const server = createServer((_asked, answer) => {
    answer.setHeader("Content-Type", "text/html");
    answer.end(`<title>Another site</title><iframe width="800" height="800" src="${framed()}"></iframe>`);
  });
  return new Promise((begun) => {
    server.listen(0, "127.0.0.1", () => begun({ origin: `http://127.0.0.1:${server.address().port}`, server }));
  });
}

test("sites that the key lists may frame the form, and others may not", async () => {
  let key = process.env.EVENBAY_KEY;
  const { origin, server } = await elsewhere(() => `${address}/form?key=${key}`);
  try {
    await page.goto(origin);
    assert.equal(await page.frames()[1].locator("#form").count(), 0);
    const wish = { label: "site", publishable: true, origins: [address, origin] };
    ({ key } = await own("/v1/keys", { method: "POST", body: JSON.stringify(wish) }));
    assert.match(key, /^evbp_/);
    await page.goto(origin);
    const framed = page.frames()[1];
    const lengths = framed.locator("#sides .length");
    for (let side = 0; side < 3; side += 1) await lengths.nth(side).fill("12 ft");
    await framed.locator("#drop").fill("4 ft");
    await framed.waitForFunction(() => /USD/.test(document.getElementById("price").textContent));
  } finally {
    server.close();
    server.closeAllConnections();
  }
  strange = strange.filter((url) => !url.startsWith(origin)); // the site itself
  broken = broken.filter((line) => !/fram/i.test(line)); // the refusal that was asked for
});
