# Trunnion in Kakoune, through kak-lsp. Source this from kakrc, after kak-lsp's own commands: evaluate-commands %sh{kak-lsp}

# Machine definitions, and all XML below a mod's folder. Other XML is left alone.
hook -group lsp-filetype-trunnion global BufSetOption filetype=xml %{
    evaluate-commands %sh{
        folder=$(dirname "$kak_buffile")
        case $kak_buffile in *.machine.xml) ours=yes ;; esac
        while [ -z "$ours" ]; do
            if [ -e "$folder/trunnion.toml" ] || [ -e "$folder/mod.xml" ]; then ours=yes; fi
            [ "$folder" = / ] || [ "$folder" = . ] && break
            folder=$(dirname "$folder")
        done
        [ -n "$ours" ] && echo trunnion-buffer
    }
}

define-command -hidden trunnion-buffer %{
    set-option buffer lsp_servers %{
        [trunnion]
        command = "trunnion"
        args = ["serve"]
        root_globs = ["trunnion.toml", "mod.xml"]
    }
    # Of several that fit, the first one counts.
    set-option buffer lsp_semantic_tokens %{
        [
            {face="DiagnosticError", token="variable", modifiers=["unresolved"]},
            {face="DiagnosticError", token="function", modifiers=["unresolved"]},
            {face="DiagnosticError", token="string", modifiers=["unresolved"]},
            {face="DiagnosticError", token="namespace", modifiers=["unresolved"]},
            {face="DiagnosticError", token="type", modifiers=["unresolved"]},
            {face="DiagnosticError", token="property", modifiers=["unresolved"]},
            {face="variable", token="variable"},
            {face="function", token="function"},
            {face="value", token="enumMember"},
            {face="value", token="number"},
            {face="module", token="namespace"},
        ]
    }
}

hook -group trunnion global WinSetOption filetype=xml %{
    evaluate-commands %sh{ case $kak_opt_lsp_servers in *'[trunnion]'*) echo trunnion-window ;; esac }
}

define-command -hidden trunnion-window %{
    lsp-enable-window
    hook -group trunnion window BufReload .* lsp-semantic-tokens
    hook -group trunnion window NormalIdle .* lsp-semantic-tokens
    hook -group trunnion window InsertIdle .* lsp-semantic-tokens
}
