// Trunnion's extension in a real workbench of VS Code, in a real Chromium. Run by `node --test`, which wants in the environment:
// TRUNNION_BIN (the server), TRUNNION_VSIX (the extension), CODE_SERVER (its entry), NODE_24 (what runs it), CHROMIUM, TRUNNION_NPM
// (where playwright-core is), TRUNNION_PICTURES (a folder for screenshots).

import assert from "node:assert/strict";
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import path from "node:path";
import { after, before, test } from "node:test";

import { PATIENCE, Workbench } from "./workbench.mjs";

let workbench;
let window;
let mod;
let bram;
let original;

const read = () => readFileSync(bram, "utf8");

/** Waits for what is saved to fit. */
async function saved(fits, what) {
    await window.keys.press("Control+s");
    const end = Date.now() + PATIENCE;
    while (!fits(read())) {
        assert.ok(Date.now() < end, `${what}:\n${read()}`);
        await new Promise((resume) => setTimeout(resume, 50));
    }
    return read();
}

/** Brings the file back to what it was. */
async function undone() {
    await window.keys.press("Control+s");
    await window.page.waitForTimeout(300);
    for (let step = 0; step < 12 && read() !== original; step += 1) {
        await window.keys.press("Control+z");
        await window.keys.press("Control+s");
        await window.page.waitForTimeout(150);
    }
    assert.equal(read(), original);
}

/** A change that made a choice is shown first: it is ticked and applied. */
async function confirm() {
    const shown = window.page.locator(".bulk-edit-panel");
    await shown.locator(".monaco-list-row", { hasText: "bram-6.machine.xml" }).locator(".edit-checkbox").first().click();
    await window.picture("6-refactor-preview");
    await shown.getByRole("button", { name: "Apply" }).click();
    await shown.getByRole("button", { name: "Apply" }).waitFor({ state: "hidden" });
}

/** The preview's page, in its frame in its panel. */
const preview = (page) => page.frameLocator("iframe.webview.ready").frameLocator("#active-frame").frameLocator("iframe");

/**
 * A step of the test; what the window looked like when it failed is kept. The features that it shows are told for the table
 * of editors (tests/editors/table.mjs).
 */
function step(name, look, ...features) {
    test(name, async () => {
        try {
            await look();
            features.forEach((feature) => console.log(`FEATURE ${feature}`));
        } catch (error) {
            await workbench.failed(name);
            throw error;
        }
    });
}

before(async () => {
    workbench = await Workbench.start();
    mod = workbench.copy("ternholt", "ternholt");
    bram = path.join(mod, "machines/bram-6.machine.xml");
    original = read();
    writeFileSync(path.join(mod, "page.xml"), "<page/>\n");
    mkdirSync(path.join(mod, ".vscode"));
    writeFileSync(path.join(mod, ".vscode/settings.json"), "{}");
});

after(() => workbench?.stop());

step("the demo's finding is underlined soon after the file is opened", async () => {
    const began = Date.now();
    window = await workbench.window(mod);
    const up = Date.now();
    await window.open("bram-6.machine.xml");
    await window.caret(original, '<switch animation="mast.');
    const opened = Date.now();
    await window.page.locator(".squiggly-warning").first().waitFor();
    const seen = Date.now();
    console.log(`workbench up after ${up - began} ms; file opened by keyboard after ${opened - up} ms more, first squiggle ${seen - opened} ms later`);
    console.log(`the extension: ${Math.ceil(statSync(process.env.TRUNNION_VSIX).size / 1024)} kB packed, ${workbench.installed} kB installed`);
    assert.match(await window.page.locator("[id='status.problems']").innerText(), /1$/);
    await window.isStatus("the server is ready");
    await window.picture("1-diagnostics");
}, "findings");

step("hints stand beside channels and counts above names", async () => {
    await window.caret(original, '<channel target="leg.');
    await window.lines.filter({ hasText: 'target="leg.left"' }).filter({ hasText: /0\.32/ }).first().waitFor();
    await window.page.locator(".codelens-decoration", { hasText: "used once | play" }).first().waitFor();
}, "hints", "lenses");

