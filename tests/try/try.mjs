// `trunnion try` in a real Chromium: the whole way from a name to a saved file, by mouse and keyboard.
//
// Environment: TRUNNION_BIN, CHROMIUM, TRUNNION_NPM (where playwright-core is installed), TRUNNION_PICTURES (a folder for
// screenshots).

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import http from "node:http";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";

import { startChromium } from "../chromium.mjs";

const corpus = path.resolve(import.meta.dirname, "../../corpus");
const pictures = path.resolve(process.env.TRUNNION_PICTURES);
const scratch = mkdtempSync(path.join(tmpdir(), "trunnion-tried-"));
const servers = [];
let browser;

/** For the table of editors and features (tests/editors/table.mjs). */
const feature = (...names) => names.forEach((name) => console.log(`FEATURE ${name}`));

async function start(...args) {
    const env = { ...process.env, TMPDIR: scratch };
    const server = spawn(process.env.TRUNNION_BIN, ["try", ...args], { env, stdio: ["ignore", "pipe", "ignore"] });
    servers.push(server);
    const address = await new Promise((resolve, reject) => {
        server.stdout.once("data", (data) => resolve(String(data).trim()));
        server.once("exit", (code) => reject(new Error(`it ended with ${code}`)));
    });
    assert.match(address, /^http:\/\/127\.0\.0\.1:\d+\/[0-9a-f]{32}\/$/);
    return address;
}

/** A page that fails the test if it logs an error or asks anybody but this computer. */
async function open(address) {
    const page = await browser.newPage({ viewport: { width: 1500, height: 900 } });
    page.faults = [];
    page.on("pageerror", (error) => page.faults.push(String(error)));
    page.on("console", (message) => message.type() === "error" && page.faults.push(message.text()));
    page.on("request", (request) => /^(http:\/\/127\.0\.0\.1:|data:|blob:)/.test(request.url()) || page.faults.push(`asked for ${request.url()}`));
    await page.goto(address);
    await page.locator(".cm-content:visible").waitFor();
    await page.locator(".word-type:visible").first().waitFor();
    return page;
}

const picture = (page, name) => page.screenshot({ path: path.join(pictures, `${name}.png`) });
const editor = (page) => page.locator(".cm-content:visible");
const problems = (page) => page.locator("#problems li");

/** Puts the cursor behind a text of the document, by searching for it. */
async function cursorAt(page, text) {
    await editor(page).click({ position: { x: 200, y: 5 } });
    await page.keyboard.press("Control+f");
    const field = page.locator(".cm-search input[name=search]:visible");
    await field.fill("");
    await field.pressSequentially(text);
    await field.press("Enter");
    await field.press("Escape");
}

before(async () => {
    mkdirSync(pictures, { recursive: true });
    browser = await startChromium();
});

after(async () => {
    await browser?.close();
    for (const server of servers) server.kill();
    rmSync(scratch, { recursive: true, force: true });
});

