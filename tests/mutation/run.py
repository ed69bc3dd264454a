"""Changes the code one small thing at a time and tells which changes no test notices.

Run `python tests/mutation/run.py showrunner/contract.py showrunner/domain/edits` (files or folders; none: the whole
package). The first run copies the tree into the temporary folder and makes a map there, by running the tests once
under `coverage`, of which test reaches which line; it is made again when a file changes. Each mutant then gets a
process of its own, in which an import hook puts the changed module in place of the real one and only the tests that
reach the changed line run, quickest first, until one fails. The tree itself is never written to, so the run may be
stopped at any time. Printed are the survivors, with file, line and change, and for each module the share that was
caught; a time-out counts as caught. `--sample N` tries N mutants of each module, drawn by `--seed`; `--jobs` runs
several at once; `--tests` takes the map from these tests only (quicker, and the rate is then theirs); `--at-least
PERCENT` fails the run when fewer of all are caught. A survivor that changes nothing a user could see belongs into
`equivalent.toml` beside this file, with the reason, and is counted no more. Needs an operating system that can fork.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import importlib.abc
import importlib.util
import json
import os
import shutil
import signal
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from contextlib import suppress
from copy import copy
from functools import partial
from importlib.metadata import entry_points
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("showrunner", "tests", "demo", "README.md", "DEVELOPERS.md", "pyproject.toml", ".ci", ".gitignore")
"""What the copy of the tree holds."""
LOADED = (
    "hypothesis.strategies",
    "icalendar",
    "textual.app",
    "tinydb",
    "dateutil.rrule",
    "edtf",
    "rapidfuzz",
    "platformdirs",
)
"""Loaded once, for every process that is forked."""
NOT_CODE = ("annotation", "returns", "decorator_list", "format_spec")
"""Parts of the syntax tree that are never changed."""
SCRATCH = "scratch-"
"""Begin of the name of the folder in which the tests of one process write."""
SECONDS = 5
"""Processor seconds that a mutant may take beyond ten times those of its tests."""

COMPARISONS: dict[type, tuple[type, ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
OPERATORS: dict[type, type] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}


Put = Callable[[Any], None]
"""Puts another node in the place of one."""


class Mutant(NamedTuple):
    """One change of one module."""

    module: str
    line: int
    change: str
    text: str
    """The line as it stands, to know it again by; before a bare `break` or `continue` the line above it."""
    reach: range
    """The lines whose tests are run; empty for all tests that reach the module."""
    make: Callable[[], None]
    """Makes the change in the syntax tree."""
    tree: ast.Module


def changes(node: ast.AST, condition: bool) -> Iterator[tuple[str, ast.AST]]:
    """Every change of one node alone: what is said of it (empty for before and after as code), and the node instead."""

    def with_(**fields: Any) -> tuple[str, ast.AST]:
        new = copy(node)
        for name, value in fields.items():
            setattr(new, name, value)
        return "", new

    match node:
        case ast.Compare(ops=ops):
            for at, op in enumerate(ops):
                for other in COMPARISONS[type(op)]:
                    yield with_(ops=[*ops[:at], other(), *ops[at + 1 :]])
        case ast.BinOp(op=op) | ast.AugAssign(op=op) if type(op) in OPERATORS:
            yield with_(op=OPERATORS[type(op)]())
        case ast.BoolOp(op=op):
            yield with_(op=ast.Or() if isinstance(op, ast.And) else ast.And())
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield "", operand
        case ast.Constant(value=bool(value)):
            yield with_(value=not value)
        case ast.Constant(value=int(value) | float(value)):
            yield with_(value=value + 1)
            yield with_(value=value - 1)
        case ast.Call(func=ast.Name(id=name)) if name in NAMES:
            yield with_(func=ast.Name(NAMES[name], ast.Load()))
        case ast.Return(value=ast.expr() as value) if ast.unparse(value) != "None":
            yield "returns None", ast.Return(ast.Constant(None))
        case ast.Dict(keys=keys, values=values):
            for at, key in enumerate(keys):
                if isinstance(key, ast.Constant):
                    entry = with_(keys=[*keys[:at], *keys[at + 1 :]], values=[*values[:at], *values[at + 1 :]])[1]
                    yield f"without the entry {key.value!r}", entry
    match node:
        case ast.Raise() | ast.Continue() | ast.Break() | ast.AugAssign() | ast.Expr(value=ast.Call()):
            yield "removed", ast.Pass()
        case ast.Assign(targets=[ast.Subscript() | ast.Attribute()]):
            yield "removed", ast.Pass()
    if condition and not isinstance(node, ast.Compare | ast.UnaryOp):
        assert isinstance(node, ast.expr)
        yield "", ast.UnaryOp(ast.Not(), node)


def mutants(module: str, source: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its lines."""
    tree, lines = ast.parse(source), source.splitlines()

    def visit(node: ast.AST, put: Put, reach: range, inside: bool, condition: bool) -> Iterator[Mutant]:
        function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        match node:
            case ast.FunctionDef(name="__repr__") | ast.If(test=ast.Name(id="TYPE_CHECKING")):
                return
            case ast.keyword(arg="strict"):  # of `zip`: a guard, not an outcome
                return
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = node.end_lineno or node.lineno
            end = max(node.lineno, body[0].lineno - 1) if body and not function else last
            reach = range(node.lineno, end + 1) if inside or function else range(0)
        for said, new in changes(node, condition):
            change = said or f"{ast.unparse(node)} -> {ast.unparse(new)}"
            at = getattr(node, "lineno", 0)
            alike = 1 if lines[at - 1].strip() in ("break", "continue") else 0
            text = " ".join(line.strip() for line in lines[at - 1 - alike : at])
            yield Mutant(module, at, change, text, reach, partial(put, new), tree)
        for field, value in ast.iter_fields(node):
            tested = field == "ifs" or (field == "test" and isinstance(node, ast.If | ast.While | ast.IfExp))
            within = inside or (function and field == "body")
            if field in NOT_CODE:
                continue
            if isinstance(value, ast.AST):
                yield from visit(value, partial(setattr, node, field), reach, within, tested)
            for index, child in enumerate(value) if isinstance(value, list) else ():
                if isinstance(child, ast.AST):
                    yield from visit(child, partial(value.__setitem__, index), reach, within, tested)

    return sorted(visit(tree, lambda new: None, range(0), False, False), key=lambda mutant: mutant.line)


