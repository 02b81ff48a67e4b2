// The item in the status bar: what the server is doing. A click leads to its log.

import { Disposable, StatusBarAlignment, StatusBarItem, ThemeColor, window } from "vscode";

export type State =
    | { is: "starting" }
    | { is: "ready"; version: string; program: string }
    | { is: "stopped"; why: string };

/** A request that takes no longer is not shown as work. */
const PATIENCE = 300; // ms

export class Status implements Disposable {
    readonly #item: StatusBarItem;
    readonly #work = new Map<unknown, string>();
    #state: State = { is: "starting" };

    constructor() {
        this.#item = window.createStatusBarItem("trunnion.status", StatusBarAlignment.Left, 0);
        this.#item.name = "Trunnion";
        this.#item.command = "trunnion.showLog";
    }

    set state(state: State) {
        this.#state = state;
        if (state.is !== "ready") this.#work.clear();
        this.#show();
    }

    /** The server says of itself what it works on; nothing: it is done with that. */
    working(on: unknown, what: string | undefined): void {
        if (what === undefined) this.#work.delete(on);
        else this.#work.set(on, what);
        this.#show();
    }

    /** Shows a request as work as long as it is not answered. */
    async during<T>(what: string, answer: Promise<T>): Promise<T> {
        const token = {};
        const timer = setTimeout(() => this.working(token, what), PATIENCE);
        try {
            return await answer;
        } finally {
            clearTimeout(timer);
            if (this.#work.has(token)) this.working(token, undefined);
        }
    }

    #show(): void {
        const [text, tooltip] = this.#words();
        this.#item.text = text;
        this.#item.tooltip = `${tooltip}\nClick for the log.`;
        this.#item.accessibilityInformation = { label: tooltip };
        this.#item.backgroundColor = this.#state.is === "stopped" ? new ThemeColor("statusBarItem.warningBackground") : undefined;
        this.#item.show();
    }

    #words(): [string, string] {
        const state = this.#state;
        if (state.is === "starting") return ["$(loading~spin) Trunnion", "Trunnion: the server is starting"];
        if (state.is === "stopped") return ["$(circle-slash) Trunnion", `Trunnion: the server is stopped. ${state.why}`];
        const work = [...this.#work.values()].pop();
        if (work !== undefined) return ["$(sync~spin) Trunnion", `Trunnion: working: ${work}`];
        return ["$(check) Trunnion", `Trunnion: the server is ready (${state.version}, ${state.program})`];
    }

    dispose(): void {
        this.#item.dispose();
    }
}
