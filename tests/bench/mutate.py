"""
How well the tests hold what the program does: small faults are put into it, one at a time, and the tests have to fail.

`python tests/bench/mutate.py` draws 300 faults in history, judging, packs and air, with the commit as the seed, and runs
for each only the tests of its package, in a copy of this checkout. What survives is printed with its place. A fault that
changes nothing that anybody could see is listed in `EQUIVALENT` with the reason, and another one is drawn instead.

    python tests/bench/mutate.py --only cylfile/history/life.py --mutants 40
"""

import argparse
import ast
import copy
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import islice
from pathlib import Path
from queue import SimpleQueue
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("cylfile", "grammar", "tests", "examples", "editors", "pyproject.toml", "README.md", "DEVELOPERS.md")
CPU_SECONDS = 300

# The start of a path -> the tests that hold what is there, the nearest first. The longest start counts.
TESTS = {
    "cylfile/air/": ("tests/air", "tests/sources/test_free_air.py"),
    "cylfile/packs/": ("tests/packs", "tests/outside", "tests/commands/test_rules_command.py"),
    "cylfile/history/": (
        "tests/history", "tests/outside", "tests/packs", "tests/daily", "tests/sources", "tests/examples/test_demo.py",
    ),
    "cylfile/history/sources/": ("tests/sources", "tests/trace", "tests/packs", "tests/examples/test_demo.py"),
    "cylfile/judging/": (
        "tests/daily", "tests/history", "tests/show", "tests/packs", "tests/outside", "tests/sources", "tests/record",
        "tests/examples/test_demo.py", "tests/commands/test_lint.py",
    ),
}  # fmt: skip

# Fault, as it is printed but for its line -> why nobody could ever see it.
EQUIVALENT: dict[str, str] = {}

_COMPARISONS: dict[type, tuple[type, ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
_OPERATIONS: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.Pow: ast.Mult,
}  # fmt: skip
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}
# What is inside says nothing about what the program does.
_PASSED_OVER = ("__repr__",)


class Fault(NamedTuple):
    """One change of one file: where it stands, what stood there and what stands there now; `number` tells which it is."""

    path: str
    number: int
    line: int
    function: str
    was: str
    now: str

    @property
    def name(self) -> str:
        """What tells it from others as long as the line itself is not changed."""
        return f"{self.path} {self.function}: {self.was} -> {self.now}"

    def __str__(self) -> str:
        return f"{self.path}:{self.line}  {self.function}: {self.was} -> {self.now}"


def faults_of(path: str) -> Iterator[Fault]:
    """All faults that can be put into a file."""
    for number, (function, original, changed, _) in enumerate(_faulty(ast.parse(_text(path)))):
        yield Fault(path, number, original.lineno, function, _shown(original), _shown(changed))


def text_with(fault: Fault) -> str:
    """The text of a file with a fault in it."""
    tree = ast.parse(_text(fault.path))
    _, _, changed, put = next(islice(_faulty(tree), fault.number, None))
    put(changed)
    return ast.unparse(ast.fix_missing_locations(tree))


