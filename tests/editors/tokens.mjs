// Prints, for every line of a file, the innermost scopes that a TextMate grammar gives its characters,
// as JSON. Arguments: the folder of node_modules, the scope, the file, and the grammars.
import fs from "fs";
import path from "path";
import { createRequire } from "module";

const [modules, scope, file, ...grammars] = process.argv.slice(2);
const require = createRequire(path.join(modules, "here.js"));
const textmate = require("vscode-textmate");
const oniguruma = require("vscode-oniguruma");
await oniguruma.loadWASM(fs.readFileSync(path.join(path.dirname(require.resolve("vscode-oniguruma")), "onig.wasm")));
const raw = grammars.map((name) => textmate.parseRawGrammar(fs.readFileSync(name, "utf8"), name));
const registry = new textmate.Registry({
  onigLib: Promise.resolve({
    createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
    createOnigString: (text) => new oniguruma.OnigString(text),
  }),
  loadGrammar: async (name) => raw.find((grammar) => grammar.scopeName === name),
});
const grammar = await registry.loadGrammar(scope);
let state = textmate.INITIAL;
const lines = fs.readFileSync(file, "utf8").split("\n").map((line) => {
  const result = grammar.tokenizeLine(line, state);
  state = result.ruleStack;
  return result.tokens.map((token) => [token.startIndex, token.endIndex, token.scopes.at(-1)]);
});
console.log(JSON.stringify(lines));
