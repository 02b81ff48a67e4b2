// The demo mod, copied to where its new owner wants it, and opened.

import { cp, stat } from "node:fs/promises";
import path from "node:path";
import { ExtensionContext, Uri, commands, window } from "vscode";

/** The definition that the walkthrough is about. */
const STORY = path.join("machines", "bram-6.machine.xml");

export async function openDemo(context: ExtensionContext): Promise<void> {
    const chosen = await window.showOpenDialog({
        canSelectFiles: false,
        canSelectFolders: true,
        title: "Where shall the demo mod be copied to?",
        openLabel: "Copy It Here",
    });
    const parent = chosen?.[0];
    if (parent === undefined) return;
    const folder = await unused(path.join(parent.fsPath, "ternholt"));
    try {
        await cp(context.asAbsolutePath("demo"), folder, { recursive: true, errorOnExist: true, force: false });
    } catch (error) {
        void window.showErrorMessage(`Trunnion: the demo could not be copied to ${folder}: ${String(error)}`);
        return;
    }
    await window.showTextDocument(Uri.file(path.join(folder, STORY)), { preview: false });
    const open = "Open Its Folder";
    const answer = await window.showInformationMessage(`The demo is in ${folder}.`, open);
    if (answer === open) await commands.executeCommand("vscode.openFolder", Uri.file(folder), { forceNewWindow: true });
}

/** The path itself, or with the first number behind it that makes it a new one: nothing is written over. */
async function unused(wanted: string): Promise<string> {
    for (let number = 1; ; number += 1) {
        const folder = number === 1 ? wanted : `${wanted}-${number}`;
        try {
            await stat(folder);
        } catch {
            return folder;
        }
    }
}
