// Starts `cylfile serve` for the records and rule packs of this window. Colors need none of this.

const vscode = require("vscode");

let client;

function settings() {
  return vscode.workspace.getConfiguration("cylfile");
}

async function start() {
  if (!settings().get("serve")) {
    return;
  }
  const { LanguageClient } = require("vscode-languageclient/node");
  const program = settings().get("path");
  client = new LanguageClient(
    "cylfile",
    "Cylinder records",
    { command: program, args: ["serve"] },
    {
      // An old revision that is shown beside a file is no part of the record.
      documentSelector: ["cyl", "cylpack"].flatMap((language) =>
        ["file", "untitled"].map((scheme) => ({ language, scheme })),
      ),
      initializationOptions: { hints: settings().get("hints") },
    },
  );
  try {
    await client.start();
  } catch (refusal) {
    client = undefined;
    vscode.window.showWarningMessage(
      `\`${program} serve\` could not be started, so only colors are at hand. ` +
        "Install it with: pip install cylfile[editor], or set cylfile.path.",
    );
  }
}

async function stop() {
  const running = client;
  client = undefined;
  if (running) {
    await running.stop();
  }
}

async function activate(context) {
  context.subscriptions.push(
    vscode.workspace.onDidChangeConfiguration(async (change) => {
      if (change.affectsConfiguration("cylfile")) {
        await stop();
        await start();
      }
    }),
  );
  await start();
}

module.exports = { activate, deactivate: stop };
