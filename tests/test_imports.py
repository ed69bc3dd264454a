"""Imports go one way, and a command that prints loads no screen."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "showrunner"
LAYERS = (
    {"errors", "clock", "wanted"},
    {"domain"},
    {"planning", "storage"},
    {"ical", "intake"},
    {"session"},
    {
        "contract",
        "report",
        "supposing",
        "what_if_kinds",
        "offering",
        "completion",
        "whatif",
        "demo_book",
        "incoming",
        "packaging",
        "shopping",
        "calendars",
        "record_text",
    },
    {"page"},
    {"sheet", "filming", "shoot_record"},
    {"tui"},
    {"cli"},
    {"__main__"},
)
RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer}
MODULES = sorted(path for path in ROOT.rglob("*.py") if path != ROOT / "__init__.py")


def part(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    return tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def imported(path: Path) -> frozenset[str]:
    found: set[str] = set()
    for node in nodes(path):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            module = node.module or ""
            found |= {module, *(f"{module}.{alias.name}" for alias in node.names if module == "showrunner")}
    return frozenset(found)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_imports_only_what_stands_below_it(path: Path) -> None:
    mine = part(path)
    for name in imported(path):
        if not name.startswith("showrunner."):
            continue
        other = name.split(".")[1]
        if other.startswith("__"):
            continue
        same = other == mine or (RANK[other] == RANK[mine] and other not in {"planning", "storage"})
        assert same or RANK[other] < RANK[mine], f"{path.relative_to(ROOT)} imports {name}"


@pytest.mark.parametrize("path", [p for p in MODULES if part(p) == "domain"], ids=lambda path: path.name)
def test_the_domain_uses_the_standard_library_only(path: Path) -> None:
    for name in imported(path):
        top = name.split(".")[0]
        assert top in sys.stdlib_module_names or top == "showrunner"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_only_the_clock_reads_the_time(path: Path) -> None:
    if part(path) == "clock":
        return
    for node in nodes(path):
        if isinstance(node, ast.Attribute) and node.attr in {"today", "now", "utcnow", "time"}:
            called = ".".join(ast.unparse(node).split(".")[-2:])
            assert called not in {"date.today", "datetime.now", "datetime.today", "datetime.utcnow", "time.time"}
    if part(path) in {"domain", "planning"}:
        assert not imported(path) & {"showrunner.clock", "time", "os", "pathlib", "random"}


@pytest.mark.slow
@pytest.mark.parametrize(
    "command",
    [
        ["report"],
        ["plan"],
        ["work"],
        ["runout", "--json"],
        ["shoot", "waistcoats"],
        ["wants"],
        ["package", "apron"],
        ["package"],
        ["check"],
        ["--help"],
    ],
)
def test_a_command_that_prints_loads_no_screen(command: list[str]) -> None:
    book = ROOT.parent / "demo" / "book.json"
    code = (
        "import sys; from showrunner.cli import run; "
        f"code = run(['--book', {str(book)!r}, *{command!r}]); "
        "heavy = {'textual', 'icalendar', 'edtf', 'numpy', 'rapidfuzz', 'python_calamine'}; "
        "heavy &= set(sys.modules); "
        "sys.exit(f'loaded {heavy}' if heavy else code)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT.parent, check=False)
    assert done.returncode == 0, done.stderr