step("words are coloured by where they lead", async () => {
    await window.caret(original, '<channel target="leg');
    await window.command("Developer: Inspect Editor Tokens and Scopes");
    const inspected = window.page.locator(".token-inspect-widget");
    await inspected.filter({ hasText: /semantic token type\s*variable/ }).waitFor();
    assert.ok(!(await inspected.innerText()).includes("unresolved"));
    await window.keys.press("Escape");
    await window.keys.type("s");
    await window.page.locator(".squiggly-error").first().waitFor();
    await window.command("Developer: Inspect Editor Tokens and Scopes");
    await inspected.filter({ hasText: /modifiers\s*unresolved/ }).waitFor();
    // Whatever the theme, it has a colour for what is wrong.
    assert.match(await inspected.innerText(), /foreground, bold[^\n]*\s+invalid\.illegal\.unresolved/);
    await window.picture("2-unresolved");
    await window.keys.press("Escape");
    await undone();
    await window.page.locator(".squiggly-error").first().waitFor({ state: "detached" });
}, "colours");

step("a name is explained under the mouse", async () => {
    await window.caret(original, '<channel target="leg');
    const word = window.lines.filter({ hasText: 'target="leg.left"' }).locator("span", { hasText: /^leg\.left$/ }).last();
    await word.hover({ position: { x: 12, y: 8 } });
    const shown = window.page.locator(".monaco-hover:visible").filter({ hasText: "leg.left" }).first();
    await shown.waitFor();
    await window.picture("3-hover");
    assert.match(await shown.innerText(), /0\/0\/0/);
    await window.page.mouse.move(5, 5);
}, "hover");

step("names are proposed and written", async () => {
    await window.caret(original, '<channel target="mast"');
    await window.keys.press("ArrowLeft");
    for (let letter = 0; letter < "mast".length; letter += 1) await window.keys.press("Backspace");
    await window.keys.type("hook.r");
    const proposed = window.page.locator(".suggest-widget .monaco-list-row");
    await proposed.filter({ hasText: "hook.right" }).first().waitFor();
    await window.picture("4-completion");
    await window.keys.press("Enter");
    await saved((text) => text.includes('<channel target="hook.right"      property="translation"'), "completed");
    await undone();
}, "completion");

step("a name leads to its alias and on into the scene", async () => {
    await window.caret(original, '<channel target="leg');
    await window.keys.press("F12");
    const line = original.split("\n").findIndex((line) => line.includes('<alias name="leg.left"')) + 1;
    await window.page.waitForFunction((line) => document.getElementById("status.editor.selection").innerText.startsWith(`Ln ${line},`), line);
    await window.caret(original, '<alias name="leg.left"   path="0/');
    await window.keys.press("F12");
    await window.page.locator(".tab.active", { hasText: "bram-6.gltf" }).waitFor();
    await window.open("bram-6.machine.xml");
}, "definition");

step("the legs become adjustable", async () => {
    await window.caret(original, '<channel target="leg.');
    await window.keys.press("Control+.");
    const menu = window.page.locator(".action-widget .monaco-list-row");
    const wanted = menu.filter({ hasText: "Make adjustable: `leg.left` and `leg.right`" }).first();
    await wanted.waitFor();
    await window.picture("5-assists");
    await wanted.click();
    await confirm();
    const changed = await saved((text) => text !== original, "adjusted");
    assert.match(changed, /<lever animation="[^"]+"[^>]*>\s*<carry wheel="front.left"\/>/);
    await window.picture("7-adjusted");
    await undone();
}, "assists");

step("a finding is repaired from the light bulb", async () => {
    await window.caret(original, '<switch animation="mast.');
    await window.keys.press("Control+.");
    const menu = window.page.locator(".action-widget .monaco-list-row");
    await menu.filter({ hasText: /carr/i }).first().waitFor();
    await window.picture("8-quick-fix");
    await menu.filter({ hasText: /carr/i }).first().click();
    await confirm();
    await saved((text) => text.includes('<carry wheel="rear.right"/>'), "repaired");
    await window.page.locator(".squiggly-warning").first().waitFor({ state: "detached" });
    await undone();
});

