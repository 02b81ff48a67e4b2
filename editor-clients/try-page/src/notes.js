// What the server has to say about a text, drawn into it: colours of words, hints between them, lenses above lines.

import { StateEffect, StateField } from "@codemirror/state";
import { Decoration, EditorView, ViewPlugin, WidgetType } from "@codemirror/view";
import { LSPPlugin } from "@codemirror/lsp-client";

/** So long after the last key the notes are asked for again. */
const PAUSE = 120;

class Hint extends WidgetType {
    constructor(label) {
        super();
        this.label = label;
    }
    eq(other) {
        return other.label === this.label;
    }
    toDOM() {
        const hint = document.createElement("span");
        hint.className = "hint";
        hint.textContent = this.label;
        return hint;
    }
}

class Lenses extends WidgetType {
    constructor(commands, run) {
        super();
        Object.assign(this, { commands, run, key: JSON.stringify(commands) });
    }
    eq(other) {
        return other.key === this.key;
    }
    toDOM() {
        const line = document.createElement("div");
        line.className = "lenses";
        for (const command of this.commands) {
            const button = document.createElement("button");
            button.type = "button";
            button.textContent = command.title;
            button.onclick = () => this.run(command);
            line.append(button);
        }
        return line;
    }
    ignoreEvent() {
        return true;
    }
}

const set = StateEffect.define();

const field = StateField.define({
    create: () => Decoration.none,
    update(notes, transaction) {
        const news = transaction.effects.find((effect) => effect.is(set));
        return news ? news.value : notes.map(transaction.changes);
    },
    provide: (field) => EditorView.decorations.from(field),
});

/** Places are relative to the word before (LSP 3.17, "Semantic Tokens"). */
function words({ data }, legend, doc) {
    const marks = [];
    let line = 0;
    let start = 0;
    for (let at = 0; at + 4 < data.length; at += 5) {
        start = data[at] === 0 ? start + data[at + 1] : data[at + 1];
        line += data[at];
        if (line >= doc.lines) break;
        const from = doc.line(line + 1).from + start;
        const to = Math.min(from + data[at + 2], doc.length);
        const modifiers = legend.tokenModifiers.filter((_, bit) => (data[at + 4] >> bit) & 1);
        const names = [legend.tokenTypes[data[at + 3]], ...modifiers].map((name) => `word-${name}`);
        if (from < to) marks.push(Decoration.mark({ class: names.join(" ") }).range(from, to));
    }
    return marks;
}

function hints(told, plugin, doc) {
    return told.map((hint) => {
        const label = typeof hint.label === "string" ? hint.label : hint.label.map((part) => part.value).join("");
        return Decoration.widget({ widget: new Hint(label), side: 1 }).range(plugin.fromPosition(hint.position, doc));
    });
}

function lenses(told, doc, run) {
    const lines = new Map();
    for (const { range, command } of told) {
        if (command && range.start.line < doc.lines) {
            lines.set(range.start.line, [...(lines.get(range.start.line) ?? []), command]);
        }
    }
    return [...lines].map(([line, commands]) =>
        Decoration.widget({ widget: new Lenses(commands, run), block: true, side: -1 }).range(doc.line(line + 1).from),
    );
}

class Asker {
    constructor(view, run) {
        Object.assign(this, { view, run });
        this.later(0);
    }
    update(update) {
        if (update.docChanged) this.later(PAUSE);
    }
    destroy() {
        clearTimeout(this.timer);
    }
    later(pause) {
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.ask(), pause);
    }
    async ask() {
        const plugin = LSPPlugin.get(this.view);
        const client = plugin?.client;
        if (!client) return;
        await client.initializing;
        client.sync();
        const doc = this.view.state.doc;
        const textDocument = { uri: plugin.uri };
        const end = { line: doc.lines - 1, character: doc.line(doc.lines).length };
        const range = { start: { line: 0, character: 0 }, end };
        const nothing = () => null;
        const [colours, told, above] = await Promise.all([
            client.request("textDocument/semanticTokens/full", { textDocument }).catch(nothing),
            client.request("textDocument/inlayHint", { textDocument, range }).catch(nothing),
            client.request("textDocument/codeLens", { textDocument }).catch(nothing),
        ]);
        // What was told of another text than the one that is there now is asked for again after the last key.
        if (this.view.state.doc !== doc) return;
        const legend = client.serverCapabilities.semanticTokensProvider?.legend;
        const notes = [
            ...(colours && legend ? words(colours, legend, doc) : []),
            ...hints(told ?? [], plugin, doc),
            ...lenses(above ?? [], doc, this.run),
        ];
        this.view.dispatch({ effects: set.of(Decoration.set(notes, true)) });
    }
}

/** `run` carries out the command of a lens. */
export function notes(run) {
    const asker = ViewPlugin.define((view) => new Asker(view, run));
    return { extension: [field, asker], renew: (view) => view.plugin(asker)?.later(0) };
}
