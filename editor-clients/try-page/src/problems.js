// What is wrong with the files that are open, as the server last told.

const list = document.getElementById("problems");
const words = { 1: "error", 2: "warning", 3: "info", 4: "hint" };
const told = new Map();

export function tell({ uri, diagnostics }) {
    told.set(uri, diagnostics);
}

/** Those of a file that touch a range. */
export function at(uri, { start, end }) {
    const before = (one, other) => one.line < other.line || (one.line === other.line && one.character <= other.character);
    return (told.get(uri) ?? []).filter(({ range }) => before(range.start, end) && before(start, range.end));
}

/** Shows those of a file; `go` leads to one. */
export function show(uri, go) {
    const found = told.get(uri) ?? [];
    list.replaceChildren(
        ...found.map((one) => {
            const button = document.createElement("button");
            const severity = words[one.severity] ?? "error";
            button.type = "button";
            button.className = severity;
            button.textContent = `${severity}, line ${one.range.start.line + 1}: ${one.message} [${one.code}]`;
            button.onclick = () => go(one.range.start);
            const line = document.createElement("li");
            line.append(button);
            return line;
        }),
    );
    if (found.length === 0) list.append(Object.assign(document.createElement("li"), { textContent: "None." }));
}
