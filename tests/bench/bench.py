"""How fast it is, as ratios within one run: the search beside two independent solvers, the screen beside a bare one.

Run `python tests/bench/bench.py` (the judges need `pip install 'showrunner[test,judges]'`), or with `--quick`, which
gives the judges ten seconds each. Times are the least of several runs; machines are noisy, ratios less so.
"""

from __future__ import annotations

import argparse
import gc
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "outside")]

import instances
import judges
from faults.books import demo_book, grown
from terminal import LONGEST, Terminal

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.planning.runout import run_out
from showrunner.planning.search import solve
from showrunner.session import Session
from showrunner.storage.atomic import write_whole

BARE = """
from textual.app import App
from textual.widgets import DataTable, Footer, Header
class Bare(App):
    def compose(self):
        yield Header(); yield DataTable(); yield Footer()
    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("a", "b", "c", "d")
        for n in range(40):
            table.add_row(f"MARK {n}", "b", "c", "d")
Bare().run()
"""


def least(action: Callable[[], Any], times: int = 5) -> tuple[float, Any]:
    """Seconds of the quickest run, and what it gave."""
    best, result = float("inf"), None
    for _ in range(times):
        gc.collect()
        started = time.perf_counter()
        result = action()
        best = min(best, time.perf_counter() - started)
    return best, result


def placing(limit: float) -> None:
    """The exact search beside HiGHS and CP-SAT on the same problems, each judge given `limit` seconds."""
    cases = [
        ("5 studies, 78 slots (the demo)", instances.demo_like(), 0.03, 9),
        ("18 studies, 2 series, 104 slots", instances.two_series_18(0), 0.2, 5),
        ("56 studies, 3 series, 104 slots", instances.three_series_56(0), 3.0, 2),
        ("18 studies, hours for half", instances.hopeless_18(0), 5.0, 2),
    ]
    for judge in (judges.by_highs, judges.by_cp_sat):  # loading them is not part of the race
        judged(judge, instances.demo_like(), solve(instances.demo_like()).score, 1.0, limit)
    print(f"{'placing, proven optimal':<34}{'ours':>9}{'goal':>9}{'HiGHS':>14}{'CP-SAT':>14}")
    for name, problem, goal, times in cases:
        ours, found = least(lambda problem=problem: solve(problem), times)
        assert found.proven
        columns = [judged(judge, problem, found.score, ours, limit) for judge in (judges.by_highs, judges.by_cp_sat)]
        print(f"{name:<34}{ours * 1000:>6.0f} ms{goal * 1000:>6.0f} ms{columns[0]:>14}{columns[1]:>14}", flush=True)
    for name, make in (
        ("56 studies", instances.three_series_56),
        ("18 studies, hours for half", instances.hopeless_18),
    ):
        spread = []
        for seed in (1, 2, 3):
            seconds, found = least(lambda m=make, s=seed: solve(m(s), time_limit=30, ticker=time.perf_counter), 1)
            spread.append(f"{seconds:.1f} s" + ("" if found.proven else " (not proven)"))
        print(f"{name + ', other draws':<34}{', '.join(spread)}", flush=True)
    for size in (18, 50, 180):
        seconds, found = least(
            lambda size=size: solve(instances.scaled(size), time_limit=30, ticker=time.perf_counter), 1
        )
        proven = "" if found.proven else " (not proven)"
        print(f"{f'{size} studies, 2 series, {6 * size} slots':<34}{seconds * 1000:>6.0f} ms{proven}", flush=True)


def crowded_problem(seed: int, sizes: list[int], factor: float, shared: bool) -> Any:
    """The placing problem of a crowded book, looking a year ahead."""
    import json

    from crowded import TODAY, crowded

    from showrunner.domain.house import Unsure
    from showrunner.planning.candidates import candidates
    from showrunner.planning.frame import frame
    from showrunner.storage.exchange import read_exchange

    book = read_exchange(json.dumps(crowded(seed, sizes, 52, factor, shared)).encode(), "crowded")
    return frame(book, TODAY, candidates(book, Unsure.LEFT_OUT)[0], horizon_weeks=52).problem


