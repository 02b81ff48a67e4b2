-- Trunnion for Neovim 0.11 and newer: what to start, and for which buffers.

local markers = { 'trunnion.toml', 'mod.xml' }

return {
  cmd = { 'trunnion', 'serve' },
  filetypes = { 'xml' },
  -- Most XML has nothing to do with machines: where this calls nothing, no server starts.
  root_dir = function(buffer, start)
    local file = vim.api.nvim_buf_get_name(buffer)
    local root = vim.fs.root(buffer, markers)
    if file ~= '' and not root and file:match('%.machine%.xml$') then
      root = vim.fs.dirname(file)
    end
    if root then
      start(root)
    end
  end,
}
