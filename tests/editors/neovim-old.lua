-- The oldest Neovim that editor-clients/neovim is for. Run as: nvim -u NONE --headless -S tests/editors/neovim-old.lua
--
-- Newer versions are driven by typed keys (neovim.lua); here the editor's own functions are called, inside it.

local server = assert(vim.env.TRUNNION_BIN, 'TRUNNION_BIN is not set')
local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h')
local project = vim.fn.fnamemodify(here, ':h:h')
local work = vim.fn.tempname() .. ' with a space'
local failures = 0

local function say(line) io.stdout:write(line, '\n') end

local function expect(what, look, feature)
  local seen
  local ok = vim.wait(failures == 0 and 15000 or 3000, function()
    seen = look()
    return seen
  end, 20)
  say(('%s %s'):format(ok and 'ok  ' or 'FAIL', what))
  failures = failures + (ok and 0 or 1)
  if ok and feature then say('FEATURE ' .. feature) end
end

local function text() return table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n') end
local function codes()
  return vim.tbl_map(function(found) return found.code end, vim.diagnostic.get(0))
end
local function cursor_at(pattern)
  vim.fn.cursor(1, 1)
  assert(vim.fn.search(pattern) > 0, pattern)
end
local function float()
  for _, window in ipairs(vim.api.nvim_list_wins()) do
    if vim.api.nvim_win_get_config(window).relative ~= '' then
      return table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false), '\n')
    end
  end
  return ''
end

-- Is this line in the list of places that a command has opened?
local function listed(part, line)
  for _, place in ipairs(vim.fn.getqflist()) do
    local there = vim.fn.getbufline(place.bufnr, place.lnum)[1] or ''
    if place.text:find(part, 1, true) and there:find(line, 1, true) then return true end
  end
  return false
end

local function lenses()
  return vim.tbl_map(function(lens) return lens.command and lens.command.title end, vim.lsp.codelens.get(vim.api.nvim_get_current_buf()))
end

-- Completion is typed into a second Neovim of the same setup, because nothing can be waited for in insert mode.
local function complete(file)
  local channel = vim.fn.jobstart({
    vim.v.progpath, '--embed', '--headless', '-u', 'NONE', '-n', '--cmd', 'set runtimepath^=' .. project .. '/editor-clients/neovim',
    '--cmd', 'filetype plugin on', '--cmd', 'runtime! plugin/trunnion.lua', file,
  }, { rpc = true })
  local function lua(code) return vim.rpcrequest(channel, 'nvim_exec_lua', code, {}) end
  expect('… a second Neovim has its server', function() return lua('return #vim.diagnostic.get(0)') == 1 end)
  vim.rpcrequest(channel, 'nvim_input', '/channel target="mast<CR>f"lct"<C-x><C-o>')
  expect('names are completed', function()
    return vim.tbl_contains(lua('return vim.tbl_map(function(item) return item.word end, vim.fn.complete_info({ "items" }).items)'), 'leg.right')
  end, 'completion')
  vim.rpcnotify(channel, 'nvim_input', '<C-e><Esc>:qall!<CR>')
  if vim.fn.jobwait({ channel }, 5000)[1] == -1 then vim.fn.jobstop(channel) end
end

-- Carries out the lens "play" above an animation.
local function preview()
  if vim.fn.filereadable(project .. '/editor-clients/preview-page/built/page.js') == 0 then
    return say('SKIPPED: the live preview in Neovim 0.7, its page is not built\nUNTRIED preview')
  end
  vim.ui.select = function(items, options, choose)
    for _, item in ipairs(items) do
      if options.format_item(item) == 'play' then return choose(item) end
    end
    choose(nil)
  end
  cursor_at('<animation id="mast')
  vim.lsp.codelens.run()
  expect('the live preview tells its address', function()
    return vim.fn.execute('messages'):find('The preview is at http://127.0.0.1:%d+/%S+#play=mast.raise')
  end, 'preview')
end