step("a name is renamed wherever it stands", async () => {
    await window.caret(original, '<channel target="leg');
    await window.keys.press("F2");
    const input = window.page.locator(".rename-box input");
    await input.waitFor();
    assert.equal(await input.inputValue(), "leg.left");
    await input.fill("leg.port");
    await window.keys.press("Enter");
    const changed = await saved((text) => text.includes('name="leg.port"'), "renamed");
    assert.ok(changed.includes('target="leg.port"') && !changed.includes("leg.left"));
    await undone();
}, "rename");

step("a lens plays an animation in the preview beside the text", async () => {
    await window.caret(original, '<animation id="hooks.');
    await window.page.locator(".codelens-decoration", { hasText: "play" }).locator("a", { hasText: "play" }).first().waitFor();
    const above = window.page.locator(".codelens-decoration", { hasText: "used once | play" });
    await above.last().locator("a", { hasText: "play" }).click();
    await window.page.locator(".tab", { hasText: "Preview of bram-6.machine.xml" }).waitFor();
    const page = preview(window.page);
    await page.locator("[data-key=track-width]").first().filter({ hasText: "2.6 m" }).waitFor();
    await page.locator("[data-meshes=shown]").waitFor();
    assert.equal(window.page.context().pages().length, 1, "no browser window was opened");
    await window.picture("9-preview");
});

