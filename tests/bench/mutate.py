"""
How well the tests hold what the program does: small faults are put into it, one at a time, and the tests have to fail.

`python tests/bench/mutate.py` draws 300 faults in history, judging, packs and air, with the commit as the seed. The tests
run once to learn which of them run which line; then each fault is met, in a copy of this checkout, by the tests that run
its line and after them by those that run its file, the quickest first. What survives is printed with its place. A fault
that changes nothing that anybody could see is listed in `EQUIVALENT` with the reason, and another one is drawn instead.

    python tests/bench/mutate.py --only cylfile/history/life.py --mutants 40 --jobs 2
"""

import argparse
import ast
import copy
import multiprocessing
import os
import pickle
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import islice
from pathlib import Path
from typing import NamedTuple

# Loaded before any fork, so that no fault waits for them.
import coverage
import hypothesis  # noqa: F401
import lark  # noqa: F401
import pytest
import rich.console  # noqa: F401

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("cylfile", "grammar", "tests", "examples", "editors", "pyproject.toml", "README.md", "DEVELOPERS.md")
# What is kept of the program as it is would be taken for what it makes.
NOT_COPIED = ("__pycache__", "node_modules", "made")
FAULTY = ("cylfile/air/", "cylfile/history/", "cylfile/judging/", "cylfile/packs/")
# Its tests start a scheduler and workers, and are run by `pytest -m cluster` alone.
PASSED_OVER = "cylfile/judging/cluster.py"
TESTS = (
    "tests/history", "tests/judging", "tests/packs", "tests/record", "tests/outside", "tests/daily", "tests/sources", "tests/trace", "tests/air", "tests/seal",
    "tests/compare", "tests/rewriting", "tests/publish", "tests/show", "tests/commands", "tests/git", "tests/examples/test_demo.py",
)  # fmt: skip
# What the tests of one fault may take, in seconds of the processor, by what they took without it.
SECONDS = 20
# Beyond it a fault is taken for an endless loop.
LIMIT = 3 * SECONDS
# So many tests run first; most faults are killed by them, before the files of the others are read.
FIRST = 25

# Fault, as it is printed but for its line -> why nobody could ever see it.
_AT_THE_LIMIT = "at the limit itself the other branch gives 0 as well"
_BY_A_SECOND = "the last second of a day is never the first of another"
_BY_A_HAIR = "no two pressures that can be written are a millionth of a psi apart, to the last digit"
EQUIVALENT: dict[str, str] = {
    "cylfile/history/facts.py _over_limit: `pressure <= limit` -> `pressure < limit`": _AT_THE_LIMIT,
    "cylfile/history/facts.py _over_hot_limit: `hot <= limit` -> `hot < limit`": _AT_THE_LIMIT,
    "cylfile/history/life.py Life.over_test_pressure: `over <= 0.0` -> `over < 0.0`": _AT_THE_LIMIT,
    "cylfile/history/order.py _Blocks._look: `one.day > other.day` -> `one.day >= other.day`": "what is looked at then besides are blocks in which no line is out of place",
    "cylfile/history/sources/air_log.py AirLog.suspicion: `0` -> `1`": "what was answered last is never found again, and asked anew with the same answer",
    "cylfile/judging/fill_answer.py _tell_of_fill: `fill.reading.value > stop + _HAIR` -> `fill.reading.value >= stop + _HAIR`": _BY_A_HAIR,
    "cylfile/judging/fill_answer.py _tell_pressures: `source.rated.value > limit + _HAIR` -> `source.rated.value >= limit + _HAIR`": _BY_A_HAIR,
    "cylfile/history/order.py _Blocks._out_of_place: `last < latest` -> `last <= latest`": _BY_A_SECOND,
    "cylfile/history/order.py _Blocks._out_of_place: `other[1] < span[0]` -> `other[1] <= span[0]`": _BY_A_SECOND,
    "cylfile/history/order.py _Blocks._out_of_place: `span[1] < other[0]` -> `span[1] <= other[0]`": _BY_A_SECOND,
    "cylfile/history/order.py _Blocks._out_of_place: `following < span` -> `following <= span`": "they do not overlap",
    "cylfile/packs/worth.py _always_has_a_result: `node.sign == '*'` -> `node.sign != '*'`": "what is asked then whether it has a result has one",
    "cylfile/packs/wording.py _volume: `abs(feet) >= 100` -> `abs(feet) > 100`": "a hundred cubic feet are written alike",
    "cylfile/history/life.py Life._is_over_test_pressure: `entry.reading.value <= proof` -> `entry.reading.value < proof`": _AT_THE_LIMIT,
    "cylfile/history/life.py Life._limit_fills: `6` -> `7`": "a millionth of a psi and a tenth of that are the same pressure",
    "cylfile/judging/fill_answer.py _line_of: `0` -> `1`": "only a first line that is blank would be taken along",
    "cylfile/packs/pack_sentences.py SentenceReader.template: `0` -> `1`": "a brace never stands first in a file",
    "cylfile/air/equation.py pressure: `0 < density <= HIGHEST_DENSITY` -> `0 < density < HIGHEST_DENSITY`": "air so dense is over 100 MPa at any temperature, and is refused for that",
}

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
_NOT_LOOKED_AT = ("__repr__",)


