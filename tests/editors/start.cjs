// Runs the extension with stand-ins for the editor and its client, and prints what it asked of them as JSON.
// Arguments: the extension, the settings as JSON, and `fails` where the server is to be missing.
const Module = require("module");
const [extension, settings, fails] = process.argv.slice(2);
const asked = { starts: [], stops: 0, warnings: [] };
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
  window: { showWarningMessage: (text) => asked.warnings.push(text) },
};
const load = Module._load;
Module._load = (name, ...more) =>
  name === "vscode" ? vscode : name === "vscode-languageclient/node" ? { LanguageClient } : load(name, ...more);
const subject = require(extension);
(async () => {
  const context = { subscriptions: [] };
  await subject.activate(context);
  await context.subscriptions[0].listener({ affectsConfiguration: (section) => section === "cylfile" });
  await subject.deactivate();
  console.log(JSON.stringify(asked));
})();
