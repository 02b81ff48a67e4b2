// A window of the workbench: what a user does in it by mouse and keys, and sees.
//
// A busy machine swallows keys and shows things late. So whatever is done here is done until its effect is seen.

import path from "node:path";
import { setTimeout as sleep } from "node:timers/promises";

/** Milliseconds. The machine may be busy with other things. */
export const PATIENCE = 60_000;

/**
 * Makes a gesture again and again until its effect is seen. Both are given how long they may wait, in milliseconds, and fail
 * if that is too short; if patience ends, the last failure is thrown. A gesture must do no harm if the one before it takes
 * effect meanwhile, but may fail.
 */
export async function insist(gesture, effect) {
    const end = Date.now() + PATIENCE;
    for (let wait = 4_000; ; wait *= 2) {
        const failed = await gesture(wait).then(() => undefined, (error) => error);
        try {
            return await effect(wait);
        } catch (error) {
            if (Date.now() + wait > end) throw failed ?? error;
        }
    }
}

/** The effect that something is to be seen, or that nothing like it is. */
export const shows = (locator) => (timeout) => locator.first().waitFor({ timeout });
export const hides = (locator) => (timeout) => locator.first().waitFor({ state: "hidden", timeout });

/** The effect that something holds that is looked up; `what` is thrown if it does not. */
export const holds = (look, what) => async (timeout) => {
    for (const end = Date.now() + timeout; !(await look()); await sleep(50)) {
        if (Date.now() > end) throw new Error(what());
    }
};

/** A regular expression for a text and nothing else. */
const exactly = (text) => new RegExp(`^\\s*${text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}\\s*$`);

export class Window {
    constructor(page, pictures) {
        this.page = page;
        this.pictures = pictures;
        page.setDefaultTimeout(PATIENCE);
        this.keys = page.keyboard;
        this.status = page.locator("[id='trunnion.trunnion.trunnion.status']");
        this.lines = page.locator(".editor-instance .view-line");
        /** Rows of whatever is being asked at the top of the window. */
        this.answers = page.locator(".quick-input-list .monaco-list-row");
    }

