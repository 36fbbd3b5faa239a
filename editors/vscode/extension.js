// Starts `cylfile serve` for the records and rule packs of this window. Colors need none of this.

const path = require("path");
const vscode = require("vscode");

let client;

function settings() {
  return vscode.workspace.getConfiguration("cylfile");
}

// When the server ended of itself: it is started again, but not for ever.
const MOST_ENDS = 4;
const WITHIN = 3 * 60 * 1000;
const ends = [];

function ended(closeAction) {
  ends.push(Date.now());
  if (ends.length > MOST_ENDS && ends.at(-1) - ends.shift() < WITHIN) {
    const again = "Start It Again";
    vscode.window
      .showErrorMessage("`cylfile serve` has ended again and again, so only colors are at hand.", again)
      .then((chosen) => chosen === again && restart());
    return { action: closeAction.DoNotRestart, handled: true };
  }
  vscode.window.showWarningMessage("`cylfile serve` has ended, and is started again.");
  return { action: closeAction.Restart, handled: true };
}

async function start() {
  if (!settings().get("serve")) {
    return;
  }
  const { CloseAction, ErrorAction, LanguageClient } = require("vscode-languageclient/node");
  const program = settings().get("path");
  const starting = new LanguageClient(
    "cylfile",
    "Cylinder records",
    { command: program, args: ["serve"] },
    {
      // An old revision that is shown beside a file is no part of the record.
      documentSelector: ["cyl", "cylpack"].flatMap((language) =>
        ["file", "untitled"].map((scheme) => ({ language, scheme })),
      ),
      initializationOptions: { hints: settings().get("hints") },
      errorHandler: {
        error: () => ({ action: ErrorAction.Continue }),
        closed: () => ended(CloseAction),
      },
    },
  );
  try {
    await starting.start();
    client = starting;
  } catch (refusal) {
    vscode.window.showWarningMessage(
      `\`${program} serve\` could not be started, so only colors are at hand. ` +
        "Install the program with its extra `editor`, or set cylfile.path.",
    );
  }
}

async function stop() {
  const running = client;
  client = undefined;
  if (running) {
    // One that was killed cannot be asked to end.
    await running.stop().catch(() => {});
  }
}

// Settings may change while a server starts, so one thing is done after the other.
let last = Promise.resolve();

function restart() {
  last = last.then(stop).then(start);
  return last;
}

// Runs the program in a terminal, about the record of the file that is looked at.
async function run(name, document, args) {
  await document.save();
  const folder = path.dirname(document.uri.fsPath);
  const task = new vscode.Task(
    { type: "cylfile", command: name },
    vscode.TaskScope.Workspace,
    name,
    "cylfile",
    new vscode.ProcessExecution(settings().get("path"), [...args, folder], { cwd: folder }),
    // What the server has found stands in Problems already.
    client ? [] : ["$cylfile-danger", "$cylfile-warning", "$cylfile-caution", "$cylfile-notice"],
  );
  task.presentationOptions = { clear: true };
  await vscode.tasks.executeTask(task);
}

function fileInFront() {
  const document = vscode.window.activeTextEditor?.document;
  if (document?.uri.scheme === "file") {
    return document;
  }
  vscode.window.showWarningMessage("Open a file of the record first.");
  return undefined;
}

async function lint() {
  const document = fileInFront();
  if (document) {
    await run("lint the record", document, ["lint", "--as", "lines"]);
  }
}

async function mayFill() {
  const document = fileInFront();
  if (!document) {
    return;
  }
  const word = document.getWordRangeAtPosition(vscode.window.activeTextEditor.selection.active);
  const proposed = word ? document.getText(word) : "";
  const name = await vscode.window.showInputBox({ prompt: "Which cylinder: its name, tag or serial", value: proposed });
  if (name) {
    await run(`may ${name} be filled`, document, ["may-fill", "--", name]);
  }
}

async function activate(context) {
  const { registerCommand } = vscode.commands;
  context.subscriptions.push(
    vscode.workspace.onDidChangeConfiguration(async (change) => {
      if (change.affectsConfiguration("cylfile")) {
        await restart();
      }
    }),
    registerCommand("cylfile.restart", restart),
    registerCommand("cylfile.lint", lint),
    registerCommand("cylfile.mayFill", mayFill),
  );
  await restart();
}

module.exports = { activate, deactivate: () => last.then(stop) };
