// A workbench of VS Code under test: code-server with nothing but Trunnion's extension in it, and a page of a real Chromium
// that shows it. Everything is done by mouse and keys, as a user does it; the disk tells what came of it.

import { execFileSync, spawn, spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, symlinkSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import path from "node:path";
import { setTimeout as sleep } from "node:timers/promises";

import { startChromium } from "../../chromium.mjs";
import { PATIENCE, Window } from "./window.mjs";

const project = path.resolve(import.meta.dirname, "../../..");
const pictures = path.resolve(process.env.TRUNNION_PICTURES);
/** How many times slower than this one a machine is to be played, to see what a busy one would do. */
const SLOWNESS = Number(process.env.SLOWNESS ?? 1);

const QUIET = {
    "workbench.startupEditor": "none",
    "workbench.tips.enabled": false,
    "workbench.editor.useModal": "off",
    "workbench.secondarySideBar.defaultVisibility": "hidden",
    "editor.minimap.enabled": false,
    "telemetry.telemetryLevel": "off",
    "extensions.autoUpdate": "off",
    "extensions.autoCheckUpdates": false,
    "extensions.ignoreRecommendations": true,
    "update.mode": "none",
    "git.enabled": false,
    "chat.disableAIFeatures": true,
    "files.simpleDialog.enable": true,
    "files.hotExit": "off",
    "files.autoSave": "off",
    "editor.hover.delay": 200,
    "security.workspace.trust.enabled": false,
};

export class Workbench {
    /** A folder of this test's own. */
    folder = mkdtempSync(path.join(tmpdir(), "trunnion-vscode-"));
    #server;
    #browser;
    #port;

    static async start() {
        const workbench = new Workbench();
        await workbench.#install();
        await workbench.#serve();
        workbench.#browser = await startChromium();
        mkdirSync(pictures, { recursive: true });
        return workbench;
    }

    get #environment() {
        const home = path.join(this.folder, "home");
        return {
            PATH: "/usr/local/bin:/usr/bin:/bin",
            HOME: home,
            SHELL: "/bin/bash",
            XDG_CONFIG_HOME: path.join(home, "config"),
            XDG_DATA_HOME: path.join(home, "data"),
            XDG_CACHE_HOME: path.join(home, "cache"),
            // Its sockets.
            TMPDIR: path.join(this.folder, "tmp"),
            LANG: "C.UTF-8",
        };
    }

    get #arguments() {
        const places = ["--user-data-dir", path.join(this.folder, "user"), "--extensions-dir", path.join(this.folder, "extensions")];
        return [process.env.CODE_SERVER, "--config", path.join(this.folder, "config.yaml"), ...places];
    }

    async #install() {
        // The workbench takes the environment of its programs from a login shell.
        const bin = path.join(this.folder, "bin");
        for (const name of ["bin", "home", "tmp"]) mkdirSync(path.join(this.folder, name));
        writeFileSync(path.join(this.folder, "home/.profile"), `PATH="${bin}:$PATH"\n`);
        symlinkSync(path.resolve(process.env.TRUNNION_BIN), path.join(bin, "trunnion"));
        this.#port = await freePort();
        writeFileSync(path.join(this.folder, "config.yaml"), `bind-addr: 127.0.0.1:${this.#port}\nauth: none\n`);
        this.settings({});
        const install = [...this.#arguments, "--install-extension", process.env.TRUNNION_VSIX];
        console.log(String(execFileSync(process.env.NODE_24, install, { env: this.#environment, stdio: ["ignore", "pipe", "ignore"] })).trim());
    }

    async #serve() {
        this.#server = spawn(process.env.NODE_24, [...this.#arguments, "--disable-telemetry", "--disable-update-check"], {
            env: this.#environment,
            stdio: ["ignore", "pipe", "pipe"],
            // All that it starts ends with it.
            detached: true,
        });
        await new Promise((resolve, reject) => {
            const seen = [];
            const look = (data) => {
                seen.push(String(data));
                if (seen.join("").includes("HTTP server listening")) resolve();
            };
            this.#server.stdout.on("data", look);
            this.#server.stderr.on("data", look);
            this.#server.once("exit", (code) => reject(new Error(`code-server ended with ${code}: ${seen.join("")}`)));
        });
    }

    /** The user's settings for windows that are opened from now on. */
    settings(changed) {
        const folder = path.join(this.folder, "user/User");
        mkdirSync(folder, { recursive: true });
        writeFileSync(path.join(folder, "settings.json"), JSON.stringify({ ...QUIET, ...changed }, null, 4));
    }

    /** How many kilobytes the extension takes. */
    get installed() {
        const files = readdirSync(path.join(this.folder, "extensions"), { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
        return Math.ceil(files.reduce((sum, file) => sum + statSync(path.join(file.parentPath, file.name)).size, 0) / 1024);
    }

    /** A copy of a mod of the corpus. */
    copy(mod, name) {
        const folder = path.join(this.folder, name);
        cpSync(path.join(project, "corpus", mod), folder, { recursive: true });
        return folder;
    }

    /** A window with a folder. */
    async window(folder) {
        const page = await this.#browser.newPage({ viewport: { width: 1360, height: 860 } });
        if (SLOWNESS > 1) await (await page.context().newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate: SLOWNESS });
        const window = new Window(page, pictures);
        await page.goto(`http://127.0.0.1:${this.#port}/?folder=${encodeURIComponent(folder)}`, { waitUntil: "domcontentloaded" });
        await page.waitForSelector(".monaco-workbench .part.statusbar", { timeout: 2 * PATIENCE });
        return window;
    }

    /** Keeps pictures of all windows and closes them: nobody knows what they would do next. */
    async failed(name) {
        const pages = this.#browser?.contexts().flatMap((context) => context.pages()) ?? [];
        const file = (at) => path.join(pictures, `failed: ${name.slice(0, 40)} ${at}.png`);
        await Promise.all(pages.map((page, at) => page.screenshot({ path: file(at) }).catch(() => {})));
        await Promise.all(pages.map((page) => page.close().catch(() => {})));
    }

    /** Ends all language servers as a fault of theirs would. */
    crash() {
        const found = spawnSync("pgrep", ["-g", String(this.#server.pid), "-x", "trunnion"], { encoding: "utf8" });
        for (const pid of found.stdout.split("\n").filter(Boolean)) process.kill(Number(pid), "SIGKILL");
    }

    async stop() {
        await this.#browser?.close();
        // Whatever still ran would write into the folder that is removed.
        if (this.#server?.exitCode === null) {
            const ended = new Promise((resolve) => this.#server.once("exit", resolve));
            this.#tell("SIGTERM");
            await Promise.race([ended, sleep(10_000)]);
        }
        this.#tell("SIGKILL");
        rmSync(this.folder, { recursive: true, force: true, maxRetries: 5 });
    }

    /** Sends a signal to the server and to all that it has started. */
    #tell(signal) {
        try {
            process.kill(-this.#server.pid, signal);
        } catch {
            // There is nobody any more.
        }
    }
}

async function freePort() {
    const server = createServer();
    await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
    const { port } = server.address();
    await new Promise((resolve) => server.close(resolve));
    return port;
}
