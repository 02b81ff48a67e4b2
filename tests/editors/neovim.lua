-- A real Neovim with Trunnion in it, driven by typed keys. Run as: nvim -l tests/editors/neovim.lua
--
-- This process is the hand: it starts another Neovim (the one under test) with nothing but editor-clients/neovim set up,
-- types into it over its RPC channel as a user would, and looks at what happens to buffers, cursor and diagnostics.

local server = vim.fs.normalize(assert(vim.env.TRUNNION_BIN, 'TRUNNION_BIN is not set'))
local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h')
local project = vim.fs.dirname(vim.fs.dirname(here))
local work = vim.fn.tempname()
local failures = 0

local function say(line) io.stdout:write(line, '\n') end

local function check(what, ok, seen)
  say(('%s %s%s'):format(ok and 'ok  ' or 'FAIL', what, ok and '' or ': ' .. vim.inspect(seen)))
  failures = failures + (ok and 0 or 1)
end

-- The table of editors and features is made of these lines (tests/editors/table.mjs).
local function feature(name, before)
  if failures == before then say('FEATURE ' .. name) end
end

-- Starts a Neovim under test and opens `file` in it. `early` is a command run before its plugins are.
local function start(file, early)
  local channel = vim.fn.jobstart({
    vim.v.progpath, '--embed', '--headless', '--clean', '-n',
    '--cmd', 'set runtimepath^=' .. project .. '/editor-clients/neovim', '--cmd', early or '', file,
  }, { rpc = true, cwd = work, env = { PATH = vim.fs.dirname(server) .. ':' .. vim.env.PATH } })
  local editor = {}
  -- Keys in Neovim's notation, such as <CR>; and text as it stands.
  function editor.keys(keys) vim.rpcrequest(channel, 'nvim_input', keys) end
  function editor.write(text) editor.keys((text:gsub('<', '<lt>'))) end
  function editor.lua(code, ...) return vim.rpcrequest(channel, 'nvim_exec_lua', code, { ... }) end
  function editor.text() return table.concat(editor.lua('return vim.api.nvim_buf_get_lines(0, 0, -1, false)'), '\n') end
  function editor.line() return editor.lua('return vim.api.nvim_get_current_line()') end
  function editor.file() return editor.lua('return vim.fs.basename(vim.api.nvim_buf_get_name(0))') end
  function editor.mode() return vim.rpcrequest(channel, 'nvim_get_mode').mode end
  function editor.servers() return editor.lua('return #vim.lsp.get_clients({ bufnr = 0, name = "trunnion" })') end
  -- What is underlined where: a list of "line:code".
  function editor.diagnostics()
    local found = editor.lua([[
      return vim.tbl_map(function(d) return ('%d:%s'):format(d.lnum + 1, d.code) end, vim.diagnostic.get(0))]])
    table.sort(found)
    return found
  end
  function editor.stop()
    pcall(editor.keys, '<Esc>:qall!<CR>')
    if vim.fn.jobwait({ channel }, 5000)[1] == -1 then
      vim.fn.jobstop(channel)
      return false
    end
    return true
  end
  return editor
end

-- Waits until `look()` gives `wanted` (or something for which `wanted(seen)` holds), and checks that it came to that.
local function expect(what, wanted, look)
  local seen
  local function fits()
    seen = look()
    if type(wanted) == 'function' then return wanted(seen) end
    return vim.deep_equal(seen, wanted)
  end
  -- Milliseconds. Once something failed, what follows from it fails too and need not be waited for long.
  check(what, vim.wait(failures == 0 and 15000 or 3000, fits, 20), seen)
end

-- The number of the first line that contains `text`.
local function line_of(text, part)
  for number, line in ipairs(vim.split(text, '\n')) do
    if line:find(part, 1, true) then return number end
  end
  error('no line contains ' .. part)
end

-- The demo, copied, so that nothing typed here reaches it.
vim.fn.mkdir(work, 'p')
vim.fn.system({ 'cp', '-r', project .. '/corpus/ternholt', work .. '/ternholt' })
assert(vim.v.shell_error == 0)
local bram = work .. '/ternholt/machines/bram-6.machine.xml'
local original = table.concat(vim.fn.readfile(bram), '\n')
local story = line_of(original, '<switch animation="mast.raise"') .. ':wheel-left-behind'

local began = vim.uv.hrtime()
local editor = start(bram)
expect('the server starts for a machine definition', 1, editor.servers)
expect('the demo has its one finding', { story }, editor.diagnostics)
say(('TIME %.0f ms from the editor\'s start to the first findings'):format((vim.uv.hrtime() - began) / 1e6))

