// Makes one file of the extension and the libraries that it uses, and another of what these want to be said about them.

import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { build } from "esbuild";

const { metafile } = await build({
    entryPoints: ["src/extension.ts"],
    outfile: "dist/extension.js",
    bundle: true,
    minify: true,
    platform: "node",
    target: "node20",
    external: ["vscode"],
    legalComments: "none",
    metafile: true,
    logLevel: "warning",
});

const folders = Object.keys(metafile.inputs).flatMap((file) => file.match(/^.*node_modules\/(?:@[^/]+\/)?[^/]+/) ?? []);
const notices = [...new Set(folders)].sort().map((folder) => {
    const { name, version, license } = JSON.parse(readFileSync(`${folder}/package.json`, "utf8"));
    const file = readdirSync(folder).find((file) => /^licen[cs]e/i.test(file));
    if (file === undefined || !existsSync(`${folder}/${file}`)) throw new Error(`${name} comes without its licence`);
    return `${name} ${version} (${license})\n\n${readFileSync(`${folder}/${file}`, "utf8").trim()}\n`;
});
writeFileSync("dist/licences-of-libraries.txt", notices.join(`\n${"-".repeat(80)}\n\n`));