def crowding(limit: float) -> None:
    """Crowded books: processor time of the search and of each judge, each given `limit` seconds and one thread.

    Each book is solved once by each. The search counts processor time; the judges count time on the wall.
    """
    print(f"\n{'crowded books, 52 weeks':<34}{'proven':>9}{'goal':>9}  processor seconds of each")
    for sizes, factor, seeds, shared, goal in (
        ([2, 3, 5], 0.6, 6, False, 1),
        ([4, 6, 10], 0.6, 6, False, 20),
        ([12, 16, 28], 1.3, 9, False, 3),
        ([12, 16, 28], 1.3, 9, True, 20),
        ([12, 16, 28], 1.0, 3, False, 20),
    ):
        problems = [crowded_problem(seed, sizes, factor, shared) for seed in range(seeds)]
        ours = [timed(lambda p=p: solved(p, limit)) for p in problems]
        name = f"{sum(sizes)} studies, hours x {factor}{', shared' if shared else ''}"
        row_of(name, f"{goal} s", ours)
        for judge, ask in (
            ("HiGHS", lambda p: judges.by_highs(p, time_limit=limit).score),
            ("CP-SAT", lambda p: judges.by_cp_sat(p, time_limit=limit, workers=1).score),
        ):
            theirs = [timed(lambda p=p, ask=ask: ask(p)) for p in problems]
            for (_, mine), (_, other) in zip(ours, theirs, strict=True):
                assert mine is None or other is None or mine == other, (mine, other)
            row_of(f"  {judge}", "", theirs)


def solved(problem: Any, limit: float) -> Any:
    """The proven score of a problem; raises `OutOfTime` if it is not proven."""
    found = solve(problem, time_limit=limit, ticker=time.process_time)
    if not found.proven:
        raise judges.OutOfTime
    return found.score


def timed(ask: Callable[[], Any]) -> tuple[float, Any]:
    """Processor seconds, and the proven score; None if it was not proven in time."""
    started = time.process_time()
    try:
        score = ask()
    except judges.OutOfTime:
        score = None
    return time.process_time() - started, score


def row_of(name: str, goal: str, taken: list[tuple[float, Any]]) -> None:
    """Print how many were proven, and the seconds of each."""
    proven = f"{sum(score is not None for _, score in taken)} of {len(taken)}"
    told = ", ".join(f"{seconds:.1f}" for seconds, _ in taken)
    print(f"{name:<34}{proven:>9}{goal:>9}  {told}", flush=True)


def judged(judge: Callable[..., Any], problem: Any, score: Any, ours: float, limit: float) -> str:
    """How many times as long a judge takes for the same optimum; `>` where it ran into the limit."""
    started = time.perf_counter()
    try:
        verdict = judge(problem, time_limit=limit)
    except ImportError:
        return "not installed"
    except judges.OutOfTime:
        return f"> {(time.perf_counter() - started) / ours:.0f}x"
    assert verdict.score == score, (verdict.score, score)
    return f"{(time.perf_counter() - started) / ours:.0f}x"


def doubtful(book: Book, unsure: int) -> Book:
    """The demo with so many unsure pieces."""
    extra = unsure - sum(p.shown.known is Known.UNSURE for p in book.pieces)
    for n in range(extra):
        book = edits.put_piece(book, Piece(f"x{n}", f"Doubt {n}", "dress", shown=Shown(Known.UNSURE, 40 + n)))
    return book


def forecasting() -> None:
    """The run-out with few and many doubts."""
    book = demo_book()
    print(f"\n{'run-out, exact':<34}{'ours':>9}{'goal':>9}")
    for unsure, goal in ((5, "300 ms"), (10, ""), (50, "")):
        doubts = doubtful(book, unsure)
        today = book.clock
        assert today
        weeks = 78 if unsure <= 10 else 520
        seconds, _ = least(lambda d=doubts, t=today, w=weeks: run_out(d, t, horizon_weeks=w), 2 if unsure <= 10 else 1)
        print(f"{f'{unsure} unsure pieces, {weeks} weeks':<34}{seconds * 1000:>6.0f} ms{goal:>9}")


def saving() -> None:
    """One action saved to disk: on the demo book, and on one ten times as large; beside it a bare file of that size.

    Processor time, and time on the wall with all waiting for the disk; the least and the median of each.
    """
    print(f"\n{'a save, fsync included':<34}{'processor':>16}{'goal':>9}{'growth':>9}{'on the wall':>18}{'bytes':>11}")
    book = demo_book()
    large = replace(
        book,
        pieces=tuple(replace(p, id=f"{p.id}.{n}") if n else p for n in range(10) for p in book.pieces),
        publications=tuple(replace(p, id=f"{p.id}.{n}") if n else p for n in range(10) for p in book.publications),
    )
    before = 0.0
    for name, value, goal in (("the demo book", book, ""), ("ten times as large", large, "3 ms")):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.json"
            with Session.create(path, value) as session:
                flip = [Known.NO, Known.YES]

                def once(session: Session = session, flip: list[Known] = flip) -> None:
                    flip.reverse()
                    session.do("mark", lambda b: edits.mark_shown(b, "01", flip[0]))

                once()
                mine = saved(once)
            data = path.read_bytes()
            bare = saved(lambda path=path, data=data: write_whole(path, data))
        growth = f"{mine[0][0] / before:.1f}x" if before else ""
        before = mine[0][0]
        for what, taken, wanted, grown_by in ((name, mine, goal, growth), ("  the bare file", bare, "", "")):
            (least_cpu, middle_cpu), (least_wall, middle_wall) = taken
            print(
                f"{what:<34}{least_cpu * 1000:>6.1f} /{middle_cpu * 1000:>5.1f} ms{wanted:>9}{grown_by:>9}"
                f"{least_wall * 1000:>8.1f} /{middle_wall * 1000:>5.1f} ms{len(data):>11,}",
                flush=True,
            )


