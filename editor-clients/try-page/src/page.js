// The page of `trunnion try`: an editor, the language server behind it, and the preview.

import { EditorView } from "@codemirror/view";
import { LSPClient, LSPPlugin, findReferences, jumpToDefinition, languageServerExtensions } from "@codemirror/lsp-client";

import { abilities } from "./abilities.js";
import { choose } from "./choice.js";
import { apply } from "./edits.js";
import { Editors } from "./editors.js";
import * as mod from "./mod.js";
import { notes } from "./notes.js";
import * as problems from "./problems.js";
import { connect } from "./wire.js";

const byId = (id) => document.getElementById(id);
const say = (text) => (byId("state").textContent = text);
const failed = (error) => say(error.message ?? String(error));

/** So soon after the last key the server knows the text. */
const PAUSE = 40;

let client, editors, previewed;
const written = notes(run);

async function run(command) {
    client.sync();
    const { command: name, arguments: args } = command;
    await client.request("workspace/executeCommand", { command: name, arguments: args }).catch(failed);
}

/** The preview follows what is typed by itself; here it only gets another machine. */
async function preview(entry) {
    previewed = entry.uri;
    const asked = { command: "trunnion.preview", arguments: [{ uri: entry.uri }] };
    await client.request("workspace/executeCommand", asked).catch((error) => {
        byId("preview").hidden = true;
        byId("unseen").textContent = error.message;
    });
}

/** A place that the server wants to be seen: the preview's page, or a file of the mod. */
async function showDocument({ uri, selection }) {
    if (uri.startsWith("http://127.0.0.1:")) {
        const frame = byId("preview");
        if (frame.src !== uri) frame.src = uri;
        frame.hidden = false;
        return { success: true };
    }
    const view = await editors.displayFile(uri);
    if (view && selection) goTo(view, selection.start);
    return { success: Boolean(view) };
}

function goTo(view, position) {
    const at = LSPPlugin.get(view).fromPosition(position);
    view.dispatch({ selection: { anchor: at }, effects: EditorView.scrollIntoView(at, { y: "center" }) });
    view.focus();
}

async function showMessageRequest({ message, actions }) {
    if (!actions?.length) return say(message);
    return await choose(message, actions);
}

async function applyEdit({ edit }) {
    try {
        await apply(edit, (uri) => editors.editor(uri));
        return { applied: true };
    } catch (error) {
        return { applied: false, failureReason: error.message };
    }
}

const renewAll = () => editors?.files.forEach(({ view }) => written.renew(view));

async function act(view) {
    const plugin = LSPPlugin.get(view);
    client.sync();
    const { from, to } = view.state.selection.main;
    const range = { start: plugin.toPosition(from), end: plugin.toPosition(to) };
    const textDocument = { uri: plugin.uri };
    const context = { diagnostics: problems.at(plugin.uri, range) };
    try {
        const found = (await client.request("textDocument/codeAction", { textDocument, range, context })) ?? [];
        if (found.length === 0) return say("Nothing is offered here. Put the cursor into a channel, an alias or a problem.");
        const items = found.map((action) => ({
            title: action.title,
            detail: action.disabled?.reason,
            disabled: action.disabled,
            action,
        }));
        const chosen = (await choose("What can be done here", items))?.action;
        if (!chosen) return view.focus();
        const whole = chosen.edit || chosen.command ? chosen : await client.request("codeAction/resolve", chosen);
        if (whole.edit) {
            const count = await apply(whole.edit, (uri) => editors.editor(uri));
            say(`${whole.title}: done${count > 1 ? ` in ${count} files` : ""}. Ctrl+Z takes it back.`);
        }
        if (whole.command) await run(whole.command);
        view.focus();
    } catch (error) {
        failed(error);
    }
}

async function save() {
    const entry = editors.current;
    if (!entry) return;
    try {
        await editors.save(entry);
        say(`${entry.path} is saved.`);
    } catch (error) {
        failed(error);
    }
    list();
}

function list() {
    byId("files").replaceChildren(
        ...editors.known.map((entry) => {
            const button = document.createElement("button");
            button.type = "button";
            button.textContent = editors.isChanged(entry) ? `${entry.path} (not saved)` : entry.path;
            button.setAttribute("aria-current", String(entry === editors.current));
            button.onclick = () => editors.displayFile(entry.uri).then((view) => view?.focus(), failed);
            const line = document.createElement("li");
            line.append(button);
            return line;
        }),
    );
}

function shown(entry) {
    list();
    byId("mod").textContent = entry.path;
    document.title = `${entry.path} – Trunnion`;
    problems.show(entry.uri, (at) => goTo(entry.view, at));
    if (previewed !== entry.uri) preview(entry);
}

/** Tells the server of changes sooner than CodeMirror's client does by itself. */
function following() {
    let timer;
    return EditorView.updateListener.of((update) => {
        if (!update.docChanged) return;
        clearTimeout(timer);
        timer = setTimeout(() => {
            client.sync();
            list();
        }, PAUSE);
    });
}

const extensions = () => [written.extension, following()];
const absent = (uri) => say(`${decodeURIComponent(uri.split("/").pop())} is no text that this page shows.`);

function diagnosed(_, params) {
    problems.tell(params);
    const entry = editors.current;
    if (entry?.uri === params.uri) problems.show(params.uri, (at) => goTo(entry.view, at));
    return false; // CodeMirror's client draws them.
}

const told = (_, { message }) => {
    say(message);
    return true;
};

async function begin() {
    const { name, root, files, first } = await mod.about();
    byId("mod").textContent = name;
    client = new LSPClient({
        rootUri: root,
        timeout: 20_000,
        workspace: (of) => (editors = Editors.of(files, extensions, shown, absent)(of)),
        notificationHandlers: { "textDocument/publishDiagnostics": diagnosed, "window/showMessage": told },
        extensions: [...languageServerExtensions(), { clientCapabilities: abilities }],
    });
    editors.keys = [
        { key: "Alt-Enter", run: (view) => (act(view), true) },
        { key: "Mod-.", run: (view) => (act(view), true) },
        { key: "Mod-s", run: () => (save(), true), preventDefault: true },
        { key: "F12", run: jumpToDefinition },
        { key: "Shift-F12", run: findReferences },
    ];
    const wire = await connect(
        {
            "window/showDocument": showDocument,
            "window/showMessageRequest": showMessageRequest,
            "workspace/applyEdit": applyEdit,
            "workspace/inlayHint/refresh": renewAll,
            "workspace/codeLens/refresh": renewAll,
            "workspace/semanticTokens/refresh": renewAll,
        },
        () => say("The server has ended. Start `trunnion try` again; what is not saved is still here."),
    );
    client.connect(wire);
    await client.initializing;
    say("Ready.");
    list();
    if (first !== null) (await editors.displayFile(files[first].uri))?.focus();
}

byId("act").onclick = () => editors?.current && act(editors.current.view);
byId("save").onclick = save;
byId("look").onclick = ({ target }) => {
    const seen = document.body.classList.toggle("blind");
    target.setAttribute("aria-pressed", String(!seen));
};
addEventListener("beforeunload", (event) => editors?.known.some((entry) => editors.isChanged(entry)) && event.preventDefault());
begin().catch(failed);