local function run()
  vim.fn.mkdir(work, 'p')
  vim.fn.system({ 'cp', '-r', project .. '/corpus/ternholt', work .. '/ternholt' })
  vim.env.PATH = vim.fn.fnamemodify(server, ':h') .. ':' .. vim.env.PATH
  vim.opt.runtimepath:prepend(project .. '/editor-clients/neovim')
  vim.cmd('filetype plugin on')
  vim.cmd('runtime! plugin/trunnion.lua')

  vim.fn.writefile({ '<page/>' }, work .. '/page.xml')
  vim.cmd('edit ' .. vim.fn.fnameescape(work .. '/page.xml'))
  vim.wait(300)
  expect('no server starts for other XML', function() return #vim.lsp.get_active_clients() == 0 end)

  local began = vim.loop.hrtime()
  vim.cmd('edit ' .. vim.fn.fnameescape(work .. '/ternholt/machines/bram-6.machine.xml'))
  local original = text()
  expect('the demo has its one finding', function() return vim.deep_equal(codes(), { 'wheel-left-behind' }) end)
  say(('TIME %.0f ms from opening the file to the first findings'):format((vim.loop.hrtime() - began) / 1e6))
  vim.cmd('edit ' .. vim.fn.fnameescape(work .. '/ternholt/machines/vennet-24.machine.xml'))
  vim.wait(300)
  expect('one server serves the mod', function() return #vim.lsp.get_active_clients() == 1 end)
  vim.cmd('buffer bram-6.machine.xml')

  cursor_at('target="mast')
  vim.cmd('normal! f"lcwmats')
  expect('a misspelled name is found', function() return vim.tbl_contains(codes(), 'unknown-name') end, 'findings')
  vim.cmd('normal! u')
  expect('… and well again', function() return vim.deep_equal(codes(), { 'wheel-left-behind' }) end)

  cursor_at('target="leg.\\zsleft')
  vim.lsp.buf.hover()
  expect('a hover tells where a name leads', function() return float():find('0/0/0', 1, true) end, 'hover')
  vim.cmd('normal! l')

  cursor_at('target="leg.\\zsleft')
  vim.lsp.buf.definition()
  expect('a name leads to its alias', function()
    return vim.api.nvim_get_current_line():find('<alias name="leg.left"', 1, true)
  end, 'definition')

  cursor_at('target="leg.\\zsleft')
  vim.lsp.buf.references()
  expect('all places of a name are listed', function()
    return listed('leg.left', '<alias name="leg.left"') and listed('leg.left', '<channel target="leg.left"') and #vim.fn.getqflist() == 2
  end, 'references')
  vim.cmd('cclose')

  vim.lsp.buf.document_symbol()
  expect('the outline is listed', function()
    return listed('mast.raise', '<animation id="mast.raise"') and listed('hooks.close', '<animation id="hooks.close"')
  end, 'outline')
  vim.cmd('cclose')

  cursor_at('<channel target="leg.left"\\zs')
  vim.lsp.buf.signature_help()
  expect('the attributes of a tag are shown', function() return float():find('<channel target property', 1, true) end, 'attributes')
  vim.cmd('normal! h')

  vim.lsp.codelens.refresh()
  expect('how often a name is used stands above it', function()
    return vim.tbl_contains(lenses(), 'used once') and vim.tbl_contains(lenses(), 'used 2 times')
  end, 'lenses')
  preview()

  complete(vim.api.nvim_buf_get_name(0))

  cursor_at('target="leg.\\zsleft')
  vim.lsp.buf.rename('leg.port')
  expect('a name is changed where it is given and used', function()
    return select(2, text():gsub('"leg%.port"', '')) == 2 and not text():find('"leg.left"', 1, true)
  end, 'rename')
  vim.cmd('silent! normal! u')
  expect('… and back', function() return text() == original end)

  vim.ui.select = function(items, options, choose)
    for _, item in ipairs(items) do
      if options.format_item(item):find('Make adjustable: `leg.left` and `leg.right`', 1, true) then return choose(item) end
    end
    choose(nil)
  end
  cursor_at('target="leg.\\zsleft')
  vim.lsp.buf.code_action()
  expect('the legs become adjustable', function() return text():find('<lever animation="leg%.') end, 'assists')
end

local fine, problem = xpcall(run, debug.traceback)
if not fine then
  say(problem)
  failures = failures + 1
end
vim.fn.delete(work, 'rf')
say(failures == 0 and 'all is well in the old Neovim' or failures .. ' checks failed in the old Neovim')
vim.cmd(failures == 0 and 'qall!' or 'cquit!')
