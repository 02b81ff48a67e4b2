// One editor for each file that was opened; one of them is in sight.

import { EditorState } from "@codemirror/state";
import { EditorView, keymap } from "@codemirror/view";
import { HighlightStyle, syntaxHighlighting } from "@codemirror/language";
import { xml } from "@codemirror/lang-xml";
import { tags } from "@lezer/highlight";
import { LSPPlugin, Workspace } from "@codemirror/lsp-client";
import { basicSetup } from "codemirror";

import * as mod from "./mod.js";

const nonce = document.querySelector("meta[name=nonce]").content;

/** What an editor knows of XML by itself; the words have their colours from the server. */
const plain = HighlightStyle.define([
    { tag: tags.comment, color: "var(--soft)", fontStyle: "italic" },
    { tag: [tags.angleBracket, tags.definitionOperator, tags.processingInstruction], color: "var(--soft)" },
]);

/** The language client's files: those that are open here. */
export class Editors extends Workspace {
    files = [];

    /** `extensions`: for each editor, by its file. `shown` is called with what comes into sight, `absent` with what should and is not here. */
    static of(files, extensions, shown, absent) {
        return (client) => Object.assign(new Editors(client), { known: files, extensions, shown, absent, opening: new Map() });
    }

    syncFiles() {
        const updates = [];
        for (const file of this.files) {
            const plugin = LSPPlugin.get(file.view);
            if (!plugin || plugin.unsyncedChanges.empty) continue;
            updates.push({ changes: plugin.unsyncedChanges, file, prevDoc: file.doc });
            file.doc = file.view.state.doc;
            file.version += 1;
            plugin.clear();
        }
        return updates;
    }

    openFile(uri, languageId, view) {
        const file = { uri, languageId, version: 0, doc: view.state.doc, view, getView: () => view };
        this.files.push(file);
        this.client.didOpen(file);
    }

    closeFile(uri) {
        this.files = this.files.filter((file) => file.uri !== uri);
        this.client.didClose(uri);
    }

    /** The editor of a file, opened if it is not; null for one that is not in the mod. */
    editor(uri) {
        const entry = this.known.find((file) => file.uri === uri);
        if (!entry) return null;
        if (!this.opening.has(uri)) this.opening.set(uri, this.make(entry));
        return this.opening.get(uri);
    }

    async make(entry) {
        const text = await mod.read(entry.path);
        const parent = document.createElement("div");
        parent.hidden = true;
        document.getElementById("editors").append(parent);
        const break_ = /\r\n?|\n/.exec(text)?.[0] ?? "\n";
        const view = new EditorView({
            parent,
            state: EditorState.create({
                doc: text,
                extensions: [
                    keymap.of(this.keys ?? []),
                    basicSetup,
                    xml(),
                    syntaxHighlighting(plain),
                    EditorState.lineSeparator.of(break_),
                    EditorView.cspNonce.of(nonce),
                    EditorView.contentAttributes.of({ "aria-label": entry.path }),
                    this.extensions(entry),
                    this.client.plugin(entry.uri, "xml"),
                ],
            }),
        });
        Object.assign(entry, { view, parent, saved: text });
        return view;
    }

    /** The text as it is to be saved, line breaks as they came. */
    text(entry) {
        return entry.view.state.sliceDoc();
    }

    isChanged(entry) {
        return Boolean(entry.view) && this.text(entry) !== entry.saved;
    }

    async save(entry) {
        const text = this.text(entry);
        await mod.write(entry.path, entry.saved, text);
        entry.saved = text;
        this.client.sync();
        this.client.notification("textDocument/didSave", { textDocument: { uri: entry.uri } });
    }

    async displayFile(uri) {
        const view = await this.editor(uri);
        if (!view) {
            this.absent(uri);
            return null;
        }
        for (const entry of this.known) if (entry.parent) entry.parent.hidden = entry.uri !== uri;
        this.current = this.known.find((file) => file.uri === uri);
        this.shown(this.current);
        view.requestMeasure();
        return view;
    }
}
