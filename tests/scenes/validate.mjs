// Asks Khronos's glTF validator about each scene file given. Exits with 1 if it calls any of them wrong.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename } from "node:path";

const validator = createRequire(process.env.TRUNNION_TEST_CACHE + "/npm/")("gltf-validator");

let wrong = 0;
for (const file of process.argv.slice(2)) {
  const report = await validator.validateBytes(new Uint8Array(readFileSync(file)), { uri: basename(file) });
  const { numErrors, numWarnings, messages } = report.issues;
  // Severity 0 is an error, 1 a warning; the rest informs.
  for (const { severity, code, message, pointer } of messages.filter((issue) => issue.severity <= 1)) {
    console.log(`${file}: ${severity === 0 ? "error" : "warning"} ${code} at ${pointer}: ${message}`);
  }
  wrong += numErrors + numWarnings;
}
console.log(`${process.argv.length - 2} scenes validated, ${wrong} errors and warnings`);
process.exit(wrong === 0 && process.argv.length > 2 ? 0 : 1);
