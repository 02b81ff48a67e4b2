" A real Vim with ALE and Trunnion in it. Run as: vim -u tests/editors/vim.vim, in a terminal; what was found goes to $TRUNNION_VIM_LOG.
" ALE answers by timers and channels, so the test is a chain of steps: each does something, then waits for what must come of it.

set nocompatible nomore noswapfile hidden lines=60 columns=160
let s:project = expand('<sfile>:p:h:h:h')
let s:work = tempname()
let s:log = []
let s:failures = 0
let $PATH = fnamemodify($TRUNNION_BIN, ':h') . ':' . $PATH
let g:ale_linters_explicit = 1
let g:ale_linters = {'xml': ['trunnion']}
let g:ale_lint_delay = 50
let g:ale_hover_to_preview = 1
let &runtimepath = s:project . '/editor-clients/vim,' . &runtimepath
packadd! ale
filetype plugin on
syntax on

function! s:check(what, ok, seen) abort
  call add(s:log, (a:ok ? 'ok   ' : 'FAIL ') . a:what . (a:ok ? '' : ': ' . string(a:seen)))
  let s:failures += a:ok ? 0 : 1
endfunction

" Calls Done() as soon as Look() gives true, or after fifteen seconds; checks that it did.
function! s:expect(what, Look, Done, ...) abort
  let l:left = get(a:000, 0, s:failures ? 60 : 300)
  let l:seen = a:Look()
  if type(l:seen) == v:t_number && l:seen
    call s:check(a:what, 1, '')
    call a:Done()
  elseif l:left == 0
    call s:check(a:what, 0, {'found': s:found(), 'line': getline('.')})
    call a:Done()
  else
    call timer_start(50, {-> s:expect(a:what, a:Look, a:Done, l:left - 1)})
  endif
endfunction