class Fault(NamedTuple):
    """One change of one file: where it stands, what stood there and what stands there now; `number` tells which it is."""

    path: str
    number: int
    line: int
    last_line: int
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
        yield Fault(path, number, original.lineno, _last_line(original), function, _shown(original), _shown(changed))


def _last_line(node: ast.AST) -> int:
    """The last line of an expression; of a statement with others in it, of its head."""
    return node.test.end_lineno if isinstance(node, ast.If) else node.end_lineno


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
    if isinstance(node, ast.FunctionDef) and node.name in _NOT_LOOKED_AT:
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


class Reach:
    """Learns, as a plugin of pytest, which tests run which lines, and how long each takes."""

    def __init__(self, checkout: Path):
        self.checkout = checkout
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.coverage = coverage.Coverage(
            data_file=None, config_file=False, include=[f"{checkout}/{start}*" for start in FAULTY]
        )
        self.coverage.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        self.coverage.switch_context(item.nodeid)
        begun = time.process_time()
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - begun
            self.coverage.switch_context("")

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.failed.add(report.nodeid)

    def learned(self, status: int) -> tuple[dict[str, float], dict[str, dict[int, set[str]]], set[str]]:
        """The seconds of each test, the tests of each line of each file, and the tests that fail without any fault."""
        self.coverage.stop()
        data = self.coverage.get_data()
        lines = {
            Path(file).relative_to(self.checkout).as_posix(): {
                line: set(tests) - {""} - self.failed for line, tests in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
        return self.seconds, lines, self.failed


class Chosen:
    """Runs, as a plugin of pytest, some tests in the order that they are given in, and keeps which one fails."""

    def __init__(self, tests: list[str]):
        self.place = {test: place for place, test in enumerate(tests)}
        self.killer: str | None = None

    def pytest_collection_modifyitems(self, items):
        items[:] = sorted(
            (item for item in items if item.nodeid in self.place), key=lambda item: self.place[item.nodeid]
        )

    def pytest_collectreport(self, report):
        if report.failed:
            self.killer = f"the start of {report.nodeid}"

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.killer = report.nodeid

    def learned(self, status: int) -> str | None:
        is_well = status in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)
        return self.killer or (None if is_well else "the start")


def tested(checkout: Path, tests: list[str], plugin: Callable, limit: int = 0):
    """What a plugin learned when tests ran in a fork of this process, or None where it was ended by its limit."""
    ours, theirs = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.close(ours)
            if limit:
                resource.setrlimit(resource.RLIMIT_CPU, (limit, limit))
                # A test that waits for ever takes no time of the processor.
                signal.alarm(10 * limit)
            silence = os.open(os.devnull, os.O_RDWR)
            for stream in range(3):
                os.dup2(silence, stream)
            os.chdir(checkout)
            sys.path[:] = [str(checkout), *(place for place in sys.path if place != str(ROOT))]
            for name in [name for name in os.environ if name.startswith("PYTHON")]:
                del os.environ[name]
            used = plugin()
            words = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--hypothesis-seed=0", f"--rootdir={checkout}"]
            status = pytest.main([*words, *(["-x"] if limit else []), *tests], plugins=[used])
            with os.fdopen(theirs, "wb") as told:
                pickle.dump(used.learned(status), told)
        except BaseException:
            Path(checkout, "failed.txt").write_text(traceback.format_exc())
        finally:
            os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as told:
        learned = told.read()
    os.waitpid(child, 0)
    return (True, pickle.loads(learned)) if learned else (False, None)


class Tests:
    """Which tests there are for a fault."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.lines: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
        self.failed: set[str] = set()

    def add(self, learned: tuple[dict[str, float], dict[str, dict[int, set[str]]], set[str]]) -> None:
        seconds, lines, failed = learned
        self.seconds |= seconds
        self.failed |= failed
        for path, held in lines.items():
            for line, tests in held.items():
                self.lines[path][line] |= tests

    def of(self, fault: Fault) -> list[str]:
        """The tests of a fault: those of its line, then those of its file, as many as there is time for."""
        lines = self.lines[fault.path]
        nearest = set().union(*(lines[line] for line in range(fault.line, fault.last_line + 1) if line in lines))
        others = set().union(*lines.values()) - nearest
        time_left = SECONDS
        chosen = []
        for test in [*sorted(nearest, key=self._order), *sorted(others, key=self._order)]:
            time_left -= self.seconds[test]
            if time_left < 0:
                break
            chosen.append(test)
        return chosen

    def _order(self, test: str) -> tuple[float, str]:
        return self.seconds[test], test


def learn(folder: Path, tests: str):
    return tested(checkout_of(folder), [tests], partial(Reach, checkout_of(folder)))[1]


def ending(folder: Path, fault: Fault, tests: list[str]) -> str | None:
    """The test that fails with the fault in its place, `the limit of time`, or None where all pass."""
    checkout = checkout_of(folder)
    file = checkout / fault.path
    try:
        file.write_text(text_with(fault), encoding="utf-8")
        for part in (tests[:FIRST], tests[FIRST:]):
            # Bytecode is told from old one by whole seconds, which two faults may share.
            for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
                compiled.unlink()
            if part:
                files = sorted({test.split("::")[0] for test in part})
                has_ended, killer = tested(checkout, files, partial(Chosen, part), LIMIT)
                if killer or not has_ended:
                    return killer or "the limit of time"
        return None
    finally:
        shutil.copy(ROOT / fault.path, file)
        for compiled in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
            compiled.unlink()


def checkout_of(folder: Path) -> Path:
    """The copy of this checkout that belongs to this process."""
    checkout = folder / str(os.getpid())
    if not checkout.exists():
        checkout.mkdir()
        copied(checkout)
    return checkout


def copied(into: Path) -> Path:
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, into / name, ignore=shutil.ignore_patterns(*NOT_COPIED))
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

    paths = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "cylfile").rglob("*.py"))
    paths = [path for path in paths if path.startswith(FAULTY) and path != PASSED_OVER]
    paths = [path for path in paths if path.startswith(options.only)]
    faults = [fault for path in paths for fault in faults_of(path)]
    random.Random(seed).shuffle(faults)
    drawn = [fault for fault in faults if fault.name not in EQUIVALENT][: options.mutants]
    passed_over = sum(fault.name in EQUIVALENT for fault in faults[: options.mutants])
    print(
        f"{len(drawn)} of {len(faults)} faults, drawn by {seed}; {passed_over} that nobody could see were passed over"
    )

    forks = multiprocessing.get_context("fork")
    with tempfile.TemporaryDirectory(prefix="mutants") as name, ProcessPoolExecutor(options.jobs, forks) as pool:
        folder = Path(name)
        tests = Tests()
        for learned in pool.map(partial(learn, folder), TESTS):
            tests.add(learned)
        print(
            f"{len(tests.seconds)} tests; not asked, since they fail without any fault: {sorted(tests.failed)}",
            flush=True,
        )
        survivors = []
        for fault, killer in zip(drawn, pool.map(partial(ending, folder), drawn, map(tests.of, drawn))):
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