    get #input() {
        return this.page.locator(".quick-input-widget input[type=text]").first();
    }

    /** The active editor, if it has the focus and shows a file of that name. */
    #editor(name) {
        return this.page.locator(`.editor-group-container.active .monaco-editor.focused[data-uri$="/${name}"]`, { has: this.page.locator(".view-line") });
    }

    /** Types into what a key asks at the top of the window, from whatever is shown there now. */
    async ask(key, text, timeout) {
        await this.keys.press("Escape");
        await this.keys.press(key);
        await this.#input.fill(text, { timeout });
    }

    /** Answers a question that is being asked at the top of the window. */
    async answer(text) {
        await this.#input.fill(text);
    }

    /** Runs a command by its title in the palette. */
    async command(title) {
        // Not the first one, which only begins like it or was used before.
        const row = this.answers.filter({ has: this.page.getByText(title, { exact: true }) }).first();
        await insist((wait) => this.ask("F1", `>${title}`, wait), (timeout) => row.click({ timeout }));
    }

    /** The palette's entries for what is typed. `sought` is among them. */
    async entries(typed, sought) {
        await insist((wait) => this.ask("F1", `>${typed}`, wait), shows(this.answers.filter({ hasText: sought })));
        const seen = await this.answers.allInnerTexts();
        await this.keys.press("Escape");
        return seen.map((text) => text.replace(/\s+/g, " "));
    }

    /** Opens a file of the window's folder, and puts the focus there. */
    async open(file) {
        const name = path.basename(file);
        // What was open before is listed until the search is done, and Enter would take the first of that.
        const row = this.answers.filter({ has: this.page.locator(".label-name", { hasText: exactly(name) }) }).first();
        const take = async (wait) => {
            await this.ask("Control+p", file, wait);
            await row.click({ timeout: wait });
        };
        await insist(take, shows(this.#editor(name)));
    }

    /** Goes back to an open file: from another one, or from a page in a frame, which keeps all keys to itself. */
    async focus(name) {
        if (await this.#editor(name).isVisible()) return;
        const tab = this.page.locator(`.tab[data-resource-name="${name}"]`).first();
        await insist((timeout) => tab.click({ timeout }), shows(this.#editor(name)));
    }

    /** Puts the caret of an open file behind the first occurrence of `before`, `text` being what is in it. */
    async caret(name, text, before) {
        const [line, column] = placeBehind(text, before);
        await this.focus(name);
        const go = async (wait) => {
            await this.ask("Control+g", `:${line}:${column}`, wait);
            await this.keys.press("Enter");
            await hides(this.page.locator(".quick-input-widget"))(wait);
        };
        await insist(go, this.isAt(line, column));
    }

    /** Puts the caret there and presses a key, until the effect is seen. */
    async press(key, name, text, before, effect) {
        const gesture = async () => {
            await this.caret(name, text, before);
            await this.keys.press(key);
        };
        await insist(gesture, effect);
    }

    /** The effect that the caret of the active editor is there, as the status bar has it. Numbers from one. */
    isAt(line, column) {
        const place = new RegExp(column === undefined ? `^\\s*Ln ${line},` : `^\\s*Ln ${line}, Col ${column}(?!\\d)`);
        return shows(this.page.locator("[id='status.editor.selection']", { hasText: place }));
    }

    /**
     * Makes it a window to begin with: only this file is open, as it is on the disk, with the focus; no popups, messages or
     * panels.
     */
    async settle(file) {
        const name = path.basename(file);
        const tab = this.page.locator(`.tab[data-resource-name="${name}"]`).first();
        if (await tab.isVisible()) await this.focus(name);
        else await this.open(file);
        const messages = this.page.locator(".notifications-toasts .notification-list-item");
        if (await messages.first().isVisible()) await this.command("Notifications: Clear All Notifications");
        const panel = this.page.locator(".part.panel");
        await insist(async () => (await panel.isVisible()) && this.keys.press("Control+j"), hides(panel));
        await this.command("File: Revert File");
        await hides(this.page.locator(".tab.dirty"))(PATIENCE);
        const others = this.page.locator(`.tab:not([data-resource-name="${name}"])`);
        const close = async (wait) => {
            if ((await others.count()) > 0) await others.first().click({ button: "middle", timeout: wait });
        };
        await insist(close, hides(others));
        await this.focus(name);
    }

    /**
     * Clicks on the lens of that title that stands closest above a line, once lenses that are still coming push it no more. In
     * the page's own order lenses stand as they came.
     */
    async clickAbove(line, title, timeout) {
        const links = this.page.locator(".codelens-decoration a:visible", { hasText: title });
        const closest = async () => {
            await links.first().waitFor({ timeout });
            const below = await line.first().boundingBox({ timeout });
            const boxes = await Promise.all((await links.all()).map((link) => link.boundingBox({ timeout })));
            const above = boxes.filter((box) => box !== null && box.y < below.y).sort((one, other) => other.y - one.y);
            if (above.length === 0) throw new Error(`there is no ${title} above`);
            return above[0];
        };
        let box = await closest();
        for (let was; was?.x !== box.x || was.y !== box.y; ) {
            await sleep(300);
            [was, box] = [box, await closest()];
        }
        await this.page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
    }

    async says(text) {
        await this.page.locator(".notifications-toasts .notification-list-item", { hasText: text }).first().waitFor();
    }

    async isStatus(text) {
        await this.page.waitForFunction(
            ([id, text]) => document.getElementById(id)?.querySelector("a")?.getAttribute("aria-label")?.includes(text),
            ["trunnion.trunnion.trunnion.status", text],
            { timeout: PATIENCE },
        );
    }

    picture(name) {
        return this.page.screenshot({ path: path.join(this.pictures, `${name}.png`) });
    }
}

/** Line and column, from one, of the place behind a text's first occurrence of another. */
function placeBehind(text, before) {
    const at = text.indexOf(before);
    if (at < 0) throw new Error(`there is no ${before}`);
    const lines = text.slice(0, at + before.length).split("\n");
    return [lines.length, lines.at(-1).length + 1];
}
