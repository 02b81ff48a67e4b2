// What the editor calls: puts the parts together.

import { ConfigurationTarget, ExtensionContext, Uri, commands, tasks, window, workspace } from "vscode";
import { Checks } from "./checks";
import { openDemo } from "./demo";
import { PREVIEW, Previews } from "./previews";
import { Recognition } from "./recognition";
import { Server } from "./server";

/** The kinds of assists that move parts into animations and controls of their own. */
const ADJUST = "refactor.extract";

let server: Server | undefined;

export function activate(context: ExtensionContext): void {
    const log = window.createOutputChannel("Trunnion", { log: true });
    const previews = new Previews();
    const started = (server = new Server(context, log, previews));
    const actions: Record<string, () => unknown> = {
        "trunnion.openPreview": () => runOnDocument(started, PREVIEW),
        "trunnion.packMod": () => runOnDocument(started, "trunnion.pack"),
        "trunnion.showChanges": () => runOnDocument(started, "trunnion.changes"),
        "trunnion.makeAdjustable": () => commands.executeCommand("editor.action.codeAction", { kind: ADJUST }),
        "trunnion.openDemo": () => openDemo(context),
        "trunnion.chooseProgram": chooseProgram,
        "trunnion.restartServer": () => started.restart(),
        "trunnion.showLog": () => log.show(true),
    };
    for (const [command, action] of Object.entries(actions)) {
        context.subscriptions.push(commands.registerCommand(command, action));
    }
    context.subscriptions.push(
        log,
        previews,
        tasks.registerTaskProvider("trunnion", new Checks(context)),
        new Recognition(started),
        workspace.onDidChangeConfiguration((change) => {
            if (change.affectsConfiguration("trunnion.server.path")) void started.startAgain();
        }),
        workspace.onDidGrantWorkspaceTrust(() => void started.startAgain()),
    );
}

export async function deactivate(): Promise<void> {
    await server?.dispose();
}

/** Runs a command of the server on the definition that is being edited. */
async function runOnDocument(server: Server, command: string): Promise<void> {
    const document = window.activeTextEditor?.document;
    if (document?.languageId === "trunnion") await server.run(command, { uri: document.uri.toString() });
    else void window.showInformationMessage("Trunnion: open a machine definition first.");
}

async function chooseProgram(): Promise<void> {
    const chosen: Uri[] | undefined = await window.showOpenDialog({ title: "Where is the program trunnion?", openLabel: "Use This Program" });
    const program = chosen?.[0]?.fsPath;
    if (program === undefined) return;
    await workspace.getConfiguration("trunnion").update("server.path", program, ConfigurationTarget.Global);
}
