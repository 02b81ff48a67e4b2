// The live preview in a real Chromium: what is on the page, by keyboard, as files change.
//
// Environment: TRUNNION_BIN, CHROMIUM, TRUNNION_NPM (where playwright-core is installed), TRUNNION_PICTURES (a folder for
// screenshots).

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import http from "node:http";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";

import { startChromium } from "../chromium.mjs";

const corpus = path.resolve(import.meta.dirname, "../../corpus");
const pictures = path.resolve(process.env.TRUNNION_PICTURES);
const folder = mkdtempSync(path.join(tmpdir(), "trunnion-preview-"));
const machine = path.join(folder, "bram-6.machine.xml");
let browser;
const servers = [];

/** Starts a preview; gives its address. */
async function preview(file) {
    const server = spawn(process.env.TRUNNION_BIN, ["preview", file], { stdio: ["ignore", "pipe", "inherit"] });
    servers.push(server);
    const address = await new Promise((resolve, reject) => {
        server.stdout.once("data", (data) => resolve(String(data).trim()));
        server.once("exit", (code) => reject(new Error(`the preview ended with ${code}`)));
    });
    assert.match(address, /^http:\/\/127\.0\.0\.1:\d+\/[0-9a-f]{32}\/$/);
    return address;
}

/** Opens a page that fails the test if it logs an error or asks another server than its own. */
async function open(address, options = {}) {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, ...options });
    page.faults = [];
    page.on("pageerror", (error) => page.faults.push(String(error)));
    page.on("console", (message) => message.type() === "error" && page.faults.push(message.text()));
    page.on("request", (request) => {
        const url = request.url();
        if (!url.startsWith(address) && !url.startsWith("data:") && !url.startsWith("blob:")) page.faults.push(`asked for ${url}`);
    });
    await page.goto(address);
    await page.waitForSelector("[data-revision]");
    return page;
}

const drawn = (page) => page.waitForSelector("[data-meshes=shown]");
const track = (page) => page.locator("[data-key=track-width]").first();
const reads = (locator, text) => locator.filter({ hasText: text }).first().waitFor({ timeout: 5000 });
const picture = (page, name) => page.screenshot({ path: path.join(pictures, `${name}.png`) });

/** As editors save: never half a file. */
function save(file, text) {
    writeFileSync(`${file}.new`, text);
    renameSync(`${file}.new`, file);
}

function fetchRaw(address, headers) {
    return new Promise((resolve, reject) => {
        http.get(address, { headers }, (answer) => {
            answer.resume();
            resolve(answer);
        }).on("error", reject);
    });
}

before(async () => {
    mkdirSync(pictures, { recursive: true });
    mkdirSync(path.join(folder, "sounds"));
    for (const file of ["bram-6.machine.xml", "bram-6.gltf"]) {
        copyFileSync(path.join(corpus, "ternholt/machines", file), path.join(folder, file));
    }
    for (const sound of ["pump.ogg", "clunk.ogg"]) {
        copyFileSync(path.join(corpus, "ternholt/machines/sounds", sound), path.join(folder, "sounds", sound));
    }
    browser = await startChromium();
});

after(async () => {
    await browser?.close();
    for (const server of servers) server.kill();
    rmSync(folder, { recursive: true, force: true });
});

