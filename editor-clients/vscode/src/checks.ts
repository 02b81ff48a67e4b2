// The task that runs `trunnion check` over a folder; its findings are taken up by the problem matcher.

import { ExtensionContext, ProcessExecution, Task, TaskProvider, TaskScope, WorkspaceFolder, workspace } from "vscode";
import { findProgram } from "./program";

export class Checks implements TaskProvider {
    constructor(readonly context: ExtensionContext) {}

    /** One for each folder of the workspace. */
    async provideTasks(): Promise<Task[]> {
        if (!workspace.isTrusted) return [];
        const folders = workspace.workspaceFolders ?? [];
        const tasks = await Promise.all(folders.map((folder) => this.#task(folder, { type: "trunnion", check: "." })));
        return tasks.filter((task) => task !== undefined);
    }

    /** One that somebody wrote into tasks.json. */
    async resolveTask(task: Task): Promise<Task | undefined> {
        const folder = typeof task.scope === "object" ? task.scope : workspace.workspaceFolders?.[0];
        return folder && this.#task(folder, task.definition);
    }

    async #task(folder: WorkspaceFolder, definition: Task["definition"]): Promise<Task | undefined> {
        try {
            const checked = String(definition.check);
            const run = new ProcessExecution(await findProgram(this.context), ["check", checked], { cwd: folder.uri.fsPath });
            const name = checked === "." ? "check everything" : `check ${checked}`;
            return new Task(definition, folder ?? TaskScope.Workspace, name, "trunnion", run, "$trunnion");
        } catch {
            // Without the program there is no task; the server has told about it.
            return undefined;
        }
    }
}