-- An element is typed and not closed.
local typed = line_of(original, '<lamp id="beacon"')
local later = (line_of(original, '<switch animation="mast.raise"') + 1) .. ':wheel-left-behind'
editor.keys('/lamp id="beacon"<CR>O')
editor.write('<lamp id="tail" node="0/2" kind="tail">')
expect('an unclosed element is found while it is typed', function(seen)
  return vim.list_contains(seen, typed .. ':unclosed-element')
end, editor.diagnostics)
check('… with the user still in insert mode', editor.mode() == 'i', editor.mode())
editor.keys('<Esc>')
expect('… and underlined', true, function()
  return editor.lua([[
    local row = ...
    for _, mark in ipairs(vim.api.nvim_buf_get_extmarks(0, -1, { row, 0 }, { row, -1 }, { details = true })) do
      if mark[4].hl_group == 'DiagnosticUnderlineError' then return true end
    end
    return false]], typed - 1)
end)
feature('findings', 0)
editor.keys('A<BS>/><Esc>')
expect('… and gone once it is closed', { later }, editor.diagnostics)
editor.keys('uu')
expect('typing is undone', original, editor.text)

-- From a channel's part to its alias, on into the scene, and back.
local scene = table.concat(vim.fn.readfile(work .. '/ternholt/machines/bram-6.gltf'), '\n')
editor.keys('gg/target="leg.left<CR>f"l<C-]>')
expect('a name leads to its alias', vim.split(original, '\n')[line_of(original, '<alias name="leg.left"')], editor.line)
editor.keys('/path="<CR>f"l<C-]>')
expect('a path leads into the scene', 'bram-6.gltf', editor.file)
check('… to the line of its node', editor.line() == vim.split(scene, '\n')[line_of(scene, '"name": "leg.left"')], editor.line())
feature('definition', 0)
editor.keys('<C-t><C-t>')
expect('… and back', 'bram-6.machine.xml', editor.file)

-- What is told about a name, beside it, above it and in colours.
local before = failures
local function float()
  return editor.lua([[
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= '' then
        return table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false), '\n')
      end
    end
    return '']])
end
local function says(part) return function(seen) return seen:find(part, 1, true) ~= nil end end
editor.keys('gg/target="leg.left<CR>f"lK')
expect('a hover tells where a name leads', says('0/0/0'), float)
editor.keys('h')
expect('… and goes', '', float)
feature('hover', before)

before = failures
editor.keys('gg/target="leg.left<CR>f"li')
editor.keys('<C-s>')
expect('the attributes of a tag are shown while it is written', says('<channel target property'), float)
editor.keys('<Esc>')
expect('… and go', '', float)
feature('attributes', before)

before = failures
local function colour(part, line)
  return function()
    return editor.lua([[
      local part, line = ...
      local row = vim.fn.search(line, 'nw') - 1
      local column = vim.fn.getline(row + 1):find(part, 1, true) - 1
      local found = {}
      for _, token in ipairs(vim.lsp.semantic_tokens.get_at_pos(0, row, column) or {}) do
        table.insert(found, token.type)
        for modifier in pairs(token.modifiers) do table.insert(found, modifier) end
      end
      return table.concat(found, ' ')]], part, line)
  end
end
expect('a name that is given has its colour', 'variable declaration', colour('leg.left', '<alias name="leg.left"'))
expect('an animation has another', 'function declaration', colour('mast.raise', '<animation id="mast.raise"'))
editor.keys('gg/target="mast<CR>f"lcwmats<Esc>')
expect('a name that leads nowhere is marked', 'variable unresolved', colour('mats', 'target="mats"'))
editor.keys('u')
expect('… until it leads somewhere again', 'variable', colour('mast', 'target="mast"'))
feature('colours', before)

before = failures
editor.lua('vim.lsp.inlay_hint.enable(true)')
expect('the name of a node stands beside its index path', true, function()
  return editor.lua([[
    for _, hint in ipairs(vim.lsp.inlay_hint.get({ bufnr = 0 })) do
      if hint.inlay_hint.label == 'leg.left' then return true end
    end
    return false]])
end)
feature('hints', before)

before = failures
editor.lua('vim.lsp.codelens.refresh({ bufnr = 0 })')
expect('how often a name is used stands above it', true, function()
  return editor.lua([[
    for _, lens in ipairs(vim.lsp.codelens.get(0)) do
      if lens.command and lens.command.title == 'used once' then return true end
    end
    return false]])
end)
feature('lenses', before)

if vim.fn.filereadable(project .. '/editor-clients/preview-page/built/page.js') == 0 then
  say('SKIPPED: the live preview in Neovim 0.11, its page is not built\nUNTRIED preview')
