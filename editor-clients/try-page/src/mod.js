// The files of the mod, from the page's own server.

async function asked(address, options) {
    const answer = await fetch(address, options);
    const said = answer.headers.get("content-type")?.startsWith("application/json") ? await answer.json() : null;
    if (answer.ok) return said;
    throw new Error(said ?? `The server answers ${answer.status}.`);
}

export const about = () => asked("mod");
export const read = (path) => asked(`file?path=${encodeURIComponent(path)}`);
/** `known`: what the file held when it was last read or written; anything else there is not overwritten. */
export const write = (path, known, text) => asked("file", { method: "PUT", body: JSON.stringify({ path, known, text }) });
