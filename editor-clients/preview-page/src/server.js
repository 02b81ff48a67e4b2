// The page's own server, the only one it talks to. Addresses are relative, so the secret in the page's stays in them.

/**
 * What there is, once it differs from the revision that is known, in the pose that was asked for; null if the server
 * waited long enough.
 */
export async function machineAfter(revision, query) {
    const answer = await json(await fetch(`machine?after=${revision}&${query}`));
    return answer && { ...answer, query };
}

/** Where everything stands, and what it measures; null while there is no machine. */
export async function pose(query) {
    return json(await fetch(`pose?${query}`));
}

/** How wide the track gets over each control's travel; null while there is no machine. */
export async function tracks() {
    return json(await fetch("tracks"));
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
