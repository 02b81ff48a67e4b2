// Trunnion's extension in a real workbench of VS Code, in a real Chromium. Run by `node --test`, which wants in the environment:
// TRUNNION_BIN (the server), TRUNNION_VSIX (the extension), CODE_SERVER (its entry), NODE_24 (what runs it), CHROMIUM, TRUNNION_NPM
// (where playwright-core is), TRUNNION_PICTURES (a folder for screenshots).

import assert from "node:assert/strict";
import { existsSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import path from "node:path";
import { after, before, test } from "node:test";

import { PATIENCE, hides, holds, insist, shows } from "./window.mjs";
import { Workbench } from "./workbench.mjs";

const FILE = "bram-6.machine.xml";

let workbench;
/** The window with the demo, while there is one that can be trusted. */
let shared;
let mod;
let bram;
/** What is in the demo's definition. */
let original;
/** What is in all files of the demo, by their paths. */
let files;

const read = () => readFileSync(bram, "utf8");

/** Saves until what is on the disk fits, and gives that. */
async function saved(window, fits, what) {
    await insist(() => window.keys.press("Control+s"), holds(() => fits(read()), () => `not ${what}:\n${read()}`));
    return read();
}

/** Takes an assist; what it would change is shown first, ticked and applied. */
async function assist(window, before, title, picture) {
    const entry = window.page.locator(".action-widget .monaco-list-row", { hasText: title }).first();
    await window.press("Control+.", FILE, original, before, shows(entry));
    await window.picture(picture);
    await entry.click();
    const shown = window.page.locator(".bulk-edit-panel");
    const tick = shown.locator(".monaco-list-row", { hasText: FILE }).locator(".edit-checkbox").first();
    const apply = shown.getByRole("button", { name: "Apply" });
    // A slow workbench may take one click for two, and asks whether to forget the first change.
    const forget = window.page.locator(".monaco-dialog-box").getByRole("button", { name: "Continue" });
    await shows(tick)(PATIENCE);
    const confirm = async (wait) => {
        if (await forget.isVisible()) await forget.click({ timeout: wait });
        await tick.check({ timeout: wait });
        await window.picture(`${picture}-shown`);
        await apply.click({ timeout: wait });
    };
    await insist(confirm, hides(apply));
}

/** The preview's page, in its frame in its panel. */
const preview = (page) => page.frameLocator("iframe.webview.ready").frameLocator("#active-frame").frameLocator("iframe");

/** Plays the animation of the hooks, by the lens above it. */
async function play(window) {
    await window.caret(FILE, original, '<animation id="hooks.');
    const line = window.lines.filter({ hasText: 'id="hooks.close"' }).filter({ hasText: "duration" });
    await insist((wait) => window.clickAbove(line, "play", wait), shows(window.page.locator(".tab", { hasText: `Preview of ${FILE}` })));
    await preview(window.page).locator("[data-meshes=shown]").waitFor();
}

/**
 * A step of the test; what the windows looked like when it failed is kept. The features that it shows are told for the table
 * of editors (tests/editors/table.mjs).
 */
function step(name, look, ...features) {
    test(name, async () => {
        try {
            await look();
            features.forEach((feature) => console.log(`FEATURE ${feature}`));
        } catch (error) {
            await workbench.failed(name);
            workbench.settings({});
            shared = undefined;
            throw error;
        }
    });
}

/** A step that begins with the demo as it was, its definition in the active editor, and nothing else in the window. */
function onDemo(name, look, ...features) {
    const begin = async () => {
        shared ??= await workbench.window(mod);
        await asItWas();
        await look(shared);
    };
    step(name, begin, ...features);
}

async function asItWas() {
    for (const [file, content] of files) if (!existsSync(file) || !content.equals(readFileSync(file))) writeFileSync(file, content);
    await shared.settle(FILE);
    assert.equal(read(), original);
}

/** A step in windows of its own. */
function elsewhere(name, look, ...features) {
    const begin = async () => {
        await shared?.page.close();
        shared = undefined;
        await look();
    };
    step(name, begin, ...features);
}

before(async () => {
    workbench = await Workbench.start();
    mod = workbench.copy("ternholt", "ternholt");
    bram = path.join(mod, "machines", FILE);
    writeFileSync(path.join(mod, "page.xml"), "<page/>\n");
    mkdirSync(path.join(mod, ".vscode"));
    writeFileSync(path.join(mod, ".vscode/settings.json"), "{}");
    const there = readdirSync(mod, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).map((entry) => path.join(entry.parentPath, entry.name));
    files = new Map(there.map((file) => [file, readFileSync(file)]));
    original = read();
});

after(() => workbench?.stop());

step("the demo's finding is underlined soon after the file is opened", async () => {
    const began = Date.now();
    const window = (shared = await workbench.window(mod));
    const up = Date.now();
    await window.open(FILE);
    await window.caret(FILE, original, '<switch animation="mast.');
    const opened = Date.now();
    await window.page.locator(".squiggly-warning").first().waitFor();
    const seen = Date.now();
    console.log(`TIME ${seen - opened} ms from the opened file to the first squiggle (workbench up after ${up - began} ms, file opened by keyboard after ${opened - up} ms more)`);
    console.log(`SIZE the extension: ${Math.ceil(statSync(process.env.TRUNNION_VSIX).size / 1024)} kB packed, ${workbench.installed} kB installed`);
    await window.page.locator("[id='status.problems']", { hasText: /1$/ }).waitFor();
    await window.isStatus("the server is ready");
    await window.picture("1-diagnostics");
}, "findings");

onDemo("hints stand beside channels and counts above names", async (window) => {
    await window.caret(FILE, original, '<channel target="leg.');
    await window.lines.filter({ hasText: 'target="leg.left"' }).filter({ hasText: /0\.32/ }).first().waitFor();
    await window.page.locator(".codelens-decoration", { hasText: "used once | play" }).first().waitFor();
}, "hints", "lenses");

onDemo("words are coloured by where they lead", async (window) => {
    const inspect = () => window.command("Developer: Inspect Editor Tokens and Scopes");
    const inspected = window.page.locator(".token-inspect-widget");
    await window.caret(FILE, original, '<channel target="leg');
    await insist(inspect, shows(inspected.filter({ hasText: /semantic token type\s*variable/ })));
    assert.ok(!(await inspected.innerText()).includes("unresolved"));
    await window.caret(FILE, original, '<channel target="leg');
    await window.keys.type("s");
    await window.page.locator(".squiggly-error").first().waitFor();
    await insist(inspect, shows(inspected.filter({ hasText: /modifiers\s*unresolved/ })));
    // Whatever the theme, it has a colour for what is wrong.
    assert.match(await inspected.innerText(), /foreground, bold[^\n]*\s+invalid\.illegal\.unresolved/);
    await window.picture("2-unresolved");
    await asItWas();
    await hides(window.page.locator(".squiggly-error"))(PATIENCE);
}, "colours");

onDemo("a name is explained under the mouse", async (window) => {
    await window.caret(FILE, original, '<channel target="leg');
    const word = window.lines.filter({ hasText: 'target="leg.left"' }).locator("span", { hasText: /^leg\.left$/ }).last();
    const shown = window.page.locator(".monaco-hover:visible").filter({ hasText: "leg.left" }).first();
    const point = async (wait) => {
        await window.page.mouse.move(5, 5);
        await word.hover({ position: { x: 12, y: 8 }, timeout: wait });
    };
    await insist(point, shows(shown));
    await window.picture("3-hover");
    assert.match(await shown.innerText(), /0\/0\/0/);
    await window.page.mouse.move(5, 5);
}, "hover");

onDemo("names are proposed and written", async (window) => {
    await window.caret(FILE, original, '<channel target="mast');
    for (let letter = 0; letter < "mast".length; letter += 1) await window.keys.press("Backspace");
    await window.keys.type("hook.r");
    const proposed = window.page.locator(".suggest-widget .monaco-list-row").filter({ hasText: "hook.right" });
    try {
        await shows(proposed)(5_000);
    } catch {
        await insist(() => window.keys.press("Control+Space"), shows(proposed));
    }
    await window.picture("4-completion");
    await window.keys.press("Enter");
    await saved(window, (text) => text.includes('<channel target="hook.right"      property="translation"'), "completed");
}, "completion");

onDemo("a name leads to its alias and on into the scene", async (window) => {
    const line = original.split("\n").findIndex((line) => line.includes('<alias name="leg.left"')) + 1;
    await window.press("F12", FILE, original, '<channel target="leg', window.isAt(line));
    await window.press("F12", FILE, original, '<alias name="leg.left"   path="0/', shows(window.page.locator(".tab.active", { hasText: "bram-6.gltf" })));
}, "definition");

onDemo("all places of a name are listed", async (window) => {
    const places = window.page.locator(".peekview-widget .ref-tree .monaco-list-row");
    // Of a name with one use the workbench shows no list; it goes there.
    await window.press("Shift+F12", FILE, original, '<channel target="beac', shows(places.filter({ hasText: 'target="beacon"' })));
    await places.filter({ hasText: 'node="beacon"' }).waitFor();
    // Below the file. The lamp's own name is another one.
    assert.equal(await places.count(), 3, String(await places.allInnerTexts()));
    await window.picture("references");
}, "references");

onDemo("the attributes of a tag are shown while it is written", async (window) => {
    const shown = window.page.locator(".parameter-hints-widget.visible");
    await window.caret(FILE, original, '<channel target="leg.left"');
    await window.keys.type(" ");
    try {
        await shows(shown.filter({ hasText: "easing" }))(5_000);
    } catch {
        await insist(() => window.keys.press("Control+Shift+Space"), shows(shown.filter({ hasText: "easing" })));
    }
    await window.picture("attributes");
    assert.match(await shown.innerText(), /channel\s+target\s+property[\s\S]*\[easing\]/);
}, "attributes");

onDemo("the outline leads to an animation", async (window) => {
    const line = original.split("\n").findIndex((line) => line.includes('<animation id="hooks.close"')) + 1;
    const entry = window.answers.filter({ hasText: "hooks.close" }).first();
    const choose = async (wait) => {
        await window.ask("Control+Shift+o", "@hooks", wait);
        await entry.click({ timeout: wait });
    };
    await insist(choose, window.isAt(line));
    await window.command("Explorer: Focus on Outline View");
    await window.page.locator(".outline-pane .monaco-list-row", { hasText: "leg.right" }).first().waitFor();
    await window.picture("outline");
}, "outline");

onDemo("the legs become adjustable", async (window) => {
    await assist(window, '<channel target="leg.', "Make adjustable: `leg.left` and `leg.right`", "5-assists");
    const changed = await saved(window, (text) => text !== original, "adjusted");
    assert.match(changed, /<lever animation="[^"]+"[^>]*>\s*<carry wheel="front.left"\/>/);
    await window.picture("6-adjusted");
}, "assists");

onDemo("a finding is repaired from the light bulb", async (window) => {
    await window.caret(FILE, original, '<switch animation="mast.');
    await window.page.locator(".squiggly-warning").first().waitFor();
    await assist(window, '<switch animation="mast.', /carr/i, "7-quick-fix");
    await saved(window, (text) => text.includes('<carry wheel="rear.right"/>'), "repaired");
    await hides(window.page.locator(".squiggly-warning"))(PATIENCE);
});

onDemo("a name is renamed wherever it stands", async (window) => {
    const input = window.page.locator(".rename-box input");
    await window.press("F2", FILE, original, '<channel target="leg', shows(input));
    assert.equal(await input.inputValue(), "leg.left");
    await input.fill("leg.port");
    await insist((timeout) => input.press("Enter", { timeout }), hides(input));
    const changed = await saved(window, (text) => text.includes('name="leg.port"'), "renamed");
    assert.ok(changed.includes('target="leg.port"') && !changed.includes("leg.left"));
}, "rename");

onDemo("a lens plays an animation in the preview beside the text", async (window) => {
    const setting = (control) => preview(window.page).getByRole("slider", { name: control }).inputValue();
    const moves = holds(async () => Number(await setting(/^Close hooks/)) > 0, () => "the hooks do not move");
    await insist(() => play(window), moves);
    assert.equal(Number(await setting(/^Raise mast/)), 0);
    await preview(window.page).locator("[data-key=track-width]").first().filter({ hasText: "2.6 m" }).waitFor();
    assert.equal(window.page.context().pages().length, 1, "no browser window was opened");
    await window.picture("9-preview");
});

onDemo("the preview follows what is typed, a restart of the server and its end", async (window) => {
    await play(window);
    // Nothing has taken the focus away from the text.
    await window.caret(FILE, original, 'from="1.30 0 0"   to="1.6');
    await window.keys.press("Backspace");
    await window.keys.type("8");
    const page = preview(window.page);
    const slider = page.getByRole("slider", { name: /^Raise mast/ });
    const pull = async () => {
        await slider.focus();
        await window.keys.press("End");
    };
    await insist(pull, shows(page.locator("[data-key=track-width]").first().filter({ hasText: "3.44 m" })));
    const frames = () => window.page.frames().filter((frame) => /^http:\/\/127\.0\.0\.1:\d+\/[0-9a-f]{32}\//.test(frame.url())).map((frame) => frame.url().split("#")[0]);
    const [was] = frames();
    await window.focus(FILE);
    await window.command("Trunnion: Restart the Server");
    await holds(() => frames().length === 1 && frames()[0] !== was, () => `${was} and now ${frames()}`)(PATIENCE);
    await window.isStatus("the server is ready");
    await page.locator("[data-key=track-width]").first().waitFor();
    const [then] = frames();
    workbench.crash();
    await holds(() => frames().length === 1 && frames()[0] !== then, () => `${then} and now ${frames()}`)(PATIENCE);
    await page.locator("[data-key=track-width]").first().waitFor();
}, "preview");

onDemo("a program that is not there is told with what to do, and taken up once it is", async (window) => {
    const settings = path.join(mod, ".vscode/settings.json");
    writeFileSync(settings, JSON.stringify({ "trunnion.server.path": "/nowhere/trunnion" }));
    await window.says("/nowhere/trunnion, which the setting trunnion.server.path names, is no program that can be started");
    await window.page.locator(".notifications-toasts").getByRole("button", { name: "Choose the Program…" }).waitFor();
    await window.isStatus("the server is stopped");
    await window.picture("9-no-program");
    const log = window.page.locator(".output-view-container, .output.panel, .pane-body.output-view", { hasText: "/nowhere/trunnion" });
    await insist((timeout) => window.status.click({ timeout }), shows(log));
    await window.picture("10-log");
    writeFileSync(settings, "{}");
    await window.isStatus("the server is ready");
});

onDemo("the task checks the whole mod, and its findings are listed", async (window) => {
    const quarl = path.join(mod, "machines/quarl-30/quarl-30.machine.xml");
    // An animation that nothing plays is no error.
    const idle = '<animation id="idle"/></animations>';
    writeFileSync(quarl, readFileSync(quarl, "utf8").replace("</animations>", idle).replace("</machine>", "<odd/></machine>"));
    const task = window.answers.filter({ hasText: "check everything" }).first();
    const choose = async (wait) => {
        await window.command("Tasks: Run Task");
        await window.answers.filter({ hasText: /trunnion/i }).first().click({ timeout: wait });
    };
    await insist(choose, shows(task));
    await task.click();
    const count = window.page.locator("[id='status.problems'] a[aria-label*='Errors: 1']");
    await count.waitFor();
    // The terminal comes to the front first.
    await window.page.locator(".terminal-outer-container, .integrated-terminal").first().waitFor();
    await insist((wait) => count.click({ timeout: wait }), shows(window.page.locator(".markers-panel .monaco-list-row", { hasText: "quarl-30.machine.xml" })));
    await window.picture("11-check");
});

onDemo("other XML stays XML", async (window) => {
    assert.ok((await window.entries("Trunnion: Show", "Trunnion: Show")).some((entry) => entry.includes("in 3D")), "the preview of a machine");
    await window.open("page.xml");
    await window.page.waitForTimeout(500);
    assert.equal(await window.page.locator("[id='status.editor.mode']").innerText(), "XML");
    assert.ok((await window.entries("Trunnion: Show", "Show the Log")).every((entry) => !entry.includes("in 3D")), "no preview of a page");
});

elsewhere("what only a workspace's dialects know is recognised, and nothing else", async () => {
    const yard = workbench.copy("dialects/yard", "yard");
    writeFileSync(path.join(yard, "page.xml"), "<page/>\n");
    const window = await workbench.window(yard);
    const language = window.page.locator("[id='status.editor.mode']");
    await window.open("dorrik-9.rig.xml");
    await language.filter({ hasText: "Machine Definition" }).waitFor();
    await window.isStatus("the server is ready");
    await window.page.locator(".codelens-decoration").first().waitFor();
    await window.picture("12-other-dialect");
    // As XML, if its reader wants that; afresh once it was closed.
    await window.command("Change Language Mode");
    await window.answer("xml");
    await window.answers.filter({ has: window.page.getByText("XML", { exact: true }) }).first().click();
    await language.filter({ hasText: /^XML$/ }).waitFor();
    await window.page.waitForTimeout(1000);
    assert.equal(await language.innerText(), "XML");
    await window.command("View: Close All Editors");
    await insist(() => window.open("dorrik-9.rig.xml"), shows(language.filter({ hasText: "Machine Definition" })));
    await window.open("page.xml");
    await window.page.waitForTimeout(1000);
    assert.equal(await language.innerText(), "XML");
    await window.page.close();
});

elsewhere("in restricted mode no program is started and no folder read or written that the workspace names", async () => {
    const folder = workbench.copy("ternholt", "strangers");
    const trap = path.join(workbench.folder, "trap");
    writeFileSync(trap, `#!/bin/sh\ntouch '${trap}.sprung'\n`, { mode: 0o755 });
    mkdirSync(path.join(folder, ".vscode"));
    writeFileSync(path.join(folder, ".vscode/settings.json"), JSON.stringify({ "trunnion.server.path": trap }));
    const kept = path.join(workbench.folder, "kept");
    writeFileSync(path.join(folder, "trunnion.toml"), 'library = ["../ternholt"]\ncache-folder = "../kept"\n');
    workbench.settings({ "security.workspace.trust.enabled": true, "security.workspace.trust.startupPrompt": "never", "security.workspace.trust.untrustedFiles": "open" });
    const window = await workbench.window(folder);
    await window.page.locator("[id='status.workspaceTrust'], [id*='workspaceTrust']", { hasText: "Restricted Mode" }).first().waitFor();
    await window.open("bram-6.machine.xml");
    await window.caret(FILE, original, '<switch animation="mast.');
    await window.page.locator(".squiggly-warning").first().waitFor();
    await window.isStatus("bin/trunnion");
    assert.ok(!existsSync(`${trap}.sprung`), "the workspace's program was started");
    const log = window.page.locator(".output-view-container, .output.panel, .pane-body.output-view", { hasText: "This workspace is not trusted" });
    await insist((timeout) => window.status.click({ timeout }), shows(log));
    await window.picture("13-restricted");
    assert.ok(!existsSync(kept), "what is known of the workspace's library was kept where it says");
    await window.page.close();
    workbench.settings({});
    // The same folder, trusted: what it says counts.
    writeFileSync(path.join(folder, ".vscode/settings.json"), "{}");
    const trusted = await workbench.window(folder);
    await trusted.open(FILE);
    await holds(() => existsSync(kept), () => "no library was read")(PATIENCE);
    writeFileSync(path.join(folder, ".vscode/settings.json"), JSON.stringify({ "trunnion.server.path": trap }));
    await trusted.isStatus("the server is stopped");
    assert.ok(existsSync(`${trap}.sprung`));
    await trusted.page.close();
});

elsewhere("the walkthrough copies the demo and opens it", async () => {
    const empty = path.join(workbench.folder, "empty");
    mkdirSync(empty);
    const window = await workbench.window(empty);
    await window.command("Welcome: Open Walkthrough...");
    await window.answer("Trunnion");
    await window.answers.filter({ hasText: "Trunnion in Five Minutes" }).first().click();
    await window.page.locator(".getting-started-step", { hasText: "A mod to try it on" }).first().click();
    await window.page.getByRole("button", { name: "Copy and Open the Demo" }).first().waitFor();
    await window.picture("14-walkthrough");
    await window.page.getByRole("button", { name: "Copy and Open the Demo" }).first().click();
    await window.page.waitForFunction((folder) => document.querySelector(".quick-input-widget input[type=text]")?.value.includes(folder), empty);
    await window.page.waitForTimeout(500);
    await window.answer(`${empty}/`);
    await window.page.locator(".quick-input-widget").getByRole("button", { name: "Copy It Here" }).waitFor();
    await window.keys.press("Enter");
    await window.page.locator(".tab.active", { hasText: "bram-6.machine.xml" }).waitFor();
    await window.says("The demo is in");
    await window.isStatus("the server is ready");
    await window.picture("15-demo");
    assert.equal(readFileSync(path.join(empty, "ternholt/machines/bram-6.machine.xml"), "utf8"), original);
    await window.page.close();
});