test("the demo is there, coloured, measured, and moves in the preview beside it", async () => {
    const began = performance.now();
    const page = await open(await start());
    await problems(page).filter({ hasText: "wheel-left-behind" }).first().waitFor();
    console.log(`TIME ${Math.round(performance.now() - began)} ms from the command to the first findings on the page`);
    await page.locator("#files button", { hasText: "bram-6" }).click();
    await page.locator(".word-variable.word-declaration", { hasText: "leg.left" }).first().waitFor();
    await page.locator(".hint").first().waitFor();
    await page.locator(".lenses button", { hasText: "play" }).first().waitFor();
    assert.equal(await page.locator(".word-unresolved:visible").count(), 0);
    const preview = page.frameLocator("#preview");
    await preview.locator("[data-key=track-width]").first().waitFor();
    await preview.locator("[data-meshes=shown]").waitFor({ timeout: 15000 });
    await picture(page, "demo");
    feature("colours", "hints", "lenses", "preview");
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("what is broken is told, in the text, in the list and in colour, and is well again when it is undone", async () => {
    const page = await open(await start());
    await page.locator("#files button", { hasText: "bram-6" }).click();
    await problems(page).filter({ hasText: "wheel-left-behind" }).waitFor();
    await cursorAt(page, 'target="leg.left');
    await page.keyboard.press("ArrowRight");
    await page.keyboard.type("x");
    await problems(page).filter({ hasText: "unknown-name" }).first().waitFor();
    await page.locator(".word-unresolved", { hasText: "leg.leftx" }).waitFor();
    await page.locator(".cm-lintRange-error").first().waitFor();
    await picture(page, "broken");
    feature("findings");
    await page.keyboard.press("Control+z");
    await page.waitForFunction(() => !document.querySelector("#problems").textContent.includes("unknown-name"));
    await problems(page).filter({ hasText: "wheel-left-behind" }).waitFor();
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("a part is made adjustable, moves in the preview, and is saved in place", async () => {
    const mod = path.join(scratch, "mod");
    cpSync(path.join(corpus, "ternholt"), mod, { recursive: true });
    const file = path.join(mod, "machines/bram-6.machine.xml");
    const old = readFileSync(file, "utf8");
    const page = await open(await start(file));
    assert.match(await page.locator("#mod").innerText(), /bram-6/);
    const preview = page.frameLocator("#preview");
    await preview.locator("#controls .setting").first().waitFor();
    const before = await preview.locator("#controls .setting").count();
    await cursorAt(page, 'target="leg.left"');
    await page.keyboard.press("Alt+Enter");
    const offered = page.locator("#choices button:enabled", { hasText: "adjustable" }).first();
    await offered.waitFor();
    await picture(page, "choices");
    await offered.click();
    await page.locator("#state", { hasText: "done" }).waitFor();
    await preview.locator("#controls .setting").nth(before).waitFor();
    await page.locator("#files button", { hasText: "not saved" }).waitFor();
    assert.equal(readFileSync(file, "utf8"), old);
    await page.keyboard.press("Control+s");
    await page.locator("#state", { hasText: "is saved" }).waitFor();
    const saved = readFileSync(file, "utf8");
    assert.notEqual(saved, old);
    assert.match(saved, /<lever animation="[^"]+" input="[^"]+"/);
    await picture(page, "adjusted");
    feature("assists");

    // What somebody else writes meanwhile is not overwritten.
    writeFileSync(file, old);
    await editor(page).click({ position: { x: 200, y: 5 } });
    await page.keyboard.type(" ");
    await page.keyboard.press("Control+s");
    await page.locator("#state", { hasText: "changed by somebody else" }).waitFor();
    assert.equal(readFileSync(file, "utf8"), old);
    page.faults = page.faults.filter((fault) => !fault.includes("409"));
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("hover, completion, renaming and the way to a name", async () => {
    const page = await open(await start());
    await page.locator("#files button", { hasText: "bram-6" }).click();
    await page.locator(".word-variable", { hasText: "leg.left" }).nth(1).hover();
    await page.locator(".cm-lsp-hover-tooltip", { hasText: "0/0/0" }).waitFor();
    await picture(page, "hover");
    await page.mouse.move(5, 400);

    await cursorAt(page, 'target="leg.left');
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("F12");
    await page.waitForFunction(() => document.querySelector(".cm-activeLine:not([hidden])")?.textContent.includes("<alias"));

    await page.keyboard.press("F2");
    const name = page.locator(".cm-panel input:visible").last();
    await name.fill("leg.port");
    await name.press("Enter");
    await page.locator(".word-variable.word-declaration", { hasText: "leg.port" }).first().waitFor();
    assert.equal(await page.locator(".word-variable:visible", { hasText: /^leg\.left$/ }).count(), 0);

    await cursorAt(page, 'target="mast');
    await page.keyboard.press("ArrowRight");
    for (let letter = 0; letter < 4; letter += 1) await page.keyboard.press("Backspace");
    await page.keyboard.press("Control+ ");
    await page.locator(".cm-tooltip-autocomplete li", { hasText: "leg.port" }).waitFor();
    await picture(page, "completion");
    feature("hover", "definition", "rename", "completion");
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("who does not know the address gets nothing, and no file beside the mod", async () => {
    const address = await start(path.join(corpus, "ternholt"));
    const status = (target, headers = {}) =>
        new Promise((resolve, reject) => http.get(target, { headers }, (answer) => resolve(answer.resume().statusCode)).on("error", reject));
    assert.equal(await status(address), 200);
    assert.equal(await status(new URL("/", address)), 404);
    assert.equal(await status(new URL(`/${"0".repeat(32)}/mod`, address)), 404);
    assert.equal(await status(address, { host: "evil.example" }), 403);
    assert.equal(await status(`${address}session`, { origin: "http://evil.example", upgrade: "websocket", connection: "upgrade" }), 403);
    assert.equal(await status(`${address}session`), 426);
    assert.equal(await status(`${address}file?path=mod.xml`), 200);
    for (const file of ["../README.md", "/etc/passwd", "machines/bram-6.gltf", ""]) {
        assert.equal(await status(`${address}file?path=${encodeURIComponent(file)}`), 409, file);
    }
});
