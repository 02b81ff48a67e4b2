// What this page can show, besides what CodeMirror's client says of itself.

const types = ["namespace", "type", "variable", "property", "enumMember", "event", "function", "string", "number"];

export const abilities = {
    general: { positionEncodings: ["utf-16"] },
    workspace: {
        applyEdit: true,
        executeCommand: {},
        inlayHint: { refreshSupport: true },
        codeLens: { refreshSupport: true },
        semanticTokens: { refreshSupport: true },
    },
    window: { showDocument: { support: true } },
    textDocument: {
        codeAction: {
            codeActionLiteralSupport: { codeActionKind: { valueSet: ["", "quickfix", "refactor", "source"] } },
            isPreferredSupport: true,
            disabledSupport: true,
            dataSupport: true,
            resolveSupport: { properties: ["edit"] },
        },
        inlayHint: {},
        codeLens: {},
        semanticTokens: {
            requests: { range: false, full: { delta: false } },
            tokenTypes: types,
            tokenModifiers: ["declaration"],
            formats: ["relative"],
        },
    },
};
