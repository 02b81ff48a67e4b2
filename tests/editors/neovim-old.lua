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
