// Messages to the language server and back, over a web socket. One server per page.

/** What the server asks of a client, by method; each gives the answer. */
export async function connect(asked, closed) {
    const socket = new WebSocket(new URL("session", location.href.replace(/^http/, "ws")));
    let handlers = [];
    const send = (message) => socket.send(JSON.stringify(message));
    socket.onmessage = async ({ data }) => {
        const message = JSON.parse(data);
        const answer = message.id !== undefined && asked[message.method];
        if (!answer) return handlers.forEach((handler) => handler(data));
        send({ jsonrpc: "2.0", id: message.id, result: (await answer(message.params)) ?? null });
    };
    socket.onclose = closed;
    await new Promise((resolve, reject) => {
        socket.onopen = resolve;
        socket.onerror = () => reject(new Error("no connection"));
    });
    return {
        send(text) {
            const message = JSON.parse(text);
            // CodeMirror's client says that it asks for diagnostics, but shows only those that it is told.
            if (message.method === "initialize") {
                delete message.params.capabilities.textDocument.diagnostic;
                text = JSON.stringify(message);
            }
            socket.send(text);
        },
        subscribe: (handler) => handlers.push(handler),
        unsubscribe: (handler) => (handlers = handlers.filter((one) => one !== handler)),
    };
}
