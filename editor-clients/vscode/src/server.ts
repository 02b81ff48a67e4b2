// The server: started when there is something for it, restarted when asked, one for the whole window.

import { Disposable, ExtensionContext, LogOutputChannel, Uri, commands, window, workspace } from "vscode";
import { LanguageClient, LanguageClientOptions, Middleware, RevealOutputChannelOn, State } from "vscode-languageclient/node";
import { PREVIEW, Previews } from "./previews";
import { NoProgram, findProgram } from "./program";
import { Status } from "./status";

/** Commands of the server that are in the palette, with the context that says whether it has them. */
const OPTIONAL = { "trunnion.pack": "trunnion.canPack", "trunnion.changes": "trunnion.canShowChanges" };

export class Server implements Disposable {
    readonly #status = new Status();
    readonly #queue = new Queue();
    #client: LanguageClient | undefined;
    /** There was something for it. */
    #isWanted = false;

    constructor(
        readonly context: ExtensionContext,
        readonly log: LogOutputChannel,
        readonly previews: Previews,
    ) {}

    /** Starts it, unless that was done before. Whether it runs. */
    async want(): Promise<boolean> {
        await this.#queue.add(async () => {
            if (this.#isWanted) return;
            this.#isWanted = true;
            await this.#start();
        });
        return this.runs;
    }

    get runs(): boolean {
        return this.#client?.state === State.Running;
    }

    async restart(): Promise<void> {
        await this.#queue.add(async () => {
            this.#isWanted = true;
            await this.#stop();
            await this.#start();
            await this.#showPreviewsAgain();
        });
    }

    /** Starts it again, perhaps another program, if it runs or was to run. */
    async startAgain(): Promise<void> {
        if (this.#isWanted) await this.restart();
    }

    /** Whether the server has a command. */
    has(command: string): boolean {
        return this.#client?.initializeResult?.capabilities.executeCommandProvider?.commands.includes(command) ?? false;
    }

    /** Runs a command of the server; what goes wrong is shown. */
    async run(command: string, argument: unknown): Promise<unknown> {
        if (!(await this.want())) return undefined;
        return commands.executeCommand(command, argument);
    }

    /** Asks the server without telling anybody if it fails. */
    async ask<T>(command: string, argument: unknown): Promise<T | undefined> {
        if (!(await this.want()) || !this.has(command)) return undefined;
        try {
            return await this.#client?.sendRequest<T>("workspace/executeCommand", { command, arguments: [argument] });
        } catch (error) {
            this.log.warn(`${command}: ${String(error)}`);
            return undefined;
        }
    }

    async #start(): Promise<void> {
        this.#status.state = { is: "starting" };
        try {
            const program = await findProgram(this.context);
            this.log.info(`Starting ${program} serve`);
            const client = new LanguageClient("trunnion", "Trunnion", { command: program, args: ["serve"] }, this.#options());
            this.#client = client;
            let hasRun = false;
            client.onDidChangeState(({ newState }) => {
                if (this.#client !== client) return;
                if (newState === State.Starting) this.#status.state = { is: "starting" };
                if (newState === State.Stopped) this.#stopped("It has ended; the log says more.");
                if (newState !== State.Running) return;
                this.#ready(client, program);
                // After a crash the client starts it again by itself.
                if (hasRun) void this.#showPreviewsAgain();
                hasRun = true;
            });
            await client.start();
        } catch (error) {
            this.#client = undefined;
            const why = error instanceof Error ? error.message : String(error);
            this.log.error(why);
            this.#stopped(why);
            void this.#tell(error instanceof NoProgram ? why : `The server could not be started: ${why}`);
        }
    }

    async #stop(): Promise<void> {
        const client = this.#client;
        this.#client = undefined;
        if (client === undefined) return;
        try {
            await client.dispose();
        } catch (error) {
            // It had ended, or did not in time; either way it is gone.
            this.log.warn(String(error));
        }
    }

    #ready(client: LanguageClient, program: string): void {
        const version = client.initializeResult?.serverInfo?.version ?? "unknown version";
        this.#status.state = { is: "ready", version, program };
        void commands.executeCommand("setContext", "trunnion.isRunning", true);
        for (const [command, context] of Object.entries(OPTIONAL)) {
            void commands.executeCommand("setContext", context, this.has(command));
        }
    }

    #stopped(why: string): void {
        this.#status.state = { is: "stopped", why };
        void commands.executeCommand("setContext", "trunnion.isRunning", false);
    }

    /** What is wrong, and what can be done. */
    async #tell(why: string): Promise<void> {
        const [choose, help, log] = ["Choose the Program…", "How to Get It", "Show the Log"];
        const answer = await window.showErrorMessage(
            `Trunnion: ${why} Without it there is only colour. Install it (cargo install --path server/trunnion), or say where it is.`,
            choose,
            help,
            log,
        );
        if (answer === choose) await commands.executeCommand("trunnion.chooseProgram");
        if (answer === help) await commands.executeCommand("workbench.action.openWalkthrough", "trunnion.trunnion#first");
        if (answer === log) this.log.show(true);
    }

    #options(): LanguageClientOptions {
        return {
            documentSelector: [
                { language: "trunnion", scheme: "file" },
                { language: "trunnion", scheme: "untitled" },
            ],
            // In restricted mode a trunnion.toml must not lead to other folders.
            initializationOptions: () => ({ trusted: workspace.isTrusted }),
            outputChannel: this.log,
            revealOutputChannelOn: RevealOutputChannelOn.Never,
            middleware: this.#middleware(),
        };
    }

    #middleware(): Middleware {
        return {
            executeCommand: async (command, args, next) => {
                const answer: unknown = await next(command, args);
                const shown = (args[0] as { uri?: unknown } | undefined)?.uri;
                if (command === PREVIEW && this.previews.areHere && typeof answer === "string" && typeof shown === "string") {
                    await this.previews.show(Uri.parse(shown, true), answer);
                }
                return answer;
            },
            window: {
                // The server asks for its page to be opened; here that is what the command's answer does.
                showDocument: async (params, token, next) => {
                    const isPage = params.external === true && /^http:\/\/127\.0\.0\.1:\d+\/[0-9a-f]{32}\//.test(params.uri);
                    return isPage && this.previews.areHere ? { success: true } : next(params, token);
                },
            },
            sendRequest: (type, param, token, next) => {
                const method = typeof type === "string" ? type : type.method;
                return this.#status.during(method.replace(/^.*\//, ""), next(type, param, token));
            },
            handleWorkDoneProgress: (token, params, next) => {
                if (params.kind === "end") this.#status.working(token, undefined);
                else this.#status.working(token, [params.kind === "begin" ? params.title : "", params.message].filter(Boolean).join(" "));
                next(token, params);
            },
        };
    }

    /** A page goes with the server that gave it. */
    async #showPreviewsAgain(): Promise<void> {
        if (!this.runs) return;
        for (const uri of this.previews.documents) {
            try {
                await workspace.openTextDocument(uri);
                await commands.executeCommand(PREVIEW, { uri: uri.toString() });
            } catch (error) {
                this.log.warn(`The preview of ${uri.toString()} is not shown again: ${String(error)}`);
            }
        }
    }

    async dispose(): Promise<void> {
        await this.#queue.add(() => this.#stop());
        this.#status.dispose();
    }
}

/** One thing after the other. */
class Queue {
    #last: Promise<void> = Promise.resolve();

    add(work: () => Promise<void>): Promise<void> {
        this.#last = this.#last.then(work, work);
        return this.#last;
    }
}
