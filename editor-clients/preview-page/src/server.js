// The page's own server, the only one it talks to. Addresses are relative, so the secret in the page's stays in them.

/** What there is, once it differs from the revision that is known; null if the server waited long enough. */
export async function machineAfter(revision) {
    return json(await fetch(`machine?after=${revision}`));
}

/** Where everything stands, and what it measures; null while there is no machine. */
export async function pose(query) {
    return json(await fetch(`pose?${query}`));
}

/** The scene's file. */
export async function scene() {
    const answer = await fetch("scene");
    if (!answer.ok) throw new Error("the scene cannot be read");
    return answer.arrayBuffer();
}

async function json(answer) {
    if (answer.status === 204) return null;
    if (!answer.ok) throw new Error(`the server says ${answer.status}`);
    return answer.json();
}
