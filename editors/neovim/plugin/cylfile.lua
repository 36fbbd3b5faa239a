-- Starts `cylfile serve` for records and rule packs: findings as you type, completion, hover and the rest.
-- Set vim.g.cylfile_command before it is loaded where the program has another name, such as { "/opt/bin/cylfile" }.

if vim.fn.has("nvim-0.7") == 0 or vim.g.loaded_cylfile then
  return
end
vim.g.loaded_cylfile = true

local command = vim.list_extend(vim.deepcopy(vim.g.cylfile_command or { "cylfile" }), { "serve" })
local settings = {
  cmd = command,
  filetypes = { "cyl", "cylpack" },
  -- The server finds the record of a file by itself, so nothing rests on these.
  root_markers = { "department.cyl", ".git" },
  init_options = { hints = vim.g.cylfile_hints or false },
}

if vim.lsp.config then
  vim.lsp.config("cylfile", settings)
  vim.lsp.enable("cylfile")
  return
end

-- Before 0.11 nothing starts a server for a kind of file, so this does: one for all records.
local client
vim.api.nvim_create_autocmd("FileType", {
  pattern = settings.filetypes,
  callback = function(event)
    client = client or vim.lsp.start_client({ name = "cylfile", cmd = command, init_options = settings.init_options })
    if client then
      vim.lsp.buf_attach_client(event.buf, client)
    end
  end,
})