" What ALE shows in this buffer: a list of 'line:code'.
function! s:found() abort
  return sort(map(copy(ale#engine#GetLoclist(bufnr(''))), {_, item -> item.lnum . ':' . get(item, 'code', '')}))
endfunction

" For the table of editors and features (tests/editors/table.mjs).
function! s:feature(name) abort
  if !s:failures
    call add(s:log, 'FEATURE ' . a:name)
  endif
endfunction

function! s:text() abort
  return join(getline(1, '$'), "\n")
endfunction

function! s:begin() abort
  call mkdir(s:work)
  call system('cp -r ' . shellescape(s:project . '/corpus/ternholt') . ' ' . shellescape(s:work))
  let s:began = reltime()
  execute 'edit ' . s:work . '/ternholt/machines/bram-6.machine.xml'
  let s:original = s:text()
  let s:story = search('<switch animation="mast.raise"', 'n') . ':wheel-left-behind'
  call s:expect('the demo has its one finding', {-> s:found() == [s:story]}, function('s:unclosed'))
endfunction

function! s:unclosed() abort
  call add(s:log, printf('TIME %.0f ms from opening the file to the first findings', 1000 * reltimefloat(reltime(s:began))))
  call search('<lamps>', 'w')
  let s:typed = (line('.') + 1) . ':unclosed-element'
  call feedkeys("o<lamp id=\"tail\" node=\"0/2\" kind=\"tail\">\<Esc>", 't')
  call s:expect('an unclosed element is found', {-> index(s:found(), s:typed) >= 0}, function('s:closed'))
endfunction

function! s:closed() abort
  call feedkeys('u', 't')
  call s:expect('… and gone once it is taken away', {-> s:found() == [s:story] && s:text() ==# s:original}, function('s:hover'))
endfunction

function! s:to_name() abort
  call cursor(1, 1)
  call search('target="leg.\zsleft')
endfunction

function! s:hover() abort
  call s:feature('findings')
  call s:to_name()
  ALEHover
  call s:expect('a hover tells where a name leads', {-> s:preview() =~# 'Index path.*0/0/0'}, function('s:references'))
endfunction

" What the preview window says.
function! s:preview() abort
  for l:window in range(1, winnr('$'))
    if getwinvar(l:window, '&previewwindow')
      return join(getbufline(winbufnr(l:window), 1, '$'), "\n")
    endif
  endfor
  return ''
endfunction

function! s:references() abort
  call s:feature('hover')
  pclose
  " ALE does not ask for the place where the name is given.
  let s:places = [search('<lamp id="beacon" node="beacon"', 'nw'), search('<channel target="beacon"', 'nw')]
  call cursor(1, 1)
  call search('target="\zsbeacon')
  ALEFindReferences -quickfix
  call s:expect('all places where a name is used are listed', {-> map(getqflist(), {_, place -> place.lnum}) == s:places}, function('s:complete'))
endfunction

function! s:complete() abort
  call s:feature('references')
  call cursor(1, 1)
  call search('<channel target="\zsmast')
  call feedkeys("i\<Plug>(ale_complete)", 't')
  call s:expect('names are completed', {-> pumvisible() && index(s:offered(), 'leg.right') >= 0}, function('s:completed'))
endfunction

function! s:offered() abort
  return map(complete_info(['items']).items, {_, item -> item.word})
endfunction

function! s:completed() abort
  call feedkeys("\<C-e>\<Esc>", 't')
  call s:expect('… and nothing stays of it', {-> mode() ==# 'n' && s:text() ==# s:original}, function('s:rename'))
endfunction

function! s:rename() abort
  call s:feature('completion')
  call s:to_name()
  call feedkeys(":ALERename\<CR>\<C-u>leg.port\<CR>", 't')
  call s:expect('a name is changed where it is given and used', {-> s:count('"leg.port"') == 2 && s:count('"leg.left"') == 0}, function('s:renamed'))
endfunction

function! s:count(text) abort
  return count(s:text(), a:text)
endfunction

function! s:renamed() abort
  call feedkeys('u', 't')
  call s:expect('… and back', {-> s:text() ==# s:original && s:found() == [s:story]}, function('s:alias'))
endfunction

function! s:alias() abort
  call s:feature('rename')
  call s:to_name()
  ALEGoToDefinition
  call s:expect('a name leads to its alias', {-> getline('.') =~# '<alias name="leg.left"'}, function('s:scene'))
endfunction

function! s:scene() abort
  call search('path="0\zs/0')
  ALEGoToDefinition
  call s:expect('a path leads into the scene', {-> getline('.') =~# '"name": "leg.left"'}, function('s:assist'))
endfunction

function! s:assist() abort
  call s:feature('definition')
  execute 'buffer ' . bufnr('bram-6.machine.xml')
  call s:to_name()
  " What ALE's pop-up menu of assists does, with the choice made by title.
  call ale#codefix#Execute(0, function('s:choose'))
  call s:expect('the assist changes the buffer', {-> s:text() !=# s:original}, function('s:assisted'))
endfunction

function! s:choose(data, items) abort
  for [l:kind, l:action] in a:items
    if l:action.title =~# '^Make adjustable: `leg.left` and `leg.right`'
      return ale#codefix#ApplyLSPCodeAction(a:data, l:action)
    endif
  endfor
endfunction

function! s:assisted() abort
  call feedkeys("\<Ignore>", 't') " Vim looks for changed text when a key arrives
  let l:lever = matchstr(s:text(), '<lever animation="leg\..\{-}</lever>')
  for l:wheel in ['front.left', 'front.right', 'rear.left', 'rear.right']
    call s:check('… a lever carries wheel ' . l:wheel, stridx(l:lever, '<carry wheel="' . l:wheel . '"') >= 0, l:lever)
  endfor
  call s:feature('assists')
  call s:expect('no wheel is left behind any more', {-> s:found() == []}, function('s:undone'))
endfunction

function! s:undone() abort
  call feedkeys('u', 't')
  call s:expect('one undo brings everything back', {-> s:text() ==# s:original && s:found() == [s:story]}, function('s:finish'))
endfunction

function! s:finish() abort
  call add(s:log, s:failures ? s:failures . ' checks failed in Vim' : 'all is well in Vim')
  call writefile(s:log, $TRUNNION_VIM_LOG)
  call delete(s:work, 'rf')
  execute s:failures ? 'cquit!' : 'qall!'
endfunction

autocmd VimEnter * call timer_start(100, {-> s:begin()})