def _text(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def _faulty(tree: ast.AST) -> Iterator[tuple[str, ast.AST, ast.AST, Callable[[ast.AST], None]]]:
    """Of every fault: the function it is in, the node, what may stand in its place, and what puts it there."""
    for function, node, field, index in _sites(tree, "module"):
        held = getattr(node, field)
        original = held if index is None else held[index]
        for changed in _changes(original):
            yield function, original, changed, partial(_put, node, field, index)


def _sites(node: ast.AST, function: str) -> Iterator[tuple[str, ast.AST, str, int | None]]:
    """Every expression and statement below a node, as the node and the field that hold it."""
    for field, held in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list", "type_comment"):
            continue
        children = enumerate(held) if isinstance(held, list) else [(None, held)]
        for index, child in children:
            if not isinstance(child, ast.AST) or _is_passed_over(child):
                continue
            within = function
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                within = child.name if function == "module" else f"{function}.{child.name}"
            if isinstance(child, ast.expr | ast.stmt):
                yield within, node, field, index
            yield from _sites(child, within)


def _is_passed_over(node: ast.AST) -> bool:
    if isinstance(node, ast.FunctionDef) and node.name in _PASSED_OVER:
        return True
    is_docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    is_for_types = isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    is_slots = isinstance(node, ast.Assign) and any(
        isinstance(t, ast.Name) and t.id == "__slots__" for t in node.targets
    )
    return (
        is_docstring
        or is_for_types
        or is_slots
        or isinstance(node, ast.Assert | ast.JoinedStr | ast.Import | ast.ImportFrom)
    )


def _changes(node: ast.AST) -> Iterator[ast.AST]:
    """What may stand in place of a node."""
    match node:
        case ast.Compare(ops=ops):
            for index, op in enumerate(ops):
                for other in _COMPARISONS.get(type(op), ()):
                    changed = copy.deepcopy(node)
                    changed.ops[index] = other()
                    yield changed
        case ast.BoolOp():
            changed = copy.deepcopy(node)
            changed.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
            yield changed
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield node.operand
        case ast.BinOp() if type(node.op) in _OPERATIONS:
            changed = copy.deepcopy(node)
            changed.op = _OPERATIONS[type(node.op)]()
            yield changed
        case ast.Constant(value=bool()):
            yield ast.copy_location(ast.Constant(not node.value), node)
        case ast.Constant(value=int() | float()):
            yield ast.copy_location(ast.Constant(node.value + 1), node)
        case ast.IfExp():
            changed = copy.deepcopy(node)
            changed.body, changed.orelse = changed.orelse, changed.body
            yield changed
        case ast.Call(func=ast.Name(id=name)) if name in _CALLS:
            changed = copy.deepcopy(node)
            changed.func.id = _CALLS[name]
            yield changed
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            yield ast.copy_location(ast.Return(ast.Constant(None)), node)
        case ast.If(test=test) if not isinstance(test, ast.Compare | ast.BoolOp | ast.UnaryOp):
            changed = copy.copy(node)
            changed.test = ast.UnaryOp(ast.Not(), test)
            yield changed
        case ast.Expr(value=ast.Call()) | ast.AugAssign():
            yield ast.copy_location(ast.Pass(), node)
        case ast.Continue():
            yield ast.copy_location(ast.Break(), node)
        case ast.Break():
            yield ast.copy_location(ast.Continue(), node)


def _put(node: ast.AST, field: str, index: int | None, child: ast.AST) -> None:
    if index is None:
        setattr(node, field, child)
    else:
        getattr(node, field)[index] = child


def _shown(node: ast.AST) -> str:
    """One line that shows a node; of a statement with others in it, its head."""
    return "`" + ast.unparse(ast.fix_missing_locations(copy.deepcopy(node))).split("\n")[0] + "`"


def tests_of(path: str) -> tuple[str, ...]:
    return TESTS[max((start for start in TESTS if path.startswith(start)), key=len)]


def ending(checkout: Path, fault: Fault) -> str | None:
    """The test that fails with the fault in its place, `the limit of time`, or None where all pass."""
    file = checkout / fault.path
    file.write_text(text_with(fault), encoding="utf-8")
    # Bytecode is told from old one by whole seconds, which two faults may share.
    for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
        compiled.unlink()
    return failing(checkout, fault.path)


def failing(checkout: Path, path: str) -> str | None:
    """The test of a file's that fails in a checkout, if any."""
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist",
         "--hypothesis-seed=0", *tests_of(path)],
        cwd=checkout, env={**clean_environment(), "PYTHONPATH": str(checkout)}, capture_output=True, text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS)),
    )  # fmt: skip
    if run.returncode < 0:
        return "the limit of time"
    told = [line for line in run.stdout.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    return told[0].split(" ", 1)[1].split(" - ")[0] if told else "the start" if run.returncode else None


def clean_environment() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}


def copied(into: Path) -> Path:
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, into / name, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
        else:
            shutil.copy(ROOT / name, into / name)
    return into


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--mutants", type=int, default=300, metavar="N", help="how many faults are drawn")
    parser.add_argument("--only", default="", metavar="PATH", help="only in files whose path begins so")
    parser.add_argument("--seed", help="what the faults are drawn by, in place of the commit")
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="how many are tried at a time")
    options = parser.parse_args()
    commit = ["git", "rev-parse", "HEAD"]
    seed = options.seed or subprocess.run(commit, cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()

    starts = sorted(TESTS)
    paths = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "cylfile").rglob("*.py"))
    paths = [path for path in paths if path.startswith(tuple(starts)) and path.startswith(options.only)]
    faults = [fault for path in paths for fault in faults_of(path)]
    random.Random(seed).shuffle(faults)
    drawn = [fault for fault in faults if fault.name not in EQUIVALENT][: options.mutants]
    passed_over = sum(fault.name in EQUIVALENT for fault in faults[: options.mutants])
    print(
        f"{len(drawn)} of {len(faults)} faults, drawn by {seed}; {passed_over} that nobody could see were passed over"
    )

    with tempfile.TemporaryDirectory(prefix="mutants") as folder, ThreadPoolExecutor(options.jobs) as pool:
        checkouts: SimpleQueue[Path] = SimpleQueue()
        for number in range(options.jobs):
            (Path(folder) / str(number)).mkdir()
            checkouts.put(copied(Path(folder) / str(number)))

        def try_out(fault: Fault) -> str | None:
            checkout = checkouts.get()
            try:
                return ending(checkout, fault)
            finally:
                shutil.copy(ROOT / fault.path, checkout / fault.path)
                checkouts.put(checkout)

        for path in {next(path for path in paths if tests_of(path) == tests) for tests in map(tests_of, paths)}:
            checkout = checkouts.get()
            if wrong := failing(checkout, path):
                sys.exit(f"{wrong} fails without any fault")
            checkouts.put(checkout)
        survivors = []
        for fault, killer in zip(drawn, pool.map(try_out, drawn)):
            print(f"{'killed  ' if killer else 'SURVIVED'}  {fault}" + (f"  by {killer}" if killer else ""), flush=True)
            if killer is None:
                survivors.append(fault)
    print(f"\n{len(drawn) - len(survivors)} of {len(drawn)} killed, {1 - len(survivors) / len(drawn):.1%}")
    for path, count in Counter(fault.path for fault in survivors).most_common():
        print(f"{count:4}  {path}")
    for fault in survivors:
        print(f"survived  {fault}")


if __name__ == "__main__":
    main()