def saved(once: Callable[[], Any], times: int = 40) -> list[tuple[float, float]]:
    """Least and median of the processor time, and of the time on the wall, in seconds."""
    taken: list[tuple[float, float]] = []
    for _ in range(times):
        began, used = time.perf_counter(), time.process_time()
        once()
        taken.append((time.process_time() - used, time.perf_counter() - began))
    return [(min(each), median(each)) for each in zip(*taken, strict=True)]


def ours(book: Path) -> Terminal:
    """The program with a book, on a terminal of 80 by 24."""
    return Terminal([sys.executable, "-m", "showrunner", "--book", str(book)], {"PYTHONPATH": str(ROOT)})


def bare() -> Terminal:
    """A bare table of Textual's, on a terminal of the same size."""
    return Terminal([sys.executable, "-c", BARE])


def side_by_side(rounds: int, **kinds: Callable[[], float]) -> dict[str, list[float]]:
    """Processor seconds of several things, each done once a round, so that a busy machine is so for all of them."""
    taken: dict[str, list[float]] = {name: [] for name in kinds}
    for number in range(rounds + 1):
        for name, kind in kinds.items():
            seconds = kind()
            if number:  # the first time things are only being read in
                taken[name].append(seconds)
    return taken


def told(name: str, mine: Sequence[float], beside: Sequence[float], goal: str) -> None:
    """A line of a table of ratios: of the least, and of the medians."""
    least, middle = min(mine) / min(beside), median(mine) / median(beside)
    times = f"{min(mine) * 1000:>6.1f} ms{min(beside) * 1000:>6.1f} ms"
    print(f"{name:<34}{times}{least:>9.2f}{middle:>9.2f}{goal:>9}", flush=True)


HEAD = f"{'ours':>9}{'bare':>9}{'ratio':>9}{'medians':>9}{'goal':>9}"


def painting(rounds: int) -> None:
    """Processor time until the demo is first painted, beside a bare table."""

    def painted(terminal: Terminal, mark: bytes) -> float:
        with terminal:
            terminal.until(mark)
            return terminal.spent()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.json"
        shutil.copy(ROOT / "demo" / "book.json", path)
        taken = side_by_side(
            rounds,
            bare=lambda: painted(bare(), b"MARK 3"),
            ours=lambda: painted(ours(path), b"apple-packer"),
        )
    print(f"\n{'first paint':<34}{HEAD}")
    told("the demo, 80x24", taken["ours"], taken["bare"], "1.3")


LIBRARIES = ("click", "tinydb", "dateutil.rrule", "filelock", "platformdirs", "zoneinfo", "json")
"""What commands rest on."""


def reporting(rounds: int) -> None:
    """Processor time of `report`, beside the bare loading of the libraries that commands rest on."""

    def run(*arguments: str) -> float:
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    book = str(ROOT / "demo" / "book.json")
    taken = side_by_side(
        rounds,
        bare=lambda: run("-c", f"import {', '.join(LIBRARIES)}"),
        ours=lambda: run("-m", "showrunner", "--book", book, "report"),
    )
    print(f"\n{'a command':<34}{HEAD}")
    told("report, on the demo", taken["ours"], taken["bare"], "2")


def marking(rounds: int) -> None:
    """Processor time of keys on the Register, beside that of a cursor key on a bare table."""
    print(f"\n{'keys on the Register':<34}{HEAD}")
    book = demo_book()
    for pieces, goal in ((len(book.pieces), "4"), (1000, "4")):
        with tempfile.TemporaryDirectory() as folder, bare() as table:
            path = Path(folder) / "book.json"
            Session.create(path, grown(book, pieces)).close()
            table.until(b"MARK 3")
            with ours(path) as register:
                register.until(b"apple-packer")
                register.rest()
                register.press("1")
                register.until(b"01  ")
                for key in ("n", "y", "n"):  # the first is marked as shown already
                    register.cost(key)
                taken = side_by_side(
                    rounds,
                    bare=lambda: table.cost("\x1b[B") + table.cost("\x1b[A"),
                    mark=lambda: register.cost("y") + register.cost("n"),
                    space=lambda: register.cost(" ") + register.cost(" "),
                    arrow=lambda: register.cost("\x1b[B") + register.cost("\x1b[A"),
                )
        two_keys = {name: [seconds / 2 for seconds in found] for name, found in taken.items()}
        told(f"shown or not, saved; {pieces} pieces", two_keys["mark"], two_keys["bare"], goal)
        told(f"marked for a study; {pieces} pieces", two_keys["space"], two_keys["bare"], "")
        told(f"an arrow; {pieces} pieces", two_keys["arrow"], two_keys["bare"], "")