test("a control is moved by keyboard, and the track width on the page follows", async () => {
    const page = await open(await preview(machine));
    await drawn(page);
    await reads(track(page), "2.6 m");
    const ranges = page.locator(".ranges").first();
    for (const [end, text] of [["start", "2.6 m"], ["end", "3.24 m"], ["least", "2.6 m"], ["most", "3.24 m"]]) {
        await reads(ranges.locator(`[data-range=${end}]`), text);
    }
    await picture(page, "rest");
    const slider = page.getByRole("slider", { name: /^Raise mast/ });
    await slider.focus();
    await page.keyboard.press("End");
    await reads(track(page), "3.24 m");
    assert.equal(await slider.getAttribute("aria-valuetext"), "100 %");
    await picture(page, "deployed");
    await page.keyboard.press("Home");
    await reads(track(page), "2.6 m");
    // A quarter of the way: 1.5 s of the 2 s that the legs take for 0.32 m each.
    for (let step = 0; step < 25; step += 1) await page.keyboard.press("ArrowRight");
    await reads(track(page), "3.08 m");
    await page.getByRole("button", { name: "Front" }).click();
    await picture(page, "front");
    await page.getByRole("button", { name: "All back to rest" }).click();
    await reads(track(page), "2.6 m");
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("every part of the page is reached by keyboard and has a name", async () => {
    const page = await open(await preview(machine));
    const nameless = await page.evaluate(() => {
        const named = (it) => it.labels?.length || it.getAttribute("aria-label") || it.textContent.trim();
        return [...document.querySelectorAll("input, button, [tabindex]")].filter((it) => !named(it)).map((it) => it.outerHTML);
    });
    assert.deepEqual(nameless, []);
    const focusable = await page.locator("input, button, #stage").count();
    const seen = new Set();
    for (let step = 0; step < focusable + 2; step += 1) {
        await page.keyboard.press("Tab");
        seen.add(await page.evaluate(() => [...document.querySelectorAll("*")].indexOf(document.activeElement)));
    }
    assert.ok(seen.size >= focusable, `${seen.size} of ${focusable} reached`);
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("the page follows the saved file, and shows what is wrong instead of a blank page", async () => {
    const page = await open(await preview(machine));
    await drawn(page);
    const slider = page.getByRole("slider", { name: /^Raise mast/ });
    await slider.focus();
    await page.keyboard.press("End");
    await reads(track(page), "3.24 m");
    const text = readFileSync(machine, "utf8");

    const rounds = [];
    for (let round = 0; round < 10; round += 1) {
        const wide = round % 2 === 0;
        const seen = page.evaluate((wanted) => new Promise((resolve) => {
            const list = document.getElementById("measured");
            const watcher = new MutationObserver(() => {
                if (list.querySelector("[data-key=track-width]")?.textContent !== wanted) return;
                watcher.disconnect();
                const told = Date.now();
                // The second frame begins when the first one has been drawn.
                requestAnimationFrame(() => requestAnimationFrame(() => resolve({ told, drawn: Date.now() })));
            });
            watcher.observe(list, { childList: true });
        }), wide ? "3.64 m" : "3.24 m");
        await new Promise((resume) => setTimeout(resume, 200));
        const began = Date.now();
        save(machine, wide ? text.replace('to="1.62 0 0"', 'to="1.82 0 0"').replace('to="-1.62 0 0"', 'to="-1.82 0 0"') : text);
        const { told, drawn } = await seen;
        rounds.push({ told: told - began, drawn: drawn - began });
    }
    for (const [what, key] of [["to the new number in the page", "told"], ["to the frame with it drawn, without a graphics card", "drawn"]]) {
        const times = rounds.map((it) => it[key]).sort((a, b) => a - b);
        console.log(`from saving ${what}: median ${times[5]} ms, slowest ${times[9]} ms of 10`);
        // A tenth of a second is the aim; the bound leaves room for a busy machine.
        assert.ok(times[5] < 1000, String(times));
    }
    // How wide it gets follows, too.
    save(machine, text.replace('to="1.62 0 0"', 'to="1.92 0 0"'));
    await reads(page.locator("[data-range=most]"), "3.54 m");
    save(machine, text);
    await reads(page.locator("[data-range=most]"), "3.24 m");
    // The focus has stayed where it was.
    assert.match(await page.evaluate(() => document.activeElement.id), /^control-/);

    save(machine, text.replace('animation="hooks.close"', 'animation="hooks.shut"'));
    await reads(page.locator("#problems .error"), "hooks.shut");
    save(machine, text.slice(0, text.indexOf("<wheels>") + 20));
    await reads(page.locator("#problems .error"), "end tag");
    await picture(page, "broken");
    save(machine, text);
    await reads(track(page), "3.24 m");
    save(machine, "this is no definition <<<");
    await reads(page.locator("#notice"), "last machine that could be shown");
    await reads(page.locator("#problems .error"), "root element");
    assert.ok(await page.locator("#labels span").count(), "the last picture stays");
    await picture(page, "no-machine");
    save(machine, text.replace("bram-6.gltf", "gone.gltf"));
    await reads(page.locator("#notice"), "gone.gltf");
    save(machine, text);
    await page.waitForFunction(() => document.getElementById("notice").textContent === "");
    await reads(track(page), "3.24 m");
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("a file that is broken from the start shows its problem", async () => {
    const broken = path.join(folder, "broken.machine.xml");
    writeFileSync(broken, "<machine");
    const page = await open(await preview(broken));
    await page.locator("#notice", { hasText: /\S/ }).waitFor();
    await page.locator("#problems li").first().waitFor();
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("a file that is not there is told on the command line", async () => {
    await assert.rejects(preview(path.join(folder, "gone.machine.xml")), /ended with 2/);
});

test("meshes come from a GLB file and from buffers beside the scene, and from nowhere else", async () => {
    const glb = await open(await preview(path.join(corpus, "ternholt/machines/quarl-30/quarl-30.machine.xml")));
    await drawn(glb);
    await picture(glb, "glb");
    assert.deepEqual(glb.faults, []);
    await glb.close();

    const inner = path.join(folder, "inner");
    mkdirSync(path.join(inner, "data"), { recursive: true });
    copyFileSync(machine, path.join(inner, "a.machine.xml"));
    const scene = JSON.parse(readFileSync(path.join(folder, "bram-6.gltf"), "utf8"));
    const bytes = Buffer.from(scene.buffers[0].uri.split(",")[1], "base64");
    const withBuffer = (uri) => save(path.join(inner, "bram-6.gltf"), JSON.stringify({ ...scene, buffers: [{ ...scene.buffers[0], uri }] }));
    writeFileSync(path.join(inner, "data/two words.bin"), bytes);
    writeFileSync(path.join(folder, "outside.bin"), bytes);
    withBuffer("data/two%20words.bin");
    const page = await open(await preview(path.join(inner, "a.machine.xml")));
    await drawn(page);
    assert.deepEqual(page.faults, []);
    // A buffer that changes alone is read again, and its meshes with it.
    const again = page.waitForRequest((request) => request.url().endsWith("buffer/0"));
    save(path.join(inner, "data/two words.bin"), bytes);
    await again;
    await drawn(page);
    // Any number of zeros can be asked for in a few bytes.
    const many = [...scene.accessors, { componentType: 5126, type: "VEC3", count: 2_000_000_000 }];
    save(path.join(inner, "bram-6.gltf"), JSON.stringify({ ...scene, accessors: many }));
    await page.locator("#notice", { hasText: "very large" }).waitFor();
    withBuffer("../outside.bin");
    await page.locator("#notice", { hasText: "drawn as boxes" }).waitFor();
    await reads(track(page), "2.6 m");
    await page.close();
});

test("the picture is turned by keys", async () => {
    const page = await open(await preview(machine));
    await drawn(page);
    const places = () => page.locator("#labels span").evaluateAll((all) => all.map((it) => it.style.transform).join());
    await page.waitForFunction(() => document.querySelector("#labels span").style.transform !== "");
    await page.locator("#stage").focus();
    for (const key of ["ArrowLeft", "ArrowDown", "+", "-", "ArrowUp"]) {
        const were = await places();
        await page.keyboard.press(key);
        await page.waitForFunction((were) => [...document.querySelectorAll("#labels span")].map((it) => it.style.transform).join() !== were, were);
    }
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("an address can say what to play, and no motion is forced on who wants none", async () => {
    const address = await preview(machine);
    const moving = await open(`${address}`);
    await moving.goto("about:blank");
    await moving.goto(`${address}#play=hooks.close`);
    await moving.getByRole("button", { name: "Pause hooks.close" }).waitFor();
    await moving.getByRole("button", { name: "Play hooks.close" }).waitFor();
    assert.equal(await moving.locator("#animation-1").getAttribute("aria-valuetext"), "1.50 s");
    await moving.close();
    const still = await browser.newPage({ reducedMotion: "reduce" });
    await still.goto(`${address}#play=hooks.close`);
    await still.waitForFunction(() => document.activeElement?.id === "animation-1");
    assert.equal(await still.locator("#animation-1").getAttribute("aria-valuetext"), "at rest");
    await still.close();
});

test("names from files are text", async () => {
    const hostile = path.join(folder, "hostile.machine.xml");
    const text = readFileSync(path.join(corpus, "ternholt/machines/bram-6.machine.xml"), "utf8");
    writeFileSync(hostile, text.replace('text="Raise mast"', 'text="&lt;img src=x onerror=document.title=1&gt;"'));
    const page = await open(await preview(hostile));
    await page.getByRole("slider", { name: /^<img src=x/ }).waitFor();
    assert.equal(await page.locator("img").count(), 0);
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("a scene in XML is drawn as boxes, in dark, and plays only when told to", async () => {
    const page = await open(await preview(path.join(corpus, "dialects/yard/rigs/dorrik-9.rig.xml")), { colorScheme: "dark", reducedMotion: "reduce" });
    await page.locator("#labels span").first().waitFor();
    await page.locator("[data-key]").first().waitFor();
    await page.getByRole("slider").first().focus();
    await page.keyboard.press("PageUp");
    await picture(page, "boxes-dark");
    assert.deepEqual(page.faults, []);
    await page.close();
});

test("only who knows the address and calls this computer by its name gets an answer", async () => {
    const address = await preview(machine);
    const { origin, host, pathname } = new URL(address);
    const status = async (url, headers) => (await fetchRaw(url, headers)).statusCode;
    assert.equal(await status(address, {}), 200);
    assert.equal(await status(address, { host: "elsewhere.example" }), 403);
    assert.equal(await status(address, { host, origin: "http://elsewhere.example" }), 403);
    assert.equal(await status(`${origin}/`, {}), 404);
    assert.equal(await status(`${origin}/${"0".repeat(32)}/`, {}), 404);
    for (const elsewhere of ["../secret", "bram-6.gltf", "buffer/0", "buffer/-1", "%2e%2e/bram-6.gltf"]) {
        assert.equal(await status(origin + pathname + elsewhere, {}), 404, elsewhere);
    }
    const answer = await fetchRaw(address, {});
    assert.equal(answer.headers["access-control-allow-origin"], undefined);
    assert.match(answer.headers["content-security-policy"], /default-src 'none'/);
});
