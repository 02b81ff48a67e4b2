// The preview in panels: the server's page on this computer, framed, one panel for each definition.

import { randomBytes } from "node:crypto";
import path from "node:path";
import { Disposable, UIKind, Uri, ViewColumn, WebviewPanel, env, window, workspace } from "vscode";

/** The server's command that answers with a page's address. */
export const PREVIEW = "trunnion.preview";

export class Previews implements Disposable {
    readonly #panels = new Map<string, WebviewPanel>();
    /** So that the same animation can be asked for twice. */
    #asked = 0;

    /** Whether previews are to be shown here, and not in the browser. */
    get areHere(): boolean {
        return workspace.getConfiguration("trunnion").get("preview.where") !== "browser";
    }

    /** Shows a page that the server gave an address of. A fragment of the address says what to play. */
    async show(document: Uri, address: string): Promise<void> {
        const page = await reachable(Uri.parse(address, true));
        const key = document.toString();
        const known = this.#panels.get(key);
        if (known !== undefined) known.reveal(undefined, true);
        const panel = known ?? this.#open(key, document);
        const fragment = new URLSearchParams(page.fragment);
        fragment.set("time", String((this.#asked += 1)));
        const asked = page.with({ fragment: fragment.toString() }).toString(true);
        const origin = `${page.scheme}://${page.authority}`;
        const shown = pages.get(panel);
        if (shown?.startsWith(page.with({ fragment: "" }).toString(true))) await panel.webview.postMessage(asked);
        else panel.webview.html = frame(asked, origin, panel.title);
        pages.set(panel, asked);
    }

    /** The definitions that are shown. */
    get documents(): Uri[] {
        return [...this.#panels.keys()].map((key) => Uri.parse(key, true));
    }

    #open(key: string, document: Uri): WebviewPanel {
        const name = path.basename(document.path);
        const place = { viewColumn: ViewColumn.Beside, preserveFocus: true };
        const settings = { enableScripts: true, retainContextWhenHidden: true, localResourceRoots: [] };
        const panel = window.createWebviewPanel("trunnion.preview", `Preview of ${name}`, place, settings);
        this.#panels.set(key, panel);
        panel.onDidDispose(() => this.#panels.delete(key));
        return panel;
    }

    dispose(): void {
        for (const panel of this.#panels.values()) panel.dispose();
    }
}

/** What each panel shows. */
const pages = new WeakMap<WebviewPanel, string>();

/**
 * The address under which the page is reached from where its reader sits. A workbench in a browser would give the address of
 * its own proxy, under which the server does not answer; there the reader has to sit at the same computer.
 */
async function reachable(address: Uri): Promise<Uri> {
    if (env.uiKind === UIKind.Web) return address;
    const reached = await env.asExternalUri(address.with({ fragment: "" }));
    return reached.with({ fragment: address.fragment });
}

function frame(address: string, origin: string, title: string): string {
    const nonce = randomBytes(16).toString("hex");
    const policy = `default-src 'none'; frame-src ${origin}; script-src 'nonce-${nonce}'; style-src 'nonce-${nonce}'`;
    return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>${escaped(title)}</title>
<style nonce="${nonce}">
html, body { height: 100%; margin: 0; padding: 0; }
iframe { width: 100%; height: 100%; border: 0; display: block; }
body.vscode-dark iframe, body.vscode-high-contrast:not(.vscode-high-contrast-light) iframe { color-scheme: dark; }
body.vscode-light iframe, body.vscode-high-contrast-light iframe { color-scheme: light; }
</style>
</head>
<body>
<iframe title="${escaped(title)}" src="${escaped(address)}" sandbox="allow-scripts allow-same-origin" referrerpolicy="no-referrer"></iframe>
<script nonce="${nonce}">
addEventListener("message", ({ data }) => { document.querySelector("iframe").src = data; });
</script>
</body>
</html>`;
}

function escaped(text: string): string {
    return text.replace(/[&<>"]/g, (letter) => `&#${letter.charCodeAt(0)};`);
}
