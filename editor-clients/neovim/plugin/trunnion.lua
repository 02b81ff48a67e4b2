-- Sourced at start when this folder is on 'runtimepath'.

if vim.lsp.enable then
  vim.lsp.enable('trunnion')
  return
end

-- Neovim 0.8 to 0.10: the same by hand.
local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h:h')
local config = dofile(here .. '/lsp/trunnion.lua')

-- The nearest folder upwards that holds one of the files that mark a mod.
local function root_of(file)
  local found = vim.fs.find({ 'trunnion.toml', 'mod.xml' }, { upward = true, path = vim.fs.dirname(file) })[1]
  if found then
    return vim.fs.dirname(found)
  end
  return file:match('%.machine%.xml$') and vim.fs.dirname(file) or nil
end

vim.api.nvim_create_autocmd('FileType', {
  pattern = config.filetypes,
  group = vim.api.nvim_create_augroup('trunnion', {}),
  callback = function(event)
    local file = vim.api.nvim_buf_get_name(event.buf)
    local root = file ~= '' and root_of(file)
    if root then
      vim.lsp.start({ name = 'trunnion', cmd = config.cmd, root_dir = root }, { bufnr = event.buf })
    end
  end,
})
