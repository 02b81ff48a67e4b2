-- Sourced at start when this folder is on 'runtimepath'.

if vim.lsp.enable then
  vim.lsp.enable('trunnion')
  return
end

-- Neovim 0.7 to 0.10: the same by hand.
local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h:h')
local config = dofile(here .. '/lsp/trunnion.lua')

-- The nearest folder upwards that holds one of the files that mark a mod.
local function root_of(file)
  local folder = vim.fn.fnamemodify(file, ':p:h')
  for _, marker in ipairs({ 'trunnion.toml', 'mod.xml' }) do
    local found = vim.fn.findfile(marker, vim.fn.escape(folder, ' ,;') .. ';')
    if found ~= '' then
      return vim.fn.fnamemodify(found, ':p:h')
    end
  end
  return file:match('%.machine%.xml$') and folder or nil
end

-- Before 0.10 Neovim shows code lenses and does not say so.
local capabilities = vim.lsp.protocol.make_client_capabilities()
capabilities.textDocument.codeLens = capabilities.textDocument.codeLens or { dynamicRegistration = false }

-- One server for each root. `vim.lsp.start` sees to that from 0.8 on.
local started = {}
local function start(buffer, root)
  local what = { name = 'trunnion', cmd = config.cmd, root_dir = root, capabilities = capabilities }
  if vim.lsp.start then
    vim.lsp.start(what, { bufnr = buffer })
    return
  end
  local id = started[root]
  if not id or not vim.lsp.get_client_by_id(id) then
    id = vim.lsp.start_client(what)
    started[root] = id
  end
  if id then
    vim.lsp.buf_attach_client(buffer, id)
    vim.api.nvim_buf_set_option(buffer, 'omnifunc', 'v:lua.vim.lsp.omnifunc')
  end
end

vim.api.nvim_create_autocmd('FileType', {
  pattern = config.filetypes,
  group = vim.api.nvim_create_augroup('trunnion', {}),
  callback = function(event)
    local buffer = event.buf or vim.api.nvim_get_current_buf()
    local file = vim.api.nvim_buf_get_name(buffer)
    local root = file ~= '' and root_of(file)
    if root then
      start(buffer, root)
    end
  end,
})