def waits(screen: Terminal, most: int) -> list[float]:
    """Seconds from each press of an arrow until something is painted, while the program works on something else."""
    taken: list[float] = []
    while len(taken) < most:
        began, before = time.perf_counter(), screen.spent()
        screen.press("\x1b[B" if len(taken) % 2 else "\x1b[A")
        while not screen.take(0.001):
            assert time.perf_counter() - began < LONGEST
        waited = time.perf_counter() - began
        while time.perf_counter() - began < 0.15:
            screen.take(0.02)
        if screen.spent() - before < 0.05:  # of 0.15 s: the work is done
            break
        taken.append(waited)
    return taken


TEN = (
    "spacing=4,5,8",
    "last-until=2027-03",
    "pair=apron+skating-jacket",
    "unpair=waistcoats",
    "drop-window=apron",
    "loan=Parasol",
    "revisit=01",
    "slip-rate=0.2",
    "hours=-2",
    "off=2026-06",
)
"""Ten what-ifs on the demo, one of each kind that takes time."""


def supposing() -> None:
    """Ten what-ifs on the demo, each beside the present plan; 50 unshown pieces, 6 unsure; keys meanwhile."""
    from showrunner.whatif import outlook

    print(f"\n{'what-ifs, processor time':<34}{'ours':>9}{'goal':>9}")
    path = ROOT / "demo" / "book.json"
    times = []
    for _ in range(3):
        with Session.open(path, write=False) as session:
            found = session.runout()
            started = time.process_time()
            for text in TEN:
                outlook(session, found.series, [text])
            times.append(time.process_time() - started)
    print(f"{'ten on the demo, in all':<34}{min(times) * 1000:>6.0f} ms{'2 s':>9}", flush=True)

    book = doubtful(demo_book(), 6)
    for n in range(50 - sum(p.shown.known is Known.NO for p in book.pieces)):
        book = edits.put_piece(book, Piece(f"u{n}", f"Unshown {n}", "dress"))
    started = time.process_time()
    run_out(book, session.today, horizon_weeks=520)
    print(
        f"{'50 unshown, 6 unsure, 520 weeks':<34}{(time.process_time() - started) * 1000:>6.0f} ms{'5 s':>9}",
        flush=True,
    )

    taken = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "book.json"
        shutil.copy(path, copy)
        with ours(copy) as screen:
            screen.until(b"apple-packer")
            screen.press("4")
            screen.until(b"even odds")
            screen.rest()
            for _ in range(4):
                screen.press("f")
                time.sleep(0.3)
                screen.press("\x1b[B")
                screen.press("\r")
                time.sleep(0.5)
                for key in "2027-03":
                    screen.press(key)
                    time.sleep(0.05)
                screen.press("\r")
                screen.until(b"Working out")
                while b"a last study" not in screen.painted:  # until the what-if is there
                    began = time.perf_counter()
                    screen.press("\x1b[B" if len(taken) % 2 else "\x1b[A")
                    while not screen.take(0.001):
                        assert time.perf_counter() - began < LONGEST
                    taken.append(time.perf_counter() - began)
                    while time.perf_counter() - began < 0.1:
                        screen.take(0.02)
                screen.rest()
                screen.press("x")
                screen.rest()
    middle, most = median(taken) * 1000, max(taken) * 1000
    name = f"an arrow meanwhile, {len(taken)} keys"
    print(f"{name:<34}{middle:>6.1f} ms{'50 ms':>9}  most {most:.1f} ms")


def ticking(rounds: int) -> None:
    """Processor time of `s` in a shoot, which puts a point down as said, beside a cursor key on a bare table."""
    from showrunner.filming import Filming

    print(f"\n{'a point said in a shoot':<34}{HEAD}")
    book = demo_book()
    for pieces in (len(book.pieces), 1000):
        with tempfile.TemporaryDirectory() as folder, bare() as table:
            path = Path(folder) / "book.json"
            with Session.create(path, grown(book, pieces)) as session:
                Filming.begin(session, ("waistcoats",)).acknowledge()
            table.until(b"MARK 3")
            with ours(path) as shoot:
                shoot.until(b"apple-packer")
                shoot.rest()
                shoot.press("3")
                shoot.until(b"0/18 said")
                taken = side_by_side(
                    rounds,
                    bare=lambda: (table.cost("\x1b[B") + table.cost("\x1b[A")) / 2,
                    said=lambda: shoot.cost("s"),
                )
        told(f"said, saved; {pieces} pieces", taken["said"], taken["bare"], "4")


