// A real Chromium without a screen, for the tests that work pages by mouse and keys.
//
// Environment: CHROMIUM, TRUNNION_NPM (where playwright-core is installed).

import { createRequire } from "node:module";
import path from "node:path";

const { chromium } = createRequire(path.join(process.env.TRUNNION_NPM, "package.json"))("playwright-core");

export function startChromium() {
    return chromium.launch({
        executablePath: process.env.CHROMIUM,
        args: ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
            "--enable-unsafe-swiftshader"],
    });
}
