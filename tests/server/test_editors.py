"""
The server as real editors use it, with the files of `editors/`: Neovim, old and new, and Emacs.
"""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from support.workspaces import SHEET, put_on_path, write

ROOT = Path(__file__).resolve().parents[2]
EDITORS = ROOT / "editors"
# Neovim 0.11 starts servers in a way of its own; .ci/editors puts one there.
NEOVIMS = {"nvim": shutil.which("nvim"), "newer nvim": shutil.which("nvim", path=ROOT / ".venv-editors" / "bin")}
EGLOT = Path("/usr/share/emacs/site-lisp/elpa")


@pytest.fixture
def record(tmp_path, monkeypatch):
    """A record whose sheet has a line that cannot be read; the program stands on the path."""
    folder = tmp_path / "record"
    (folder / ".git").mkdir(parents=True)
    write(folder, sheet=SHEET.replace("4400 psi", "4400 PSI"))
    put_on_path(tmp_path, monkeypatch)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return folder


def said_by_neovim(which: str, script: str, tmp_path: Path, record: Path):
    """What a script in Lua writes into its file `out`, run in Neovim with the sheet of the record."""
    if not NEOVIMS[which]:
        pytest.skip(f"needs {which}")
    out, path = tmp_path / "out.json", tmp_path / "script.lua"
    path.write_text(script % {"editors": EDITORS, "sheet": record / "sheet.cyl", "out": out})
    run = subprocess.run(
        [NEOVIMS[which], "--headless", "-u", "NONE", "-i", "NONE", "-c", f"luafile {path}"],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert out.exists(), run.stderr
    return json.loads(out.read_text())


NEOVIM = """
vim.cmd("set runtimepath^=%(editors)s/vim,%(editors)s/neovim")
vim.cmd("syntax on | filetype plugin on | runtime! plugin/cylfile.lua ftdetect/cylfile.vim")
vim.cmd("edit %(sheet)s")
local found = function() return vim.diagnostic.get(0) end
vim.wait(30000, function() return #found() > 0 end, 50)
vim.wait(1500, function() return false end, 50)
local told = {}
for _, each in ipairs(found()) do
  local line = vim.api.nvim_buf_get_lines(0, each.lnum, each.lnum + 1, true)[1]
  table.insert(told, { each.code, line:sub(each.col + 1, each.end_col), each.source })
end
local position = { textDocument = { uri = vim.uri_from_bufnr(0) }, position = { line = 1, character = 10 } }
local hover = vim.lsp.buf_request_sync(0, "textDocument/hover", position, 10000)
local said = ""
for _, answer in pairs(hover or {}) do said = answer.result.contents.value end
local looks = {}
for _, each in ipairs(vim.inspect_pos and vim.inspect_pos(0, 2, 18).semantic_tokens or {}) do
  table.insert(looks, each.opts.hl_group)
end
local came = { filetype = vim.bo.filetype, told = told, hover = said, looks = looks }
vim.fn.writefile({ vim.fn.json_encode(came) }, "%(out)s")
vim.cmd("qa!")
"""


@pytest.mark.editors
@pytest.mark.parametrize("which", NEOVIMS)
def test_neovim(tmp_path, record, which):
    said = said_by_neovim(which, NEOVIM, tmp_path, record)
    assert said["filetype"] == "cyl"
    unreadable = [each for each in said["told"] if each[0] == "unreadable-line"]
    # Once: a server that pushes its findings and lets them be pulled too would be shown twice.
    assert unreadable == [["unreadable-line", "4400 PSI", "cylfile"]]
    assert "next test due by 2029-06-30" in said["hover"].replace("\\", "")
    # The older one has no tokens of a server's.
    assert said["looks"] == (["@lsp.type.wrong.cyl"] if which == "newer nvim" else [])


RESTART = """
vim.cmd("set runtimepath^=%(editors)s/vim,%(editors)s/neovim")
vim.cmd("syntax on | filetype plugin on | runtime! plugin/cylfile.lua ftdetect/cylfile.vim")
vim.cmd("edit %(sheet)s")
local said = {}
vim.notify = function(text) table.insert(said, text) end
local function ready() return #vim.diagnostic.get(0) > 0 end
local function clients() return (vim.lsp.get_clients or vim.lsp.get_active_clients)() end
local function ids() return vim.tbl_map(function(each) return each.id end, clients()) end
vim.wait(30000, ready, 50)
local keys = vim.tbl_map(function(each) return each.lhs end, vim.api.nvim_buf_get_keymap(0, "n"))
local before = ids()
for _, child in ipairs(vim.fn.systemlist({ "pgrep", "-P", tostring(vim.fn.getpid()), "-f", "cylfile serve" })) do
  vim.loop.kill(tonumber(child), "sigkill")
end
local function is_another(than) return function() return #ids() == 1 and ids()[1] ~= than[1] and ready() end end
vim.wait(30000, is_another(before), 50)
local after = ids()
vim.cmd("CylfileRestart")
vim.wait(30000, is_another(after), 50)
vim.fn.writefile({ vim.fn.json_encode({
  keys = keys, omnifunc = vim.bo.omnifunc, ids = { before[1], after[1], ids()[1] }, said = said, found = #vim.diagnostic.get(0),
}) }, "%(out)s")
vim.cmd("qa!")
"""


SLOWLY = """
vim.g.cylfile_command = { "slow-cylfile" }
vim.cmd("set runtimepath^=%(editors)s/vim,%(editors)s/neovim")
vim.cmd("syntax on | filetype plugin on | runtime! plugin/cylfile.lua ftdetect/cylfile.vim")
vim.cmd("edit %(sheet)s")
local function ids()
  return vim.tbl_map(function(each) return each.id end, (vim.lsp.get_clients or vim.lsp.get_active_clients)())
end
vim.wait(30000, function() return #vim.diagnostic.get(0) > 0 end, 50)
local before = ids()
vim.cmd("CylfileRestart")
vim.wait(30000, function() return #ids() == 1 and ids()[1] ~= before[1] and #vim.diagnostic.get(0) > 0 end, 50)
vim.fn.writefile({ vim.fn.json_encode({ before, ids() }) }, "%(out)s")
vim.cmd("qa!")
"""


@pytest.mark.editors
@pytest.mark.parametrize("which", NEOVIMS)
def test_neovim_starts_a_server_again_that_takes_its_time_to_end(tmp_path, record, which):
    slow = Path(shutil.which("cylfile")).with_name("slow-cylfile")
    slow.write_text('#!/bin/sh\ncylfile "$@"\nsleep 2\n')
    slow.chmod(0o755)
    before, after = said_by_neovim(which, SLOWLY, tmp_path, record)
    assert len(before) == len(after) == 1 and before != after


@pytest.mark.editors
@pytest.mark.parametrize("which", NEOVIMS)
def test_neovim_has_keys_and_starts_a_server_again_that_was_killed(tmp_path, record, which):
    said = said_by_neovim(which, RESTART, tmp_path, record)
    assert {"K", "gd", "grn", "gra", "grr", "gO"} <= set(said["keys"])
    assert said["omnifunc"] == "v:lua.vim.lsp.omnifunc"
    assert len(set(said["ids"])) == 3 and said["found"] > 0
    # Once: the server that is ended on demand has not ended of itself.
    ours = [text for text in said["said"] if text.startswith("cylfile serve")]
    assert ours == ["cylfile serve has ended, and is started again"]


EMACS = """
(setq package-user-dir (expand-file-name "elpa" (getenv "HOME")))
(dolist (folder (directory-files "%(eglot)s" t "^[a-z]")) (add-to-list 'load-path folder))
(add-to-list 'load-path "%(editors)s/emacs")
(require 'cyl-mode)
(require 'eglot)
(setq eglot-connect-timeout 60 eglot-sync-connect 60)
(find-file "%(sheet)s")
(remove-hook 'flymake-diagnostic-functions #'cyl-flymake t)
(apply #'eglot (eglot--guess-contact))
(with-timeout (60) (while (not (flymake-diagnostics)) (accept-process-output nil 0.1)))
(dolist (each (flymake-diagnostics))
  (princ (format "%%s|%%s\\n" (buffer-substring (flymake-diagnostic-beg each) (flymake-diagnostic-end each))
                 (car (split-string (flymake-diagnostic-text each) "\\n")))))
(eglot-shutdown-all)
"""


@pytest.mark.editors
def test_emacs_with_eglot(tmp_path, record):
    if not shutil.which("emacs") or not EGLOT.is_dir():
        pytest.skip("needs emacs and eglot")
    script = tmp_path / "script.el"
    script.write_text(EMACS % {"eglot": EGLOT, "editors": EDITORS, "sheet": record / "sheet.cyl"})
    run = subprocess.run(["emacs", "-Q", "--batch", "-l", script], capture_output=True, text=True, timeout=180)
    told = [line for line in run.stdout.splitlines() if line.startswith("4400 PSI|")]
    assert len(told) == 1 and "`PSI` is not a unit" in told[0], run.stdout + run.stderr


@pytest.mark.editors
def test_the_wire_code_of_visual_studio_code(tmp_path, record):
    modules = EDITORS / "vscode" / "node_modules"
    if not shutil.which("node") or not (modules / "vscode-languageclient").is_dir():
        pytest.skip("needs node, and `npm install` in editors/vscode")
    script = tmp_path / "client.cjs"
    script.write_text(
        """
const [modules, folder] = process.argv.slice(2);
const { pathToFileURL } = require("url");
const fs = require("fs");
// The very code that the editor's client speaks with.
const paths = [modules + "/vscode-languageclient"];
const protocol = require(require.resolve("vscode-languageserver-protocol/node", { paths }));
const server = require("child_process").spawn("cylfile", ["serve", "--stdio"], { stdio: ["pipe", "pipe", "inherit"] });
const wire = protocol.createProtocolConnection(
  new protocol.StreamMessageReader(server.stdout), new protocol.StreamMessageWriter(server.stdin));
const uri = pathToFileURL(folder).href;
wire.onNotification(protocol.PublishDiagnosticsNotification.type, async (told) => {
  if (!told.uri.endsWith("sheet.cyl") || !told.diagnostics.some((each) => each.code === "unreadable-line")) return;
  server.on("exit", (status) => { console.log(JSON.stringify({ status, told: told.diagnostics })); process.exit(0); });
  await wire.sendRequest(protocol.ShutdownRequest.type);
  await wire.sendNotification(protocol.ExitNotification.type);
});
wire.listen();
(async () => {
  const capabilities = { general: { positionEncodings: ["utf-16"] } };
  const began = await wire.sendRequest(protocol.InitializeRequest.type,
    { processId: process.pid, rootUri: uri, capabilities, workspaceFolders: [{ uri, name: "record" }] });
  if (began.capabilities.positionEncoding !== "utf-16" || began.capabilities.textDocumentSync.change !== 2) process.exit(3);
  if (began.capabilities.diagnosticProvider) process.exit(4);
  await wire.sendNotification(protocol.InitializedNotification.type, {});
  const text = fs.readFileSync(folder + "/sheet.cyl", "utf8");
  await wire.sendNotification(protocol.DidOpenTextDocumentNotification.type,
    { textDocument: { uri: uri + "/sheet.cyl", languageId: "cyl", version: 1, text } });
})();
"""
    )
    run = subprocess.run(["node", script, modules, record], capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stderr
    said = json.loads(run.stdout)
    assert said["status"] == 0
    (unreadable,) = [each for each in said["told"] if each["code"] == "unreadable-line"]
    assert unreadable["range"]["start"] == {"line": 2, "character": 18}