else
  before = failures
  editor.lua([[
    vim.ui.open = function(address) -- Here is no browser.
      opened = address
      return { wait = function() return { code = 0 } end }
    end
    local choose_as_before = vim.ui.select
    vim.ui.select = function(lenses, options, choose)
      vim.ui.select = choose_as_before
      for _, lens in ipairs(lenses) do
        if options.format_item(lens):find('play', 1, true) then return choose(lens) end
      end
      choose(nil)
    end]])
  editor.keys('gg/<lt>animation id="mast<CR>:lua vim.lsp.codelens.run()<CR>')
  expect('the live preview is opened', function(seen)
    return seen:find('^http://127%.0%.0%.1:%d+/%x+/#play=mast%.raise$') ~= nil
  end, function() return editor.lua('return opened or ""') end)
  feature('preview', before)
end

before = failures
editor.keys('gg/target="leg.left<CR>f"lgrr')
expect('all places of a name are listed', 2, function() return editor.lua('return #vim.fn.getqflist() + #vim.fn.getloclist(0)') end)
editor.keys('<C-w>p:only<CR>')
feature('references', before)

before = failures
editor.keys('gg/target="mast<CR>f"lct"<C-x><C-o>')
expect('names are completed', true, function()
  return editor.lua([[
    return vim.iter(vim.fn.complete_info({ 'items' }).items):any(function(item) return item.word == 'leg.left' end)]])
end)
editor.keys('<C-e><Esc>u')
expect('… and nothing stays of it', original, editor.text)
feature('completion', before)

before = failures
editor.keys('gg/target="leg.left<CR>f"l:lua vim.lsp.buf.rename("leg.port")<CR>')
expect('a name is changed where it is given and used', { 2, 0 }, function()
  local text = editor.text()
  return { select(2, text:gsub('"leg%.port"', '')), select(2, text:gsub('"leg%.left"', '')) }
end)
editor.keys('u')
expect('… in one step', original, editor.text)
feature('rename', before)

before = failures
editor.keys('gO')
expect('the outline is listed', true, function()
  return editor.lua([[
    return vim.iter(vim.fn.getloclist(0)):any(function(item) return item.text:find('mast.raise', 1, true) ~= nil end)]])
end)
editor.keys(':lclose<CR>:only<CR>')
feature('outline', before)

-- The legs become adjustable.
before = failures
editor.keys('gg/target="leg.left<CR>f"l')
editor.keys([[:lua vim.lsp.buf.code_action({ apply = true, filter = function(action) ]]
  .. [[return vim.startswith(action.title, 'Make adjustable: `leg.left` and `leg.right`') end })<CR>]])
expect('the assist changes the buffer', function(seen) return seen ~= original end, editor.text)
local changed = editor.text()
local function animation_of(target)
  for id, body in changed:gmatch('<animation id="([^"]+)"[^>]*>(.-)</animation>') do
    if body:find('target="' .. target .. '"', 1, true) then return id, body end
  end
end
local id, body = animation_of('leg.left')
check('the legs have an animation of their own', id ~= nil and id ~= 'mast.raise' and id == animation_of('leg.right'), changed)
check('… and the mast keeps its own', animation_of('mast') == 'mast.raise', changed)
check('… with the same travel', body and body:find('from="1.30 0 0"', 1, true) and body:find('to="1.62 0 0"', 1, true), body)
local lever = id and changed:match('<lever animation="' .. vim.pesc(id) .. '".-</lever>') or ''
for _, wheel in ipairs({ 'front.left', 'front.right', 'rear.left', 'rear.right' }) do
  check('a lever carries wheel ' .. wheel, lever:find('<carry wheel="' .. wheel .. '"', 1, true), lever)
end
feature('assists', before)
expect('no wheel is left behind any more', function(seen)
  return not vim.iter(seen):any(function(finding) return vim.endswith(finding, ':wheel-left-behind') end)
end, editor.diagnostics)
editor.keys('u')
expect('one undo brings everything back', original, editor.text)
expect('… and the finding with it', { story }, editor.diagnostics)
check('Neovim ends by itself', editor.stop())

-- What Trunnion must stay out of, and the way of older versions.
vim.fn.writefile({ '<page/>' }, work .. '/page.xml')
editor = start(work .. '/page.xml')
vim.wait(500)
check('no server starts for other XML', editor.servers() == 0, editor.servers())
editor.stop()

editor = start(work .. '/ternholt/mod.xml')
expect('the server starts for a manifest', 1, editor.servers)
editor.stop()

editor = start(bram, 'lua vim.lsp.enable = nil')
expect('the server starts the way of Neovim 0.8', 1, editor.servers)
expect('… and reports', { story }, editor.diagnostics)
editor.stop()

vim.fn.delete(work, 'rf')
say(failures == 0 and 'all is well in Neovim' or failures .. ' checks failed in Neovim')
os.exit(failures == 0 and 0 or 1)