step("the preview follows what is typed, and a restart of the server", async () => {
    // Nothing has taken the focus away from the text.
    await window.caret(original, 'from="1.30 0 0"   to="1.6');
    await window.keys.press("Backspace");
    await window.keys.type("8");
    const page = preview(window.page);
    const slider = page.getByRole("slider", { name: /^Raise mast/ });
    await slider.focus();
    await window.keys.press("End");
    await page.locator("[data-key=track-width]").first().filter({ hasText: "3.44 m" }).waitFor();
    await window.page.locator(".tab", { hasText: "bram-6.machine.xml" }).first().click();
    const frames = () => window.page.frames().filter((frame) => /^http:\/\/127\.0\.0\.1:\d+\/[0-9a-f]{32}\//.test(frame.url())).map((frame) => frame.url().split("#")[0]);
    const [was] = frames();
    await window.command("Trunnion: Restart the Server");
    await window.isStatus("the server is ready");
    const end = Date.now() + PATIENCE;
    while (!(frames().length === 1 && frames()[0] !== was)) {
        assert.ok(Date.now() < end, `${was} and now ${frames()}`);
        await window.page.waitForTimeout(100);
    }
    await preview(window.page).locator("[data-key=track-width]").first().waitFor();
    await window.page.locator(".tab", { hasText: "Preview of" }).click({ button: "middle" });
    await undone();
}, "preview");

step("a program that is not there is told with what to do, and taken up once it is", async () => {
    const settings = path.join(mod, ".vscode/settings.json");
    writeFileSync(settings, JSON.stringify({ "trunnion.server.path": "/nowhere/trunnion" }));
    await window.says("/nowhere/trunnion, which the setting trunnion.server.path names, is no program that can be started");
    await window.page.locator(".notifications-toasts").getByRole("button", { name: "Choose the Program…" }).waitFor();
    await window.isStatus("the server is stopped");
    await window.picture("9-no-program");
    await window.status.click();
    await window.page.locator(".output-view-container, .output.panel, .pane-body.output-view", { hasText: "/nowhere/trunnion" }).first().waitFor();
    await window.picture("10-log");
    writeFileSync(settings, "{}");
    await window.isStatus("the server is ready");
    await window.command("Notifications: Clear All Notifications");
    await window.command("View: Close Panel").catch(() => window.keys.press("Escape"));
});

step("the task checks the whole mod, and its findings are listed", async () => {
    const quarl = path.join(mod, "machines/quarl-30/quarl-30.machine.xml");
    const text = readFileSync(quarl, "utf8");
    writeFileSync(quarl, text.replace("</machine>", "<odd/></machine>"));
    await window.command("Tasks: Run Task");
    await window.page.locator(".quick-input-list .monaco-list-row", { hasText: /trunnion/i }).first().click();
    await window.page.locator(".quick-input-list .monaco-list-row", { hasText: "check everything" }).first().waitFor();
    await window.keys.press("Enter");
    const count = window.page.locator("[id='status.problems'] a[aria-label*='Errors: 1']");
    await count.waitFor();
    // The terminal comes to the front first.
    await window.page.locator(".terminal-outer-container, .integrated-terminal").first().waitFor();
    await count.click();
    await window.page.locator(".markers-panel .monaco-list-row", { hasText: "quarl-30.machine.xml" }).first().waitFor();
    await window.picture("11-check");
    writeFileSync(quarl, text);
});

step("other XML stays XML", async () => {
    await window.open("page.xml");
    await window.page.waitForTimeout(500);
    assert.equal(await window.page.locator("[id='status.editor.mode']").innerText(), "XML");
    assert.ok((await window.entries("Trunnion: Show This")).every((entry) => !entry.includes("in 3D")), "no preview of a page");
    await window.page.close();
});

step("what only a workspace's dialects know is recognised, and nothing else", async () => {
    const yard = workbench.copy("dialects/yard", "yard");
    writeFileSync(path.join(yard, "page.xml"), "<page/>\n");
    const window = await workbench.window(yard);
    const language = window.page.locator("[id='status.editor.mode']");
    await window.open("dorrik-9.rig.xml");
    await language.filter({ hasText: "Machine Definition" }).waitFor();
    await window.isStatus("the server is ready");
    await window.page.locator(".codelens-decoration").first().waitFor();
    await window.picture("12-other-dialect");
    await window.open("page.xml");
    await window.page.waitForTimeout(1000);
    assert.equal(await language.innerText(), "XML");
    await window.page.close();
});

step("in restricted mode no program is started that the workspace names", async () => {
    const folder = workbench.copy("ternholt", "strangers");
    const trap = path.join(workbench.folder, "trap");
    writeFileSync(trap, `#!/bin/sh\ntouch '${trap}.sprung'\n`, { mode: 0o755 });
    mkdirSync(path.join(folder, ".vscode"));
    writeFileSync(path.join(folder, ".vscode/settings.json"), JSON.stringify({ "trunnion.server.path": trap }));
    workbench.settings({ "security.workspace.trust.enabled": true, "security.workspace.trust.startupPrompt": "never", "security.workspace.trust.untrustedFiles": "open" });
    const window = await workbench.window(folder);
    await window.page.locator("[id='status.workspaceTrust'], [id*='workspaceTrust']", { hasText: "Restricted Mode" }).first().waitFor();
    await window.open("bram-6.machine.xml");
    await window.caret(original, '<switch animation="mast.');
    await window.page.locator(".squiggly-warning").first().waitFor();
    await window.isStatus("bin/trunnion");
    await window.picture("13-restricted");
    assert.ok(!existsSync(`${trap}.sprung`), "the workspace's program was started");
    await window.page.close();
    workbench.settings({});
    // The same folder, trusted: the setting counts.
    const trusted = await workbench.window(folder);
    await trusted.open("bram-6.machine.xml");
    await trusted.isStatus("the server is stopped");
    assert.ok(existsSync(`${trap}.sprung`));
    await trusted.page.close();
});

step("the walkthrough copies the demo and opens it", async () => {
    const empty = path.join(workbench.folder, "empty");
    mkdirSync(empty);
    const window = await workbench.window(empty);
    await window.command("Welcome: Open Walkthrough...");
    const rows = await window.quickInput("Trunnion");
    await rows.filter({ hasText: "Trunnion in Five Minutes" }).first().click();
    await window.page.locator(".getting-started-step", { hasText: "A mod to try it on" }).first().click();
    await window.page.getByRole("button", { name: "Copy and Open the Demo" }).first().waitFor();
    await window.picture("14-walkthrough");
    await window.page.getByRole("button", { name: "Copy and Open the Demo" }).first().click();
    await window.page.waitForFunction((folder) => document.querySelector(".quick-input-widget input[type=text]")?.value.includes(folder), empty);
    await window.page.waitForTimeout(500);
    await window.quickInput(`${empty}/`);
    await window.page.locator(".quick-input-widget").getByRole("button", { name: "Copy It Here" }).waitFor();
    await window.keys.press("Enter");
    await window.page.locator(".tab.active", { hasText: "bram-6.machine.xml" }).waitFor();
    await window.says("The demo is in");
    await window.isStatus("the server is ready");
    await window.picture("15-demo");
    assert.equal(readFileSync(path.join(empty, "ternholt/machines/bram-6.machine.xml"), "utf8"), original);
    await window.page.close();
});
