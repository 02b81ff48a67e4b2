// Changes that the server makes, in the files that they are for.

import { LSPPlugin } from "@codemirror/lsp-client";

/** Makes the changes in open files; `open` opens one and gives its view. */
export async function apply(edit, open) {
    const files = await Promise.all(Object.entries(edit.changes ?? {}).map(async ([uri, edits]) => [await open(uri), edits]));
    if (files.some(([view]) => !view)) throw new Error("The change is in a file that this page does not have.");
    for (const [view, edits] of files) {
        const plugin = LSPPlugin.get(view);
        view.dispatch({
            changes: edits.map(({ range, newText }) => ({
                from: plugin.fromPosition(range.start),
                to: plugin.fromPosition(range.end),
                insert: newText,
            })),
            userEvent: "input.server",
        });
    }
    return files.length;
}
