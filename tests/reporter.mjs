// Tells of tests for a log of which perhaps only the end is seen: what they print, a line for each of them, and at the end what
// failed and why. For `node --test --test-reporter`.

import { stripVTControlCharacters } from "node:util";

/** Lines of an error, in which places in the runtime and in what is installed say nothing. */
function told(error) {
    const cause = error.cause ?? error;
    const text = stripVTControlCharacters(String(cause.stack ?? cause.message ?? cause));
    return text.split("\n").filter((line) => line.trim() && !/node:internal|node_modules/.test(line));
}

/** The error's first lines, and where in the test it was. */
function inShort(error) {
    const lines = told(error);
    const isPlace = (line) => /^\s*(at )?.*\.mjs:\d+:\d+\)?$/.test(line);
    return [...lines.filter((line) => !isPlace(line)).slice(0, 4), ...lines.filter(isPlace).slice(0, 3)];
}

const indented = (lines) => lines.map((line) => `    ${line.trim()}\n`).join("");

export default async function* report(events) {
    const failed = [];
    let passed = 0;
    for await (const { type, data } of events) {
        if (type === "test:stdout" || type === "test:stderr") yield data.message;
        if (type === "test:diagnostic" && data.level === "error") yield `${data.message}\n`;
        if (type !== "test:pass" && type !== "test:fail") continue;
        const seconds = (data.details.duration_ms / 1000).toFixed(1);
        if (type === "test:fail") {
            failed.push(data);
            yield `FAILED after ${seconds} s: ${data.name}\n${indented(told(data.details.error))}`;
        } else if (data.skip === undefined) {
            passed += 1;
            yield `passed in ${seconds} s: ${data.name}\n`;
        }
    }
    for (const { name, details } of failed) yield `\nFAILED: ${name}\n${indented(inShort(details.error))}`;
    yield `${passed} passed, ${failed.length} failed\n`;
}