class Equivalent(NamedTuple):
    """A change that changes nothing."""

    module: str
    text: str
    change: str
    why: str


def equivalents() -> list[Equivalent]:
    """The list of changes that change nothing."""
    listed = tomllib.loads((Path(__file__).parent / "equivalent.toml").read_text("utf-8"))
    return [Equivalent(**entry) for entry in listed.get("equivalent", [])]


def named(listed: list[Equivalent], mutant: Mutant) -> bool:
    """Whether a mutant is on the list."""
    return any((e.module, e.text, e.change) == (mutant.module, mutant.text, mutant.change) for e in listed)


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports the changed module in place of the real one."""

    def __init__(self, mutant: Mutant) -> None:
        self.name = mutant.module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        self.path, self.tree = str(Path.cwd() / mutant.module), mutant.tree

    def find_spec(self, name: str, path: Any, target: Any = None) -> Any:
        if name != self.name:
            return None
        return importlib.util.spec_from_file_location(name, self.path, loader=self)

    def exec_module(self, module: Any) -> None:
        exec(compile(ast.fix_missing_locations(self.tree), self.path, "exec"), module.__dict__)


class Chosen:
    """A plugin that runs the tests of a map only, quickest first."""

    def __init__(self, seconds: dict[str, float]) -> None:
        self.seconds = seconds

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = sorted((i for i in items if i.nodeid in self.seconds), key=lambda i: self.seconds[i.nodeid])

    def pytest_sessionfinish(self, exitstatus: int) -> None:
        os._exit(exitstatus)  # clearing up would take longer than the tests


class Mapped:
    """A plugin that notes which test reaches which line, the processor time each takes and which do not pass."""

    def __init__(self, files: list[Path]) -> None:
        import coverage

        self.files = {str(file.resolve()) for file in files}
        self.coverage = coverage.Coverage(data_file=None, include=sorted(self.files))
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.read = 0.0

    def pytest_collectstart(self, collector: Any) -> None:
        self.coverage.switch_context(collector.nodeid)

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        for module in self.modules():  # what another test had worked out is worked out again, so that it is seen
            for value in list(vars(module).values()):
                if clear := getattr(value, "cache_clear", None):
                    clear()
        self.coverage.switch_context(nodeid)
        self.read = sum(os.times()[:4])

    def pytest_runtest_logreport(self, report: Any) -> None:
        before, self.read = self.read, sum(os.times()[:4])
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + self.read - before
        if not report.passed:
            self.failed.add(report.nodeid)

    def modules(self) -> list[ModuleType]:
        """The measured modules that are loaded."""
        return [m for m in list(sys.modules.values()) if getattr(m, "__file__", None) in self.files]

    def lines(self) -> dict[str, dict[str, list[str]]]:
        """For each file and line, the tests that reach it; a test file for what it reaches as it is loaded."""
        data = self.coverage.get_data()
        return {
            str(Path(file).relative_to(Path.cwd())): {str(n): c for n, c in data.contexts_by_lineno(file).items()}
            for file in data.measured_files()
        }


def pytest_run(tests: list[str], plugin: object) -> int:
    """Runs tests in this process and gives pytest's exit code."""
    import hypothesis
    import pytest

    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)  # a failure need not be made smaller
    hypothesis.settings.register_profile("mutation", database=None, derandomize=True, deadline=None, phases=phases)
    hypothesis.settings.load_profile("mutation")
    options = [
        "-q",
        "--tb=no",
        "-n",
        "0",
        "-p",
        "no:cacheprovider",
        "-m",
        "not long",
        f"--basetemp={SCRATCH}{os.getpid()}",
    ]
    return int(pytest.main([*options, *(["-x"] if isinstance(plugin, Chosen) else []), *tests], plugins=[plugin]))


