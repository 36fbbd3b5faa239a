// Runs the extension with stand-ins for the editor and its client, and prints what it asked of them as JSON.
// Arguments: the extension, the settings as JSON, `fails` where the server is to be missing, and how often it ends of itself.
const Module = require("module");
const [extension, settings, fails, ends] = process.argv.slice(2);
const asked = { starts: [], stops: 0, warnings: [], commands: [] };
const CloseAction = { DoNotRestart: 1, Restart: 2 };
class LanguageClient {
  constructor(id, name, server, client) {
    asked.starts.push({ id, name, server, client });
  }
  async start() {
    if (fails) throw new Error("spawn cylfile ENOENT");
  }
  async stop() {
    asked.stops += 1;
  }
}
const vscode = {
  workspace: {
    getConfiguration: (section) => ({ get: (key) => JSON.parse(settings)[`${section}.${key}`] }),
    onDidChangeConfiguration: (listener) => ({ listener, dispose() {} }),
  },
  commands: { registerCommand: (name, does) => (asked.commands.push(name), { dispose() {} }) },
  window: {
    showWarningMessage: (text) => asked.warnings.push(text),
    showErrorMessage: async (text) => asked.warnings.push(text),
  },
};
const load = Module._load;
Module._load = (name, ...more) =>
  name === "vscode" ? vscode : name === "vscode-languageclient/node" ? { LanguageClient, CloseAction, ErrorAction: { Continue: 1 } } : load(name, ...more);
const subject = require(extension);
(async () => {
  const context = { subscriptions: [] };
  await subject.activate(context);
  await context.subscriptions[0].listener({ affectsConfiguration: (section) => section === "cylfile" });
  if (ends) {
    const { closed } = asked.starts[0].client.errorHandler;
    asked.closed = Array.from({ length: Number(ends) }, () => closed().action === CloseAction.Restart);
  }
  await subject.deactivate();
  console.log(JSON.stringify(asked));
})();
