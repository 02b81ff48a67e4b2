// The table of editors and features in editor-clients/README.md, made of what the tests of the editors have printed: lines
// `FEATURE name`, and `UNTRIED name` for what could not be tested here. Run as: node tests/editors/table.mjs FOLDER_OF_LOGS [--write]
//
// Lines `TIME …` and `SIZE …` are said once more, together.
//
// An editor whose tests did not run, or did not pass, keeps its column. Without --write, a table that says something else fails.

import { existsSync, readFileSync, writeFileSync } from "node:fs";
import path from "node:path";

const file = path.join(import.meta.dirname, "../../editor-clients/README.md");
const [START, END] = ["<!-- The table is made by tests/editors/table.mjs. -->\n", "<!-- end of the table -->\n"];

const features = {
    findings: "findings while you type",
    hover: "hover",
    definition: "to where a name is given, and into the scene",
    references: "all places of a name",
    completion: "completion",
    attributes: "attributes of the tag being written",
    assists: "assists and quick fixes",
    rename: "renaming",
    outline: "outline",
    colours: "colours of words",
    hints: "numbers beside what is written",
    lenses: "lenses above names",
    preview: "live preview",
};

// `cannot`: what the editor, or its client in this version, has no place for.
const editors = [
    { name: "VS Code", log: "80-vscode", cannot: [] },
    { name: "Neovim 0.11", log: "60-neovim", cannot: [] },
    { name: "Neovim 0.7", log: "63-neovim-old", cannot: ["colours", "hints"] },
    { name: "Emacs 28, eglot", log: "61-emacs", cannot: ["colours", "hints", "lenses"] },
    { name: "Vim, ALE", log: "62-vim", cannot: ["attributes", "outline", "colours", "hints", "lenses", "preview"] },
    { name: "Kate", log: "64-kate", cannot: ["attributes", "hints", "lenses", "preview"] },
    { name: "Kakoune", log: "65-kakoune", cannot: [] },
    { name: "`trunnion try`", log: "72-try", cannot: ["outline"] },
];

/** The cells of the table as it is, by editor and feature. */
function known(text) {
    const rows = text.split("\n").filter((line) => line.startsWith("|"));
    const cells = rows.map((row) => row.split("|").slice(1, -1).map((cell) => cell.trim()));
    const [head, , ...body] = cells;
    const found = {};
    for (const [at, name] of (head ?? []).entries()) {
        found[name] = Object.fromEntries(body.map((row) => [row[0], row[at]]));
    }
    return found;
}

/** The features that an editor's tests have shown, and those that they had to leave out; nothing if they did not run to a good end. */
function told({ name, log }, logs) {
    const [printed, status] = [path.join(logs, `${log}.log`), path.join(logs, `${log}.status`)];
    const outcome = existsSync(status) ? readFileSync(status, "utf8").trim() : "";
    if (outcome !== "0") {
        const why = { "": "its tests did not run", 77: "its tests were left out" }[outcome] ?? "its tests failed";
        console.log(`${name}: ${why}, so its column stays as it is.`);
        return undefined;
    }
    const text = readFileSync(printed, "utf8");
    const after = (word) => [...text.matchAll(new RegExp(`${word} ([a-z]+)`, "g"))].map((match) => match[1]);
    const [shown, leftOut] = [after("FEATURE"), after("UNTRIED")];
    const strange = [...shown, ...leftOut].find((feature) => !(feature in features));
    if (strange) throw new Error(`${printed} tells of a feature that the table does not have: ${strange}`);
    const figures = [...text.matchAll(/\b(?:TIME|SIZE) (.+)/g)].map((match) => match[1]);
    if (figures.length > 0) console.log(`${name}: ${figures.join("; ")}`);
    return { shown, leftOut };
}

function column(editor, logs, before) {
    const found = told(editor, logs);
    return Object.entries(features).map(([feature, row]) => {
        if (found?.shown.includes(feature)) return "tested";
        if (editor.cannot.includes(feature)) return "–";
        const asBefore = !found || found.leftOut.includes(feature);
        return (asBefore && before[editor.name]?.[row]) || "untested";
    });
}

const [logs, write] = process.argv.slice(2);
const readme = readFileSync(file, "utf8");
const start = readme.indexOf(START) + START.length;
const end = readme.indexOf(END);
if (start < START.length || end < start) throw new Error(`${file} has no place for the table`);
const now = readme.slice(start, end);
const columns = editors.map((editor) => column(editor, logs, known(now)));
const rows = Object.values(features).map((row, at) => [row, ...columns.map((cells) => cells[at])]);
const line = (cells) => `| ${cells.join(" | ")} |\n`;
const head = ["", ...editors.map((editor) => editor.name)];
const table = [line(head), line(head.map(() => "---")), ...rows.map(line)].join("");
if (table === now) {
    console.log("The table of editors says what was tested.");
} else if (write === "--write") {
    writeFileSync(file, readme.slice(0, start) + table + readme.slice(end));
} else {
    console.error(`The table in editor-clients/README.md says something else than the tests. Run: node tests/editors/table.mjs tests/.cache/logs --write\n${table}`);
    process.exit(1);
}