def forked(work: Callable[[], int], seconds: float = 0) -> int:
    """Starts work in a process and process group of its own, which are ended after some processor time; its id."""
    sys.stdout.flush()
    if pid := os.fork():
        return pid
    code = 70
    try:
        os.setsid()
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        if seconds:
            import resource

            resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 5))
            signal.alarm(int(10 * seconds))
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        code = work()
    finally:
        os._exit(code)


def ended(pid: int) -> None:
    """Ends what is left of a process group that was started here, and clears up after it."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(pid, signal.SIGKILL)
    shutil.rmtree(f"{SCRATCH}{pid}", ignore_errors=True)


def make_map(tests: list[str], files: list[Path], target: Path) -> int:
    """Runs the tests once and writes the map."""
    mapped = Mapped(files)
    mapped.coverage.start()
    pytest_run(tests, mapped)
    mapped.coverage.stop()
    seconds = {test: taken for test, taken in mapped.seconds.items() if test not in mapped.failed}
    found = {"lines": mapped.lines(), "seconds": seconds, "failed": sorted(mapped.failed)}
    target.write_text(json.dumps(found), "utf-8")
    return 0


def reaching(mutant: Mutant, found: Any) -> dict[str, float]:
    """The tests that reach a mutant, each with the seconds it takes."""
    lines = found["lines"].get(mutant.module, {})
    wanted = map(str, mutant.reach) if mutant.reach else lines
    contexts = {context for line in wanted for context in lines.get(line, ()) if context}
    return {test: s for test, s in found["seconds"].items() if test in contexts or test.split("::")[0] in contexts}


def try_out(mutant: Mutant, chosen: dict[str, float]) -> int:
    """Makes the change and runs the tests; 0 if none notices."""
    mutant.make()
    sys.meta_path.insert(0, Changed(mutant))
    return pytest_run(sorted({test.split("::")[0] for test in chosen}), Chosen(chosen))


def tree_copy(*asked: list[str]) -> Path:
    """The folder with a copy of the tree and its map; another one if the tree or what is asked for changes."""
    files = sorted(f for part in PARTS for f in [ROOT / part, *(ROOT / part).rglob("*")] if f.is_file())
    files = [file for file in files if "__pycache__" not in file.parts]
    told = hashlib.sha256(repr(asked).encode())
    for file in files:
        told.update(f"{file.relative_to(ROOT)}\0".encode() + file.read_bytes())
    folder = Path(tempfile.gettempdir()) / f"showrunner-mutation-{os.getuid()}" / told.hexdigest()[:16]
    if not (folder / "map.json").exists():
        shutil.rmtree(folder, ignore_errors=True)
        for file in files:
            (folder / file.relative_to(ROOT)).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(file, folder / file.relative_to(ROOT))
    return folder


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("paths", nargs="*", default=["showrunner"], help="modules or folders to change")
    parser.add_argument("--tests", nargs="*", default=["tests"], help="tests that may notice (default: all)")
    parser.add_argument("--seed", default="0")
    parser.add_argument("--sample", type=int, default=0, help="mutants of each module (default: all)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--at-least", type=float, default=0, help="percent caught of all, or the run fails")
    asked = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    folder = tree_copy(asked.paths, asked.tests)
    os.chdir(folder)
    sys.path[0] = os.environ["PYTHONPATH"] = str(folder)
    sys.dont_write_bytecode = False  # compiled once, beside the copy
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix = str(folder.parent / "pycache")
    for plugin in entry_points(group="pytest11"):
        plugin.load()
    for name in LOADED:
        importlib.import_module(name)
    files = sorted({f for path in map(Path, asked.paths) for f in ([path] if path.is_file() else path.rglob("*.py"))})
    if not Path("map.json").exists():
        print("running the tests once, for the map of what they reach", flush=True)
        pid = forked(partial(make_map, asked.tests, files, folder / "map.json"))
        os.waitpid(pid, 0)
        ended(pid)
    found = json.loads(Path("map.json").read_text("utf-8"))
    for test in found["failed"]:
        print(f"left out, because it does not pass as it is: {test}")
    listed = equivalents()
    rates: dict[str, list[bool]] = {}
    queue: list[Mutant] = []
    for module in map(str, files):
        all_of_it = [m for m in mutants(module, Path(module).read_text("utf-8")) if not named(listed, m)]
        few = Random(f"{asked.seed} {module}").sample(all_of_it, min(asked.sample or len(all_of_it), len(all_of_it)))
        queue += sorted(few, key=lambda mutant: mutant.line)
        rates[module] = []
    running: dict[int, Mutant] = {}
    try:
        while queue or running:
            while queue and len(running) < asked.jobs:
                mutant = queue.pop(0)
                if chosen := reaching(mutant, found):
                    seconds = SECONDS + 10 * sum(chosen.values())
                    running[forked(partial(try_out, mutant, chosen), seconds)] = mutant
                else:
                    rates[mutant.module].append(False)
                    print(f"{mutant.module}:{mutant.line}: {mutant.change} (no test reaches it)", flush=True)
            if running:
                pid, status = os.wait()
                mutant = running.pop(pid)
                ended(pid)
                rates[mutant.module].append(status != 0)
                if not status:
                    print(f"{mutant.module}:{mutant.line}: {mutant.change}", flush=True)
    except KeyboardInterrupt:
        print("stopped; the rates are of what was tried until now")
    finally:
        for pid in running:
            ended(pid)
    for module, caught in rates.items():
        if caught:
            print(f"{100 * sum(caught) / len(caught):5.1f} %  {sum(caught)} of {len(caught)}  {module}")
    every = [one for caught in rates.values() for one in caught]
    share = 100 * sum(every) / max(1, len(every))
    print(f"{share:5.1f} %  {sum(every)} of {len(every)}  together")
    return int(share < asked.at_least)


if __name__ == "__main__":
    sys.exit(main())
