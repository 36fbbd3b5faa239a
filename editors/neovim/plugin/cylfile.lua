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
  root_markers = { ".git" },
  init_options = { hints = vim.g.cylfile_hints or false },
}

if vim.lsp.config then
  vim.lsp.config("cylfile", settings)
  vim.lsp.enable("cylfile")
  return
end

-- Before 0.11 nothing starts a server for a kind of file, so this does, once for each record.
local clients = {}
vim.api.nvim_create_autocmd("FileType", {
  pattern = settings.filetypes,
  callback = function(event)
    local name = vim.api.nvim_buf_get_name(event.buf)
    local git = vim.fn.finddir(".git", vim.fn.fnamemodify(name, ":p:h") .. ";")
    local root = vim.fn.fnamemodify(git ~= "" and git or name, git ~= "" and ":p:h:h" or ":p:h")
    clients[root] = clients[root]
      or vim.lsp.start_client({
        name = "cylfile",
        cmd = command,
        root_dir = root,
        workspace_folders = { { uri = vim.uri_from_fname(root), name = root } },
        init_options = settings.init_options,
      })
    if clients[root] then
      vim.lsp.buf_attach_client(event.buf, clients[root])
    end
  end,
})
