// Files that only the dialects of a workspace know: other XML and plain text stays what it is.

import { access } from "node:fs/promises";
import path from "node:path";
import { Disposable, Range, TextDocument, languages, workspace } from "vscode";
import { Server } from "./server";

/** The server's command that answers with the kind of document that a file is, or with null. */
const RECOGNISE = "trunnion.recognise";
const CANDIDATES = ["xml", "plaintext"];
const SETTINGS = "trunnion.toml";
/** The root's start tag is behind that in no file that people write. */
const MOST_LINES = 500;
const MOST_LETTERS = 50_000;

export class Recognition implements Disposable {
    readonly #server: Server;
    readonly #watching: Disposable;
    /** Whoever chooses another language for a file keeps it, as long as it is open. */
    readonly #changed = new Set<string>();

    constructor(server: Server) {
        this.#server = server;
        const files = workspace.createFileSystemWatcher(`**/{${SETTINGS},*.dialect.toml}`);
        const again = () => this.#lookAtAll();
        this.#watching = Disposable.from(
            workspace.onDidOpenTextDocument((document) => void this.#lookAt(document)),
            workspace.onDidCloseTextDocument((document) => {
                // A file that gets another language is told to be closed and opened, and stays there.
                if (!workspace.textDocuments.includes(document)) this.#changed.delete(document.uri.toString());
            }),
            files,
            files.onDidChange(again),
            files.onDidCreate(again),
        );
        this.#lookAtAll();
    }

    #lookAtAll(): void {
        for (const document of workspace.textDocuments) void this.#lookAt(document);
    }

    async #lookAt(document: TextDocument): Promise<void> {
        if (document.isClosed) return;
        if (document.languageId === "trunnion") {
            await this.#server.want();
            return;
        }
        const uri = document.uri.toString();
        if (document.uri.scheme !== "file" || !CANDIDATES.includes(document.languageId) || this.#changed.has(uri)) return;
        if (!workspace.getConfiguration("trunnion", document.uri).get("recognise", true)) return;
        // No server for those who have no dialects.
        if (!(await hasAbove(document.uri.fsPath, SETTINGS))) return;
        const beginning = document.getText(new Range(0, 0, MOST_LINES, 0)).slice(0, MOST_LETTERS);
        const kind = await this.#server.ask<string>(RECOGNISE, { uri, beginning });
        if (typeof kind !== "string" || document.isClosed) return;
        this.#changed.add(uri);
        await languages.setTextDocumentLanguage(document, "trunnion");
    }

    dispose(): void {
        this.#watching.dispose();
    }
}

/** Whether a folder of this file or one above has a file of that name. */
async function hasAbove(file: string, name: string): Promise<boolean> {
    for (let folder = path.dirname(file); ; folder = path.dirname(folder)) {
        try {
            await access(path.join(folder, name));
            return true;
        } catch {
            if (path.dirname(folder) === folder) return false;
        }
    }
}
