// Which program is the server: the configured one, else the one in this extension, else what PATH has.

import { constants } from "node:fs";
import { access, stat } from "node:fs/promises";
import { homedir } from "node:os";
import path from "node:path";
import { ExtensionContext, workspace } from "vscode";

const NAME = process.platform === "win32" ? "trunnion.exe" : "trunnion";

/** There is no program to start; the message says where it was looked for. */
export class NoProgram extends Error {}

/**
 * The full path of the program.
 *
 * @throws {NoProgram} It is not there, or cannot be run.
 */
export async function findProgram(context: ExtensionContext): Promise<string> {
    // In restricted mode this is what the user's settings say, never the workspace's.
    const configured = workspace.getConfiguration("trunnion").get("server.path", "").trim();
    if (configured !== "") return configuredProgram(configured);
    const bundled = context.asAbsolutePath(path.join("server", NAME));
    const found = (await isProgram(bundled)) ? bundled : await onPath(NAME);
    if (found === undefined) throw new NoProgram("The program trunnion is not on PATH, and none came with this extension.");
    return found;
}

async function configuredProgram(configured: string): Promise<string> {
    const file = configured.replace(/^~(?=[/\\])/, homedir());
    if (path.isAbsolute(file)) {
        if (await isProgram(file)) return file;
        throw new NoProgram(`${file}, which the setting trunnion.server.path names, is no program that can be started.`);
    }
    const found = /[/\\]/.test(file) ? undefined : await onPath(file);
    if (found !== undefined) return found;
    throw new NoProgram(`${file}, which the setting trunnion.server.path names, is neither a full path nor a program on PATH.`);
}

async function onPath(name: string): Promise<string | undefined> {
    for (const folder of (process.env.PATH ?? "").split(path.delimiter)) {
        // A relative folder would stand for whatever folder is the current one.
        if (path.isAbsolute(folder) && (await isProgram(path.join(folder, name)))) return path.join(folder, name);
    }
    return undefined;
}

async function isProgram(file: string): Promise<boolean> {
    try {
        await access(file, constants.X_OK);
        return (await stat(file)).isFile();
    } catch {
        return false;
    }
}
