" Trunnion in Vim, through ALE. Put the folder editor-clients/vim on 'runtimepath'.

" The folder of the mod that the buffer's file belongs to. Where there is none, ALE starts nothing.
function! s:root(buffer) abort
  for l:name in ['trunnion.toml', 'mod.xml']
    let l:found = ale#path#FindNearestFile(a:buffer, l:name)
    if !empty(l:found)
      return fnamemodify(l:found, ':h')
    endif
  endfor
  let l:file = expand('#' . a:buffer . ':p')
  return l:file =~# '\.machine\.xml$' ? fnamemodify(l:file, ':h') : ''
endfunction

call ale#linter#Define('xml', {
\ 'name': 'trunnion',
\ 'lsp': 'stdio',
\ 'executable': 'trunnion',
\ 'command': '%e serve',
\ 'project_root': function('s:root'),
\})
