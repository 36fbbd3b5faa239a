-- Starts `cylfile serve` for records and rule packs: findings as you type, completion, hover and the rest.
-- Set vim.g.cylfile_command before it is loaded where the program has another name, such as { "/opt/bin/cylfile" }.

if vim.fn.has("nvim-0.7") == 0 or vim.g.loaded_cylfile then
  return
end
vim.g.loaded_cylfile = true

local kinds = { "cyl", "cylpack" }

local function attached(client, buffer)
  vim.bo[buffer].omnifunc = "v:lua.vim.lsp.omnifunc"
  -- The keys that Neovim has of itself from 0.11 on.
  local keys = {
    K = "hover",
    gd = "definition",
    grn = "rename",
    gra = "code_action",
    grr = "references",
    gO = "document_symbol",
  }
  for key, does in pairs(keys) do
    vim.keymap.set("n", key, function() vim.lsp.buf[does]() end, { buffer = buffer, desc = "cylfile: " .. does })
  end
  vim.diagnostic.config({ virtual_text = true }, vim.lsp.diagnostic.get_namespace(client.id))
end

local settings = {
  name = "cylfile",
  cmd = vim.list_extend(vim.deepcopy(vim.g.cylfile_command or { "cylfile" }), { "serve" }),
  filetypes = kinds,
  -- The server finds the record of a file by itself, so nothing rests on these.
  root_markers = { "department.cyl", ".git" },
  init_options = { hints = vim.g.cylfile_hints or false },
  on_attach = attached,
}

-- Before 0.11 nothing starts a server for a kind of file, so this does: one for all records.
local client
local function attach(buffer)
  client = client or vim.lsp.start_client(settings)
  if client then
    vim.lsp.buf_attach_client(buffer, client)
  end
end

local function buffers()
  return vim.tbl_filter(function(buffer)
    return vim.api.nvim_buf_is_loaded(buffer) and vim.tbl_contains(kinds, vim.bo[buffer].filetype)
  end, vim.api.nvim_list_bufs())
end

local function start_again()
  vim.defer_fn(function()
    for _, buffer in ipairs(buffers()) do
      vim.api.nvim_buf_call(buffer, function() vim.cmd("doautocmd FileType " .. vim.bo[buffer].filetype) end)
    end
  end, 500)
end

-- Whether a server is to be started again as soon as the one that was told to end has ended.
local restarts = false
-- A server that ends of itself is started again, but not for ever: how many times in how many seconds.
local most, within, ends = 4, 180, {}

settings.on_exit = function(status, signal)
  client = nil
  if vim.v.exiting ~= vim.NIL then
    return
  end
  if restarts then
    restarts = false
    vim.schedule(start_again)
    return
  end
  if status == 0 and signal == 0 then
    return
  end
  vim.schedule(function()
    table.insert(ends, os.time())
    if #ends > most and ends[#ends] - table.remove(ends, 1) < within then
      vim.notify("cylfile serve has ended again and again; :CylfileRestart starts it", vim.log.levels.ERROR)
    else
      vim.notify("cylfile serve has ended, and is started again", vim.log.levels.WARN)
      start_again()
    end
  end)
end

vim.api.nvim_create_user_command("CylfileRestart", function()
  for _, running in pairs((vim.lsp.get_clients or vim.lsp.get_active_clients)()) do
    if running.name == "cylfile" then
      restarts = true
      running.stop()
    end
  end
  if not restarts then
    start_again()
  end
end, { desc = "Start the server of cylinder records again" })

-- What cannot be read looks so, where semantic tokens are shown.
vim.api.nvim_set_hl(0, "@lsp.type.wrong", { link = "Error", default = true })

if vim.lsp.config then
  vim.lsp.config("cylfile", settings)
  vim.lsp.enable("cylfile")
else
  vim.api.nvim_create_autocmd("FileType", { pattern = kinds, callback = function(event) attach(event.buf) end })
end