def waiting() -> None:
    """From a key until something is painted, while a plan of 1,000 pieces is being worked out."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.json"
        Session.create(path, grown(demo_book(), 1000)).close()
        with ours(path) as ledger:
            ledger.until(b"apple-packer")
            ledger.rest()
            ledger.press("p")
            ledger.until(b"Working out")
            ledger.press("\x1b")
            time.sleep(0.3)
            taken = waits(ledger, 40)
    print(f"\n{'key to paint, while planning':<34}{'median':>9}{'goal':>9}")
    if taken:
        middle, most = median(taken) * 1000, max(taken) * 1000
        print(f"{f'an arrow, 1000 pieces, {len(taken)} keys':<34}{middle:>6.1f} ms{'50 ms':>9}  most {most:.1f} ms")
    else:
        print("the plan was there before a key could be pressed")


def shoot_of(pieces: int, details: int, limit: float, goal: str) -> None:
    """The run order of a batched shoot of pairs and single pieces, beside CP-SAT on the same shots."""
    from shoot_instances import by_cp_sat, replay

    from showrunner.domain.piece import Feature, Piece, View
    from showrunner.planning.run_order import Handled, best_order
    from showrunner.planning.shots import shots_of

    book = demo_book()
    sides = (View.FLAT_FACE, View.FLAT_REVERSE, View.INSIDE, View.FORM_FRONT, View.DETAIL)
    made = [
        Piece(
            f"p{n}",
            f"Piece {n}",
            "dress",
            "jacket",
            features=tuple(Feature(f"f{d}", view=sides[d % 5]) for d in range(details)),
        )
        for n in range(pieces)
    ]
    shots = shots_of([made[at : at + 2] for at in range(0, pieces, 2)], book.house).shots
    handled = [Handled(piece.id, 1, (0, 1), (0, 0)) for piece in made]
    seconds, found = least(lambda: best_order(handled, shots, tables=1), 5)
    case = (handled, list(shots), 1, [])
    assert replay(case, found) == (found.weighted, found.set_ups)
    started = time.perf_counter()
    try:
        verdict = by_cp_sat(case, limit)
        beside = time.perf_counter() - started
        same = "same optimum" if verdict == (found.weighted, found.set_ups) else f"OTHER OPTIMUM {verdict}"
        told = f"{beside / seconds:>7.0f}x, {same}"
    except (AssertionError, ModuleNotFoundError) as error:
        told = f"> {limit / seconds:.0f}x ({error})"
    name = f"{pieces} pieces, {len(shots)} shots"
    print(f"{name:<34}{seconds * 1000:>6.1f} ms{goal:>9}  CP-SAT {told}")


def ordering(limit: float) -> None:
    """Run orders, proven."""
    print(f"\n{'run order, proven':<34}{'ours':>9}{'goal':>9}")
    shoot_of(2, 8, limit, "200 ms")
    shoot_of(6, 4, limit, "2 s")
    shoot_of(10, 4, limit, "-")


def pressing() -> None:
    """From a key press in a shoot until its result is painted and saved, on a real terminal."""
    from showrunner.filming import Filming

    taken: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        for attempt in range(3):
            path = Path(folder) / f"book{attempt}.json"
            shutil.copy(ROOT / "demo" / "book.json", path)
            with Session.open(path) as session:
                filming = Filming.begin(session, ("waistcoats",))
                filming.acknowledge()
            taken += keys_pressed(path)
    taken.sort()
    print(f"\n{'key to painted screen, saved':<34}{'median':>9}{'goal':>9}")
    name, median = f"{len(taken)} points ticked, 80x24", taken[len(taken) // 2] * 1000
    print(f"{name:<34}{median:>6.1f} ms{'10 ms':>9}  least {taken[0] * 1000:.1f}, most {taken[-1] * 1000:.1f} ms")


def keys_pressed(path: Path) -> list[float]:
    """Seconds from each of 18 presses of `s` until the new count is on the screen."""
    with ours(path) as screen:
        screen.until(b"apple-packer")
        screen.press("3")
        screen.until(b"0/18 said")
        time.sleep(1)
        found = []
        for said in range(1, 19):
            screen.press("s")
            found.append(screen.until(f"{said}/18 said".encode()))
            time.sleep(0.15)
    return found


def invented(showings: int, pieces: int, seed: int = 7) -> tuple[list[Any], list[Piece]]:
    """A collection of invented words, and past episodes: a third are studies, most misspelt; the others are filler."""
    from datetime import date, timedelta

    from showrunner.domain.fuzzydate import FuzzyDate
    from showrunner.domain.piece import Feature
    from showrunner.intake.matching import Showing

    draw = random.Random(seed)

    def word() -> str:
        return "".join(draw.choice("bcdfglmnprstv") + draw.choice("aeiou") for _ in range(draw.randint(2, 4)))

    kinds = [word() for _ in range(40)]
    common = [word() for _ in range(600)]
    own = [word() for _ in range(2 * pieces)]
    made = []
    for n in range(pieces):
        name = f"{draw.choice(own)} {draw.choice(kinds)}" + (f" “{word()}”" if n % 4 == 0 else "")
        features = tuple(Feature(f"{draw.choice(common)} {draw.choice(own)}", draw.choice(common)) for _ in range(4))
        points = tuple(" ".join(draw.choices(common, k=8)) for _ in range(3))
        day = FuzzyDate.exact(date(2010, 1, 1) + timedelta(weeks=n))
        shown = Shown(Known.YES, when=day) if n % 3 == 0 else Shown()
        materials = (draw.choice(common), draw.choice(common))
        kind = name.split()[1]
        made.append(
            Piece(f"{n:04}", name, "c", kind, materials=materials, features=features, points=points, shown=shown)
        )
    listed = []
    for n in range(showings):
        text = " ".join(draw.choices(common, k=5))
        if n % 3 == 0:
            name = draw.choice(made).name
            at = draw.randrange(len(name))
            text = f"{name[:at]}{name[at + draw.randint(0, 1) :]}: {text}"
        day = FuzzyDate.exact(date(2010, 1, 1) + timedelta(weeks=draw.randrange(2 * pieces)))
        listed.append(Showing(f"Word & Word {n}: {text}", day if n % 2 else None))
    return listed, made


def matching() -> None:
    """Past episodes matched with pieces, and how it grows when both are doubled."""
    from showrunner.intake.matching import match

    match(*invented(5, 5))  # loading the library is not part of it
    print(f"\n{'matching a list with pieces':<34}{'ours':>9}{'goal':>9}{'growth':>9}")
    before = 0.0
    for showings, pieces, goal in ((250, 500, ""), (500, 1000, "1 s"), (1000, 2000, "")):
        listed, made = invented(showings, pieces)
        seconds, found = least(lambda a=listed, b=made: match(a, b), 3)
        assert len(found.matches) == showings
        growth = f"{seconds / before:.1f}x" if before else ""
        name = f"{showings} titles, {pieces} pieces"
        print(f"{name:<34}{seconds * 1000:>6.0f} ms{goal:>9}{growth:>9}", flush=True)
        before = seconds


def sheet_of(rows: int) -> bytes:
    """A sheet of invented pieces, with dates as people write them, no two of them the same."""
    draw = random.Random(7)
    shapes = ("c. {0}", "{0}?", "{0}", "{0}-{1:02}", "between {0} and {2}", "before {2}", "12 Mar {0}", "{3}0s")
    lines = ["No;What it is;When made;Bought;Made of;Look at;Chest (in);Lives in;Shown on;Notes"]
    for n in range(rows):
        year = draw.randint(1750, 1945)
        made = draw.choice(shapes).format(year, (year + 3) % 100 or 1, year + 5, year // 10)
        bought = f"{draw.randint(1, 28)} {draw.choice(('Jan', 'Jun', 'Oct'))} {draw.randint(1980, 2020)}"
        shown = draw.choice(("yes", "no", "maybe", f"{draw.randint(1, 28)} Feb 2024", "Aug 2024"))
        features = f"button {n % 40} absent | hem {draw.randint(1, 99)} let down"
        chest = f"{draw.randint(28, 44)} {draw.choice(('1/4', '1/2', '3/4'))}"
        box = f"{draw.randint(1, 400)} / layer {draw.randint(1, 9)}"
        lines.append(f"{n:05};Sash {n};{made};{bought};silk, net;{features};{chest};{box};{shown};row {n}")
    return "\r\n".join(lines).encode()


def importing() -> None:
    """A sheet compared with an empty book, beside the bare reading of its cells."""
    import csv
    import io
    from datetime import date

    from showrunner.intake.bringing import bring_in
    from showrunner.intake.cells import fuzzy, shown
    from showrunner.intake.findings import Asked
    from showrunner.intake.piece_cells import _measure

    def dry_run(data: bytes) -> Any:
        for kept in (fuzzy, shown, _measure):
            kept.cache_clear()
        return bring_in(Book("k"), data, "sheet.csv", date(2026, 3, 2), Asked())

    dry_run(sheet_of(5))
    print(f"\n{'a sheet compared with the book':<34}{'ours':>9}{'goal':>9}{'growth':>9}{'bare csv':>12}")
    large = b"a;b;c\n" + b"1;2;long enough to be a row\n" * 370_000
    from showrunner.storage.csv_text import read_sheet

    megabytes, _ = least(lambda: read_sheet(large, "a.csv"), 1)
    bare, _ = least(lambda: list(csv.reader(io.StringIO(large.decode(), newline=""), delimiter=";")), 1)
    print(f"{'10 MB only read':<34}{megabytes * 1000:>6.0f} ms{'':>9}{'':>9}{megabytes / bare:>11.1f}x", flush=True)
    before = 0.0
    for rows, goal in ((2500, ""), (5000, ""), (10_000, "5 s")):
        data = sheet_of(rows)
        seconds, found = least(lambda d=data: dry_run(d), 3)
        assert len(found.rows) == rows
        assert not found.refused
        bare, _ = least(lambda d=data: list(csv.reader(io.StringIO(d.decode(), newline=""), delimiter=";")))
        growth = f"{seconds / before:.1f}x" if before else ""
        print(f"{f'{rows} rows':<34}{seconds * 1000:>6.0f} ms{goal:>9}{growth:>9}{seconds / bare:>11.0f}x", flush=True)
        before = seconds
    import openpyxl
    import python_calamine

    book = openpyxl.Workbook()
    for line in csv.reader(io.StringIO(sheet_of(10_000).decode(), newline=""), delimiter=";"):
        book.active.append(line)
    book.save(packed := io.BytesIO())
    workbook = packed.getvalue()
    seconds = min(spent(lambda: dry_run(workbook)) for _ in range(3))
    bare = min(
        spent(lambda: python_calamine.load_workbook(io.BytesIO(workbook)).get_sheet_by_index(0).to_python())
        for _ in range(3)
    )
    print(f"\n{'processor time':<34}{'ours':>9}{'goal':>9}{'':>9}{'calamine':>12}")
    name = "10000 rows of a workbook"
    print(f"{name:<34}{seconds * 1000:>6.0f} ms{'5 s':>9}{'':>9}{seconds / bare:>11.0f}x", flush=True)


def wanting(limit: float) -> None:
    """The refusals of least value among 60 wants, beside CP-SAT; processor seconds of the slowest of several."""
    import test_refusals_against_judges as refusals

    from showrunner.planning.money import least_cover

    print(f"\n{'least refusals among 60 wants':<34}{'ours':>9}{'goal':>9}{'CP-SAT':>12}")
    for name, over in (("money over", (0.3, 0.0)), ("shelf over", (0.0, 0.4)), ("both over", (0.3, 0.36))):
        slowest, beside = 0.0, 0.0
        for seed in range(6):
            values, widths = refusals.wants(random.Random(seed), 60)
            ask = (values, widths, int(sum(values) * over[0]), int(sum(widths) * over[1]))
            started = time.process_time()
            found = least_cover(*ask)
            slowest = max(slowest, time.process_time() - started)
            assert found is not None
            if beside < limit:
                started = time.perf_counter()
                assert refusals.by_cp_sat(*ask) == sum(values[at] for at in found)
                beside = max(beside, time.perf_counter() - started)
        print(f"{name:<34}{slowest * 1000:>6.0f} ms{'100 ms':>9}{beside / slowest:>11.0f}x", flush=True)


def calendars(rounds: int) -> None:
    """Processor time of a calendar of 1,000 entries, out beside icalendar's own, and of 5,000 busy events, in."""
    from datetime import UTC, date, datetime, time, timedelta

    from icalendar import Alarm, Calendar, Event

    from showrunner.domain.episode import Episode, Series
    from showrunner.domain.slot import SlotRef, SlotRule
    from showrunner.ical.busy import read_busy
    from showrunner.ical.export import export_calendar
    from showrunner.ical.plan_entries import entries
    from showrunner.planning.results import WorkPlan
    from showrunner.planning.slots import expand

    now, first = datetime(2026, 3, 2, tzinfo=UTC), date(2026, 3, 8)
    days = [first + timedelta(weeks=n) for n in range(1000)]
    rule = SlotRule("sun", "features", 6, time(9), "Australia/Hobart")
    book = Book(
        "0d2b6a0e-9a57-4c6e-8f0a-2f9a3a7f0c11",
        rules=(rule,),
        series=(Series("hour", "The Hour", "keep", ("sun",)),),
        episodes=tuple(
            Episode(f"e{n}", f"Study {n}", series="hour", slot=SlotRef(day, "sun")) for n, day in enumerate(days)
        ),
    )
    work = WorkPlan((), None, None, (), ())
    fresh = entries(book, work, expand([rule], days[0], days[-1]))
    assert len(fresh) == 1000

    def bare() -> bytes:
        """The same entries by the library alone, property by property."""
        calendar = Calendar()
        calendar.add("version", "2.0")
        calendar.add("prodid", "bare")
        for one in fresh:
            event, alarm = Event(), Alarm()
            values = {"uid": one.uid, "summary": one.summary, "dtstart": one.start, "dtend": one.end}
            values |= {"dtstamp": now, "last-modified": now, "sequence": 0, "status": one.status}
            values |= {"transp": "TRANSPARENT", "categories": list(one.categories), "description": one.description}
            for name, value in values.items():
                event.add(name, value)
            alarm.add("action", "DISPLAY")
            alarm.add("description", one.alarm_text)
            alarm.add("trigger", -timedelta(minutes=60))
            event.add_component(alarm)
            calendar.add_component(event)
        data: bytes = calendar.to_ical()
        return data

    told_before = replace(book, calendar=export_calendar(book, work, now).log)
    out = side_by_side(
        rounds,
        bare=lambda: spent(bare),
        first=lambda: spent(lambda: export_calendar(book, work, now)),
        again=lambda: spent(lambda: export_calendar(told_before, work, now)),
    )
    print(f"\n{'1,000 calendar entries':<34}{HEAD}")
    told("written for the first time", out["first"], out["bare"], "1.3")
    told("written again, unchanged", out["again"], out["bare"], "1.3")

    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:bench"]
    for n in range(5000):
        begin = datetime(2026, 3, 2, 8) + timedelta(hours=2.5 * n)
        lines += ["BEGIN:VEVENT", f"UID:{n}", "DTSTAMP:20260101T000000Z", f"SUMMARY:Busy {n}", "LOCATION:there"]
        lines += [f"DTSTART:{begin:%Y%m%dT%H%M%SZ}", f"DTEND:{begin + timedelta(hours=1):%Y%m%dT%H%M%SZ}", "END:VEVENT"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "busy.ics"
        path.write_text("\r\n".join([*lines, "END:VCALENDAR", ""]))
        taken = side_by_side(
            max(2, rounds // 2),
            bare=lambda: spent(lambda: Calendar.from_ical(path.read_bytes())),
            ours=lambda: spent(lambda: read_busy(path, date(2026, 3, 2), date(2027, 8, 29), "Australia/Hobart")),
        )
    print(f"\n{'5,000 busy events':<34}{HEAD}")
    told("read as busy hours", taken["ours"], taken["bare"], "3")


def hearing() -> None:
    """The captions of a film of forty minutes held against sixty points, in each form, by the processor's time."""
    import films

    from showrunner.planning.captions import read_captions
    from showrunner.planning.film_parts import division, extents, openings, sections_of
    from showrunner.planning.hearing import Film, places_of, settle
    from showrunner.planning.pointing import pointing_places

    lines = [line for study in films.studies() for line in study.lines]
    things = [replace(lines[at % len(lines)].thing, id=str(at)) for at in range(60)]
    film = films.invented(films.studies()[0], 1, minutes=40)
    print(f"\n{'captions of 40 min, 60 points':<34}{'ours':>9}{'goal':>9}{'cues':>9}{'words':>9}")
    for form, write in films.FORMS.items():
        data = write(film)

        def once(data: bytes = data) -> Any:
            found = read_captions(data, "film")
            heard = Film(found.words)
            places, opened = places_of(heard, things), openings(heard, {})
            parts = division(heard, sections_of(things, ["Tansy"]), things, places, opened)
            settle(heard, things, places, extents(heard, parts.starts, things))
            pointing_places(found.words)
            return found

        found = once()  # with the stemmer loaded
        seconds = min(spent(once) for _ in range(5))
        cues, words = len(found.cues), len(found.words)
        print(f"{form:<34}{seconds * 1000:>6.0f} ms{'300 ms':>9}{cues:>9}{words:>9}", flush=True)


def spent(action: Callable[[], Any]) -> float:
    """Processor seconds of something."""
    gc.collect()
    began = time.process_time()
    action()
    return time.process_time() - began


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="give the judges ten seconds each")
    parser.add_argument("--limit", type=float, default=150.0, help="seconds for each judge on each problem")
    choices = [
        "placing",
        "forecasting",
        "saving",
        "painting",
        "reporting",
        "marking",
        "ticking",
        "waiting",
        "supposing",
        "ordering",
        "pressing",
        "matching",
        "importing",
        "crowding",
        "wanting",
        "calendars",
        "hearing",
    ]
    parser.add_argument("--only", choices=choices)
    asked = parser.parse_args()
    parts = {
        "painting": lambda: painting(6 if asked.quick else 15),
        "reporting": lambda: reporting(6 if asked.quick else 15),
        "marking": lambda: marking(4 if asked.quick else 12),
        "ticking": lambda: ticking(4 if asked.quick else 12),
        "waiting": waiting,
        "supposing": supposing,
        "saving": saving,
        "matching": matching,
        "importing": importing,
        "calendars": lambda: calendars(4 if asked.quick else 10),
        "hearing": hearing,
        "forecasting": forecasting,
        "pressing": pressing,
        "ordering": lambda: ordering(10.0 if asked.quick else asked.limit),
        "wanting": lambda: wanting(10.0 if asked.quick else asked.limit),
        "crowding": lambda: crowding(10.0 if asked.quick else 20.0),
        "placing": lambda: placing(10.0 if asked.quick else asked.limit),
    }
    for name, part in parts.items():
        if asked.only in (None, name):
            part()


if __name__ == "__main__":
    main()
