"""The commands: what they read, print and write, and how they exit.

Exit codes: 0 done; 1 done, but there are warnings and `--strict` was given; 2 bad usage or input; 3 the
book is in use or damaged; 70 a fault of the program itself. Errors are one sentence on stderr.
"""

from __future__ import annotations

import contextlib
import errno
import io
import json
import os
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

from showrunner import __version__, clock, completion, report
from showrunner.domain import words
from showrunner.domain.book import YEARS, Book
from showrunner.domain.naming import Answer, Sort, listed, meant, named, named_each, things, which
from showrunner.domain.record import record
from showrunner.domain.zone import check_zone
from showrunner.errors import LONGEST, BadInput, BookDamaged, Contradiction, ShowrunnerError, UnknownThing, fitting
from showrunner.offering import Item, Name, Names, WhatIf
from showrunner.session import Session
from showrunner.storage import file_errors
from showrunner.storage.book_reading import is_book
from showrunner.storage.place import default_path

if TYPE_CHECKING:
    from showrunner.ical.stores import Store
    from showrunner.intake.findings import Asked, Intake
    from showrunner.page import Paper
    from showrunner.planning.handover import Handover
    from showrunner.planning.pairing import Pairing
    from showrunner.planning.results import Plan, RunOut, WorkPlan

STRICT_WARNINGS = 1
FAULT = 70
INTERRUPTED = 130
PAIRS_TOLD = 10
"""Pairs that are tried and told, those with most alike first."""

PLAN_SECONDS = 60.0
"""Time for a plan on the command line; beyond it the best found is printed, with the proven gap."""

AHEAD = timedelta(weeks=78)
"""How far ahead the busy days of another calendar and public holidays are looked for."""

MB = 10**6
"""Bytes of a megabyte."""


class Writing(click.Command):
    """A command that writes only with `--write`; the older word `--apply` does the same, unlisted."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the arguments."""
        end = args.index("--") if "--" in args else len(args)
        options = ["--write" if word == "--apply" else word for word in args[:end]]
        return super().parse_args(ctx, options + args[end:])


@record
class Choice:
    """What stands before the command."""

    book: Path | None
    """The book asked for; None for the default one."""
    today: date | None
    """The day asked for; None for the book's clock or the real day."""
    done: list[str]
    """What the command has written so far, as clauses: told even if its output cannot be."""

    @property
    def path(self) -> Path:
        """The book file."""
        return self.book or default_path()

    @contextmanager
    def open(self, *, write: bool = False, create: bool = False, steps: bool = True) -> Iterator[Session]:
        """The book; what failed without stopping the command, such as a backup, is told at its end.

        Args:
            write: whether to write it: then the command fails when it first does if another window has the book.
                Otherwise nothing is written beside it either, and it may be open in a window.
            create: whether an empty book is made where there is none.
            steps: whether its undo steps are read too.
        """
        with Session.open(self.path, write=write, create=create, today=self.today, steps=steps) as session:
            try:
                yield session
            finally:
                for warning in session.warnings:
                    click.echo(f"! {report.clean(warning)}", err=True)


def _typed(text: object) -> str:
    """What was typed, in quotation marks; a long text is cut."""
    return f"'{report.clip(str(text), 40)}'"


def _where(kind: click.ParamType[Any], param: click.Parameter | None) -> str:
    """The option as it is written; what an argument is without one."""
    return "/".join(param.opts) if param else kind.name


class Day(click.ParamType[date]):
    """A day in ISO form."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:  # noqa: ARG002
        """The day, or a plain sentence why it is none."""
        where = _where(self, param)
        try:
            day = date.fromisoformat(str(value))
        except ValueError:
            raise BadInput(f"{_typed(value)} is no day of the calendar", where, "write it like 2026-03-22") from None
        if day.year not in YEARS:
            raise BadInput(f"{day} is too far away", where, f"choose a year from {YEARS[0]} to {YEARS[-1]}")
        return day


class Whole(click.ParamType[int]):
    """A whole number between two bounds."""

    name = "number"

    def __init__(self, least: int = 0, most: int = 1_000_000_000) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ARG002
        """The number, or a plain sentence why it is none."""
        where = _where(self, param)
        text = str(value).strip().removeprefix("+")
        if not re.fullmatch(r"-?[0-9]{1,12}", text):
            raise BadInput(f"{_typed(value)} is no whole number", where, "write it in figures")
        if not self.least <= int(text) <= self.most:
            raise BadInput(f"{text} is not from {self.least} to {self.most:,}", where, "choose one between")
        return int(text)


class Share(click.ParamType[float]):
    """A number that may have a part after a point or a comma."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ARG002
        """The number, or a plain sentence why it is none."""
        text = str(value).strip().replace(",", ".")
        if not re.fullmatch(r"[-+]?([0-9]{1,12}(\.[0-9]*)?|\.[0-9]+)", text):
            raise BadInput(f"{_typed(value)} is no number", _where(self, param), "write it like 2 or 2.5")
        return float(text)


class FilePath(click.Path):
    """A path; whether it may be read is told by what reads it.

    Args:
        folder: whether a folder is wanted, so that the Tab key offers folders.
    """

    def __init__(self, *, folder: bool = False) -> None:
        super().__init__(path_type=Path, readable=False)
        self.folder = folder

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[Item]:  # noqa: ARG002
        """Files, or folders, which the shell finds itself."""
        return [Item(incomplete, "dir" if self.folder else "file")]

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path, or a plain sentence why no file can have that name."""
        try:
            named = b"\0" not in os.fsencode(value)
        except UnicodeEncodeError:
            named = False
        if not named:
            raise BadInput("this is no name of a file", _typed(value), "name a file")
        return super().convert(value, param, ctx)


def _shopped_for(book: Book) -> set[str]:
    from showrunner.domain.collection import CollectionKind

    return {one.id for one in book.collections if one.kind is CollectionKind.SHOPPING}


DAY = Day()
PATH = FilePath()
FOLDER = FilePath(folder=True)
json_option = click.option("--json", "as_json", is_flag=True, help="Print it for other programs, as JSON.")
strict_option = click.option("--strict", is_flag=True, help="Exit with 1 if there are warnings.")


@click.group(
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 90},
    epilog="Example: showrunner --today 2026-03-02 report",
)
@click.option("--book", type=PATH, envvar="SHOWRUNNER_BOOK", help="The book file (or SHOWRUNNER_BOOK).")
@click.option(
    "--today", type=DAY, metavar="DATE", help="Compute for this day (on a demonstration: as if lived until then)."
)
@click.version_option(__version__, prog_name="showrunner")
@click.pass_context
def cli(ctx: click.Context, book: Path | None, today: date | None) -> None:
    """Plan a series about a collection: pieces, slots, hours, and when it ends.

    Without a command it opens the book in the terminal.
    """
    ctx.obj = Choice(book, today, ctx.obj)
    if ctx.invoked_subcommand is None:
        if not _is_terminal():
            raise BadInput("there is no terminal to open the book in", "showrunner", "use a command, such as report")
        with Session.open(ctx.obj.path, create=True, today=today) as session:
            ctx.exit(_run_app(session))


def _is_terminal() -> bool:
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout))


def _run_app(session: Session, *, demo: bool = False) -> int:
    from showrunner.tui.app import run_app

    return run_app(session, demo=demo)


def _print(text: str) -> None:
    click.echo(report.clean(text))


def _print_json(value: Any) -> None:
    """Print JSON in which everything a terminal would obey is escaped, and everything its encoding lacks."""
    encoding = getattr(sys.stdout, "encoding", None) or ""
    text = json.dumps(value, indent=2, ensure_ascii=encoding.lower() != "utf-8")
    click.echo("".join(c if c.isprintable() or c == "\n" else json.dumps(c)[1:-1] for c in text))


def _strictly(strict: bool, warnings: Sequence[object]) -> None:
    if strict and warnings:
        raise click.exceptions.Exit(STRICT_WARNINGS)


@cli.command(epilog="Example: showrunner demo --keep ~/demo.json")
@click.option("--keep", type=PATH, metavar="PATH", help="Keep the copy as this new file.")
@click.pass_obj
def demo(choice: Choice, keep: Path | None) -> None:
    """Open a copy of the demo book; print its report if there is no terminal."""
    from showrunner.demo_book import demo_copy

    with demo_copy(keep) as path, Session.open(path, today=choice.today) as session:
        if keep is not None:
            choice.done.append(f"the copy is kept as {keep}")
        if _is_terminal():
            raise click.exceptions.Exit(_run_app(session, demo=True))
        _print(_report(session, *_ahead(session)))


def _ahead(session: Session, *, priced: bool = False) -> tuple[Plan, WorkPlan, RunOut | None, Handover | None]:
    """What a report tells: the plan, the work, the end of the series if there is one, and what takes over."""
    from showrunner.shopping import next_handover

    plan, work = session.standing(priced=priced, time_limit=PLAN_SECONDS), session.work()
    runout = session.runout() if session.book.series else None
    return plan, work, runout, next_handover(session, time_limit=PLAN_SECONDS)


def _report(session: Session, plan: Plan, work: WorkPlan, runout: RunOut | None, handover: Handover | None) -> str:
    from showrunner.shopping import handover_line

    taking_over = handover_line(session.book, handover) if handover else ""
    return report.report(session.book, session.today, plan, work, runout, taking_over)


@cli.command("report", epilog="Example: showrunner report")
@json_option
@strict_option
@click.pass_obj
def report_command(choice: Choice, as_json: bool, strict: bool) -> None:
    """Print what remains, the plan, this week's work, and warnings."""
    with choice.open() as session:
        plan, work, runout, handover = _ahead(session, priced=as_json)
        if as_json:
            from showrunner import contract

            shape = {
                "plan": contract.plan(plan),
                "work": contract.work(work),
                "runout": contract.runout(runout) if runout else None,
                "handover": contract.handover(handover) if handover else None,
            }
            _print_json(shape)
        else:
            _print(_report(session, plan, work, runout, handover))
        _strictly(strict, [*plan.warnings, *work.warnings, *(runout.warnings if runout else ())])


@cli.command(cls=Writing, epilog="Example: showrunner plan --unsure shown --json")
@click.option("--write", is_flag=True, help="Write the dates into the book.")
@click.option("--replan", is_flag=True, help="Move as few planned studies as possible.")
@click.option("--even", is_flag=True, help="With --replan: first as few gaps beyond the longest as possible.")
@click.option("--unsure", type=click.Choice(["shown", "unshown"]), help="Take unsure pieces as shown or unshown.")
@click.option(
    "--horizon", type=Whole(1, 520), metavar="WEEKS", default=78, show_default=True, help="Weeks to look ahead."
)
@json_option
@strict_option
@click.pass_obj
def plan(
    choice: Choice,
    write: bool,
    replan: bool,
    even: bool,
    unsure: str | None,
    horizon: int,
    as_json: bool,
    strict: bool,
) -> None:
    """Place the studies; print what would change, and write it only with --write."""
    if even and not replan:
        raise BadInput("--even is a way of planning again", "plan", "use it with --replan")
    from showrunner.domain.house import Unsure
    from showrunner.planning.aims import Aim

    with choice.open(write=write) as session:
        found = session.plan(
            horizon_weeks=horizon,
            unsure=Unsure(unsure or Unsure.LEFT_OUT),
            aim=Aim.BEST if not replan else Aim.EVEN if even else Aim.FEWEST,
            time_limit=PLAN_SECONDS,
        )
        told = report.differences(session.book, found)
        if replan and not as_json and not found.clashes:
            ways = session.choices(unsure=found.unsure, time_limit=PLAN_SECONDS)
            told = f"{report.choices(ways, found)}\n\n{told}"
        if write and not found.clashes:  # before anything is printed: a closed pipe must not stop it
            before = session.book
            if session.apply_plan(found) is before:
                told += "\nThe book has these dates already."
            else:
                choice.done.append("the dates are written into the book")
                told += "\nWritten into the book; `showrunner undo` takes it back."
        if as_json:
            from showrunner import contract

            _print_json(contract.plan(found))
        else:
            _print(told)
        if found.clashes:
            raise Contradiction(" ".join(clash.text for clash in found.clashes))
        _strictly(strict, found.warnings)


@cli.command(epilog="Example: showrunner work")
@json_option
@strict_option
@click.pass_obj
def work(choice: Choice, as_json: bool, strict: bool) -> None:
    """Print the work of all planned episodes, day by day, and what does not fit."""
    with choice.open() as session:
        found = session.work()
        if as_json:
            from showrunner import contract

            _print_json(contract.work(found))
        else:
            _print(report.work(session.book, found))
        _strictly(strict, found.warnings)


@cli.command(cls=Writing, epilog="Example: showrunner runout --what-if spacing=4,5,8 --what-if unpair=waistcoats")
@click.option(
    "--series",
    type=Name(Sort.SERIES),
    metavar="SERIES",
    help="The series; the first on a keeping collection unless given.",
)
@click.option("--slip-rate", type=Share(), metavar="X", help="A fixed slip rate, without bad spells (0 to below 1).")
@click.option(
    "--what-if",
    "what_ifs",
    type=WhatIf(),
    multiple=True,
    metavar="KIND=VALUE",
    help="Several are tried together; each is one of those listed below.",
)
@click.option("--write", is_flag=True, help="Adopt the what-ifs: write them into the book, all in one step.")
@click.option("--pairs", is_flag=True, help="Which pieces could be one study: what is alike, what differs, the cost.")
@click.option("--backtest", is_flag=True, help="What would have been said at each past month, and how often it held.")
@json_option
@strict_option
@click.pass_obj
def runout(
    choice: Choice,
    series: str | None,
    slip_rate: float | None,
    what_ifs: tuple[str, ...],
    write: bool,
    pairs: bool,
    backtest: bool,
    as_json: bool,
    strict: bool,
) -> None:
    r"""Print how many pieces and studies are left, and until when, as ranges.

    What-ifs are tried together on a copy, beside the present plan; they change nothing without --write:

    \b
    spacing=4,5,8        least, wished and most weeks between studies
    last-until=2027-03   the spacing that makes the series last (or 2027-03-14)
    pair=STUDY+STUDY     one study of two, or of pieces in no study yet
    unpair=STUDY         a study of two split in two
    drop-window=STUDY    a study without its windows
    revisit=PIECE        a piece that was shown, shown once more
    loan=NAME            a piece on loan to show too
    hours=-2             working hours more, or fewer, a week
    off=2026-06          no work in a month (or 2026-06-07..2026-06-21)
    shown=PIECE          a doubt settled; unshown=PIECE the other way
    slip-rate=0.1        another share of missed slots
    add-piece=2          more pieces to show

    An answer to a doubt, a slip rate and more pieces can only be looked at.
    """
    if write and not what_ifs:
        raise BadInput("--write adopts what-ifs, and there is none", "runout", "add one with --what-if")
    if backtest and (what_ifs or pairs or slip_rate is not None):
        what = "--backtest looks back, and nothing can be supposed of the past"
        raise BadInput(what, "runout", "leave --what-if, --pairs and --slip-rate out")
    if pairs and (what_ifs or slip_rate is not None):
        what = "--pairs tries pairs on the present plan"
        raise BadInput(what, "runout", "leave --what-if and --slip-rate out")
    from showrunner.whatif import adopt, outlook

    with choice.open(write=write) as session:
        chosen = None if series is None else named(session.book, Sort.SERIES, series)
        found = session.runout(series=chosen, slip_rate=slip_rate)
        if backtest:
            looks = session.backtests(found)
            if as_json:
                from showrunner import contract

                _print_json(contract.backtests(looks))
            else:
                _print(report.backtest(looks))
            return
        if pairs:
            from showrunner.planning.pairing import pairings

            told = pairings(session.book, session.book.series_of(found.series))[:PAIRS_TOLD]
            tried = [(pair, *_tried(session, found, pair)) for pair in told]
            if as_json:
                from showrunner import contract

                _print_json(contract.pairs(found.series, [(pair, then) for pair, _, then in tried]))
            else:
                _print(report.pairs([(pair, cost) for pair, cost, _ in tried]))
            return
        beside = None
        if what_ifs:
            beside = outlook(session, found.series, what_ifs, slip_rate=slip_rate, time_limit=PLAN_SECONDS)
        if write and beside:  # before anything is printed: a closed pipe must not stop it
            adopt(session, beside.supposed)
            choice.done.append("what was supposed is written into the book")
        if as_json:
            from showrunner import contract

            shape = contract.runout(found)
            _print_json({**shape, **contract.what_ifs(beside, written=write)} if beside else shape)
        else:
            from showrunner.shopping import then_line

            opening = then_line(beside) if beside else ""
            supposed = report.what_ifs_told(found, beside, written=write, taking_over=opening) if beside else ""
            _print(report.runout(found, supposed))
        _strictly(strict, found.warnings)


@cli.command("record", epilog="Example: showrunner record --json")
@json_option
@strict_option
@click.pass_obj
def record_command(choice: Choice, as_json: bool, strict: bool) -> None:
    """Print how the slots were kept, whether the pace changed, and what could fill the empty ones ahead."""
    from showrunner import record_text

    with choice.open() as session:
        found = session.slot_record()
        if as_json:
            from showrunner import contract

            _print_json(contract.slot_record(found))
        else:
            _print(record_text.record_text(session.book, found))
        _strictly(strict, record_text.warnings(found))


@cli.command(epilog="Example: showrunner idea 'An apron in an evening' --for wednesday --from apron")
@click.argument("title")
@click.option(
    "--for", "rule", type=Name(Sort.SLOT), required=True, metavar="SLOT", help="The weekly slot it is meant for."
)
@click.option(
    "--from", "study", type=Name(Sort.STUDY), default="", metavar="STUDY", help="The study it comes from: make one now."
)
@click.pass_obj
def idea(choice: Choice, title: str, rule: str, study: str) -> None:
    """Put an idea into the pool of what could fill an empty slot; `record` offers it."""
    from showrunner.domain import edits

    with choice.open(write=True) as session:
        slot = named(session.book, Sort.SLOT, rule)
        source = named(session.book, Sort.STUDY, study) if study else ""
        made = session.make(
            f"an idea: {title}", lambda book: edits.add_filler(book, title.strip(), slot, idea_of=source)
        )
        choice.done.append("the idea is in the pool")
        _print(f"In the pool for {report.clean(session.book.rule(slot).name)}: {report.clean(made.title)}.")


@cli.command("wants", epilog="Example: showrunner wants --silence 4")
@click.option(
    "--collection",
    type=Name(Sort.COLLECTION, _shopped_for),
    metavar="COLLECTION",
    help="The shopping collection; the first one unless given.",
)
@click.option("--silence", type=Whole(0, 260), metavar="WEEKS", help="Most silence before it takes over.")
@click.option("--boxes", is_flag=True, help="Print the room in every box instead.")
@json_option
@strict_option
@click.pass_obj
def wants_command(
    choice: Choice, collection: str | None, silence: int | None, boxes: bool, as_json: bool, strict: bool
) -> None:
    """Print what is shopped for: money, shelf, what each could feed, and when it can take over."""
    from showrunner import shopping

    if boxes and as_json:
        raise BadInput("the JSON holds the boxes already", "wants", "leave --boxes out")
    if boxes and (collection is not None or silence is not None):
        raise BadInput(
            "the room in the boxes is told for all collections, and rests on no silence",
            "wants",
            "leave --collection and --silence out, or --boxes",
        )
    with choice.open() as session:
        book, today, room = session.book, session.today, session.space()
        if boxes:
            _print("\n".join(map(report.wrap_line, shopping.space_words(book, room, today))))
            _strictly(strict, shopping.box_warnings(book, room))
            return
        chosen = shopping.chosen_collection(book, collection).id
        found = session.purse(chosen)
        handover = session.handover(chosen, silence_weeks=silence, time_limit=PLAN_SECONDS)
        told = shopping.warnings(book, found, handover, room)
        if as_json:
            from showrunner import contract

            _print_json({**contract.wants(book, found, handover, room), "warnings": contract.warnings(told)})
        else:
            _print(shopping.wants(book, today, found, handover, room))
        _strictly(strict, told)


def _tried(session: Session, found: RunOut, pair: Pairing) -> tuple[str, RunOut | None]:
    """What a pair costs in words, and the forecast with it; if it is refused, why, and None."""
    from showrunner.whatif import paired

    try:
        then = paired(session, found, pair)
    except ShowrunnerError as error:
        return error.sentence(), None
    return report.pairing_cost(found, then), then


@cli.command(epilog="Example: showrunner shoot waistcoats --html > sheet.html")
@click.argument("studies", type=Name(Sort.STUDY), nargs=-1, required=True, metavar="STUDY...")
@click.option("--lux", type=Whole(), metavar="N", help="Light on the pieces; the lamps of the house unless given.")
@click.option("--hours", type=Share(), metavar="N", help="Hours under it; the hours of the shoot unless given.")
@click.option("--html", "as_html", is_flag=True, help="Print a page for the printer or a phone instead of text.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="With --html: the paper; any unless given.")
@click.option("--log", "as_log", is_flag=True, help="Print what became of the shoots there were, the last one first.")
@json_option
@strict_option
@click.pass_obj
def shoot(
    choice: Choice,
    studies: tuple[str, ...],
    lux: int | None,
    hours: float | None,
    as_html: bool,
    paper: str | None,
    as_log: bool,
    as_json: bool,
    strict: bool,
) -> None:
    """Print the set-up sheet of a shoot: of a study, or of several filmed together."""
    from showrunner import sheet
    from showrunner.page import Paper

    size = {"a4": Paper.A4, "letter": Paper.LETTER}[paper] if paper else Paper.ANY
    if paper and not as_html:
        raise BadInput("paper is asked for without a page", "--paper", "give --html too")
    if as_log and as_json:
        raise BadInput("what became of a shoot is text or a page", "shoot", "leave --json out, or give --html instead")
    if as_log and (lux is not None or hours is not None):
        raise BadInput(
            "what became of a shoot holds its light and hours already", "shoot", "leave --lux and --hours out, or --log"
        )
    if as_log:
        _print_shoots(choice, studies, as_html, size)
        return
    if as_html and as_json:
        raise BadInput("two ways of printing are asked for", "shoot", "choose --html or --json")
    if hours is not None and not 0 < hours <= 24:
        raise BadInput(f"{hours:g} hours are not between 0 and the 24 of a day", "--hours", "give some in between")
    with choice.open() as session:
        ids = named_each(session.book, Sort.STUDY, studies)
        found = session.shoot_plan(ids, lux=lux, seconds=None if hours is None else round(hours * 3600))
        if as_json:
            from showrunner import contract

            _print_json(contract.shoot(found))
        elif as_html:
            click.echo(sheet.html(session.book, found, size), nl=False)
        else:
            _print(sheet.sheet(session.book, found))
        _strictly(strict, found.warnings)


def _print_shoots(choice: Choice, studies: tuple[str, ...], as_html: bool, size: Paper) -> None:
    """Print the record of the shoots of some studies: as a page only the last one, which is what a page holds."""
    from showrunner import shoot_record

    with choice.open() as session:
        book = session.book
        there = shoot_record.shoots_of(book, named_each(book, Sort.STUDY, studies))
        if not there:
            raise BadInput("it was never filmed", words.listing(studies), "leave --log out to print its set-up sheet")
        if as_html:
            click.echo(shoot_record.record_html(book, there[0], size), nl=False)
        else:
            _print("\n\n\n".join(shoot_record.record_text(book, shoot) for shoot in there))


@cli.command(epilog="Example: showrunner package apron --captions apron.vtt --take chapters --take said")
@click.argument("typed", type=Name(Sort.STUDY), nargs=-1, metavar="[STUDY]")
@click.option("--out", type=FOLDER, metavar="DIR", help="Write the package into this folder as files too.")
@click.option("--captions", type=PATH, metavar="FILE", help="Hold captions of the film against what had to be said.")
@click.option(
    "--take",
    type=click.Choice(["chapters", "weak-chapters", "said", "run-time"]),
    multiple=True,
    help="Take what the captions propose into the book: sure chapters, those too that no words open, points said.",
)
@click.option("--corrected", is_flag=True, help="Put down that its corrections are in its description as of today.")
@json_option
@strict_option
@click.pass_obj
def package(
    choice: Choice,
    typed: tuple[str, ...],
    out: Path | None,
    captions: Path | None,
    take: tuple[str, ...],
    corrected: bool,
    as_json: bool,
    strict: bool,
) -> None:
    """Print what the publication of a study needs, and what is missing; without STUDY, what is to be looked after."""
    from showrunner import packaging

    study = " ".join(typed)
    if not typed:
        if out or captions or take or corrected:
            raise BadInput("no study is named", "package", "name one: showrunner package STUDY")
        with choice.open() as session:
            book, today = session.book, session.today
            if as_json:
                _print_json(packaging.upkeep_json(book, today))
            else:
                _print(packaging.upkeep_text(book, today))
            _strictly(strict, packaging.to_look_after(book, today))
        return
    if take and captions is None:
        raise BadInput("there is nothing to take from", "--take", "name the captions with --captions FILE")
    if captions is not None and (out or corrected):
        what = "captions are held against the film by themselves"
        raise BadInput(what, "package", "leave --out and --corrected out, and give them without --captions")
    if captions is not None:
        _hold_captions(choice, study, captions, take, as_json, strict)
        return
    with choice.open(write=corrected) as session:
        id = named(session.book, Sort.STUDY, study)
        if corrected:
            _put_right(choice, session, id)
        found = session.package(id)
        if out is not None:
            names = packaging.write_package(out, found, session.path)
            choice.done.append(f"{words.listing(names)} are written into {out}")
        if as_json:
            _print_json(packaging.package_json(session.book, found))
        else:
            _print(packaging.package_text(found))
            if out is not None:
                _print(f"\nWritten into {out}: {words.listing(names)}.")
        _strictly(strict, found.missing)


def _put_right(choice: Choice, session: Session, study: str) -> None:
    """Put down that the corrections of a study are in its description."""
    from dataclasses import replace

    from showrunner.domain import edits
    from showrunner.planning.corrections import put_right

    on = session.today
    kept = session.book.episode(study).package
    done = replace(kept, corrected=put_right(session.book, study, on))
    session.do("put corrections into a description", lambda book: edits.put_package(book, study, done))
    choice.done.append("the corrections are put down as done")


def _hold_captions(
    choice: Choice, study: str, captions: Path, take: tuple[str, ...], as_json: bool, strict: bool
) -> None:
    """Print what captions say of a film, and take what was asked for."""
    from showrunner import packaging
    from showrunner.intake.bringing import read_file
    from showrunner.planning.film_check import check_film, taken_from
    from showrunner.planning.hearing import Verdict

    with choice.open(write=bool(take)) as session:
        id = named(session.book, Sort.STUDY, study)
        found = check_film(session.book, id, read_file(captions), captions.name)
        told = ""
        if take:
            edit, what = taken_from(session.book, found, take)
            session.do("take what captions propose", edit)
            choice.done.append(packaging.taken_words(what))
            told = f"\nNow {packaging.taken_words(what)}; `showrunner undo` takes it back."
        if as_json:
            _print_json({**packaging.check_json(found), "taken": list(take)})
        else:
            _print(packaging.check_text(session.book, found) + told)
        _strictly(strict, [*found.odd, *found.of(Verdict.NOT_HEARD)])


@cli.command(cls=Writing, epilog="Example: showrunner calendar ~/calendars/series.ics")
@click.argument("out", type=PATH, metavar="OUT.ics", required=False)
@click.option("--folder", type=FOLDER, metavar="DIR", help="Write a folder with one file for each entry instead.")
@click.option("--push", metavar="URL", help="Bring a calendar on a server up to date instead (CalDAV).")
@click.option("--busy", type=PATH, metavar="IN.ics", help="Bring busy time of another calendar in instead.")
@click.option(
    "--write", is_flag=True, help="With --push or --busy: write it; otherwise only what would be done is told."
)
@click.option("--replace", is_flag=True, help="Take over a file of another book, or entries that somebody changed.")
@click.option("--user", default="", metavar="NAME", help="With --push: who signs in.")
@click.option(
    "--password-command",
    default="",
    envvar="SHOWRUNNER_PASSWORD_COMMAND",
    metavar="COMMAND",
    help="With --push: a command whose first line is the password; otherwise .netrc, the settings or the keyring.",
)
@json_option
@strict_option
@click.pass_obj
def calendar(
    choice: Choice,
    out: Path | None,
    folder: Path | None,
    push: str | None,
    busy: Path | None,
    write: bool,
    replace: bool,
    user: str,
    password_command: str,
    as_json: bool,
    strict: bool,
) -> None:
    """Write the calendar, or bring busy time of another one in.

    One of OUT.ics, --folder, --push and --busy. On a server and in a folder only entries that this book put there are
    changed or deleted; what somebody else changed is told and left.
    """
    if sum(way is not None for way in (out, folder, push, busy)) != 1:
        way_out = "write `calendar OUT.ics`, or one of --folder DIR, --push URL and --busy IN.ics"
        raise BadInput("name one place", "calendar", way_out)
    if replace and busy is not None:
        raise BadInput("--replace is about what is written", "calendar", "leave it out with --busy")
    if push is None and user:
        raise BadInput("--user is about a server", "calendar", "leave it out without --push")
    if as_json and push is None and folder is None:
        raise BadInput("--json tells what is put entry by entry", "calendar", "use it with --push or --folder")
    if out is not None:
        with choice.open(write=True) as session:
            told = session.write_calendar(out, replace=replace)
            choice.done.append(f"the calendar is written as {out}")
            counts = f"{told.added} new, {told.changed} changed, {told.cancelled} cancelled, {told.unchanged} unchanged"
            _print(f"Wrote {out}: {counts}.")
    elif folder is not None:
        from showrunner.ical.folder_store import FolderStore

        _push(choice, FolderStore(folder, choice.path), str(folder), replace, True, as_json, strict)
    elif push is not None:
        from showrunner.ical.passwords import sign_in
        from showrunner.ical.server_store import ServerStore

        store = ServerStore(push, lambda host, named: sign_in(host, user or named, password_command))
        with contextlib.closing(store):
            _push(choice, store, store.address, replace, write, as_json, strict)
    elif busy is not None:
        _bring_busy(choice, busy, write, strict)


def _push(choice: Choice, store: Store, place: str, take_back: bool, write: bool, as_json: bool, strict: bool) -> None:
    from showrunner.calendars import pushed
    from showrunner.ical.pushing import CONFLICTS

    with choice.open(write=write) as session:
        found = session.push_calendar(store, take_back=take_back, write=write)
        if write:
            choice.done.append(f"{place} is brought up to date")
        zone = session.book.house.zone
        if as_json:
            from showrunner import contract

            _print_json(contract.pushed(found.steps, place, zone, written=write))
        else:
            _print(pushed(found.steps, place, zone, written=write))
        _strictly(strict, [step for step in found.steps if step.deed in CONFLICTS])


def _bring_busy(choice: Choice, busy: Path, write: bool, strict: bool) -> None:
    from showrunner.calendars import brought_in
    from showrunner.ical.busy import merge_busy, read_busy

    with choice.open(write=write) as session:
        first = session.today
        result = read_busy(busy, first, first + AHEAD, session.book.house.zone)
        _, added, changed, removed = merge_busy(session.book, result)
        if write:  # before anything is printed: a closed pipe must not stop it
            session.do("bring busy days in", lambda book: merge_busy(book, result)[0])
            choice.done.append("the busy days are written into the book")
        for line in brought_in(result):
            _print(line)
        for sentence in result.skipped:
            _print(report.wrap(f"Passed over: {sentence}", "  ", ""))
        written = "written into the book" if write else "nothing written, --write writes it"
        _print(f"{added} new, {changed} changed, {removed} gone; {written}.")
        _strictly(strict, result.skipped)


@cli.command("holidays", cls=Writing, epilog="Example: showrunner holidays AU-TAS --take 2026-04-25 --write")
@click.argument("place", metavar="PLACE")
@click.option("--take", "taken", type=DAY, multiple=True, metavar="DATE", help="A day without work; any number.")
@click.option("--write", is_flag=True, help="Write the days that are taken into the book.")
@click.pass_obj
def holidays_command(choice: Choice, place: str, taken: tuple[date, ...], write: bool) -> None:
    """Offer the public holidays of a place, such as IE or AU-TAS, as days without work.

    None is taken by itself: choose with --take.
    """
    from showrunner.calendars import offered
    from showrunner.ical.public_days import public_days, take_days

    if write and not taken:
        raise BadInput("--write writes the days that are taken, and there is none", "holidays", "add --take DATE")
    with choice.open(write=write) as session:
        found = public_days(place, session.today, session.today + AHEAD)
        after = take_days(session.book, found, taken)
        if write:
            session.do("take public holidays off", lambda book: take_days(book, found, taken))
            choice.done.append("the holidays are written into the book")
        _print(offered(after, found, taken, written=write))


_Told = TypeVar("_Told")
_Key = TypeVar("_Key", str, int)


@cli.command("import", cls=Writing, epilog="Example: showrunner import pieces.csv --map 'Lives in=box' --write")
@click.argument("file", type=PATH)
@click.option("--write", is_flag=True, help="Write it into the book: all of it, or nothing if something is refused.")
@click.option("--as", "kind", type=click.Choice(["pieces", "episodes"]), help="What a sheet is about.")
@click.option(
    "--collection", type=Name(Sort.COLLECTION), default="", metavar="NAME", help="The collection the pieces belong to."
)
@click.option("--map", "maps", multiple=True, metavar="COLUMN=FIELD", help="What a column means; COLUMN= leaves it.")
@click.option(
    "--match", "matches", type=Names(), multiple=True, metavar="LINE=PIECE", help="The piece an episode shows, or none."
)
@click.option("--skip", "skips", multiple=True, metavar="PLACE", help="A row or an entry that is left out.")
@click.option("--sheet", default="", metavar="NAME", help="Which sheet of a workbook.")
@click.option("--headings", default=0, type=Whole(), metavar="N", help="The row that names the columns.")
@click.option(
    "--first-days/--first-months", default=None, help="What dates mean that all fall on the first of a month."
)
@click.option("--cross", type=click.Choice(["yes", "no", "unsure"]), help="What an x in 'shown' means.")
@click.option(
    "--fill-down/--no-fill-down", default=None, help="Whether empty cells of a group, as of a box, mean what is above."
)
@click.option("--day-first/--month-first", default=None, help="What 12/3/2024 means.")
@click.option(
    "--blank",
    type=click.Choice(["unsure", "no"]),
    default="unsure",
    show_default=True,
    help="What an empty 'shown' means.",
)
@json_option
@strict_option
@click.pass_obj
def import_command(
    choice: Choice,
    file: Path,
    write: bool,
    kind: str | None,
    collection: str,
    maps: tuple[str, ...],
    matches: tuple[str, ...],
    skips: tuple[str, ...],
    sheet: str,
    headings: int,
    first_days: bool | None,
    cross: str | None,
    fill_down: bool | None,
    day_first: bool | None,
    blank: str,
    as_json: bool,
    strict: bool,
) -> None:
    """Compare a file with the book, line by line; write it only with --write.

    FILE is a sheet (CSV, XLSX, XLSM, XLS or ODS) of pieces or of past episodes, an RSS or Atom feed, or an exchange
    file that an export wrote.
    """
    from showrunner.domain.piece import Known
    from showrunner.incoming import incoming
    from showrunner.intake.columns import Kind
    from showrunner.intake.findings import Asked

    asked = Asked(
        Kind(kind) if kind else None,
        collection.strip(),
        _once((_parted(text, "--map", "COLUMN=FIELD") for text in maps), "--map", "column"),
        day_first,
        Known(blank),
        {},
        sheet.strip(),
        headings,
        first_days,
        Known(cross) if cross else None,
        fill_down,
        frozenset(_place(text, "--skip", "3") for text in skips),
    )
    shown = _once((_settled(text) for text in matches), "--match", "place")
    # before anything is printed: a pipe may be closed
    found, written, lasting = _brought_in(choice, file, asked, shown, write)
    if as_json:
        from showrunner import contract

        _print_json(contract.incoming(found, written=written))
    else:
        _print(incoming(found, written=written, lasting=lasting))
    if found.refused:
        way_out = "put right what is listed as refused and import it again"
        raise BadInput(f"{len(found.refused)} refused, so nothing is written", file.name, way_out)
    _strictly(strict, found.doubtful)


def _brought_in(
    choice: Choice, file: Path, asked: Asked, shown: Mapping[int, str], write: bool
) -> tuple[Intake, bool, bool]:
    """A file compared with the book, whether it was written into it, and whether undo can take it back later on too.

    `shown` are the pieces of episodes as they were typed, by the episode's place in the file; empty for none.
    Where there is no book yet it is compared with an empty one, and a book is made only for what is written.
    """
    if not is_book(choice.path):
        from showrunner.intake.bringing import bring_in, read_file

        book = Book("new")
        today = choice.today or clock.today(book.house.zone)
        found = bring_in(book, read_file(file), file.name, today, _as_ids(book, asked, shown))
        if found.refused or not (write and found.changes):
            return found, False, True
    with choice.open(write=write, create=write) as session:
        found = session.bring_in(file, _as_ids(session.book, asked, shown))
        written = write and not found.refused and found.changes
        lasting = session.undo_lasts(found.after)
        if written:
            session.take_over(found)
            choice.done.append(f"{found.name} is brought into the book")
        return found, written, lasting


def _as_ids(book: Book, asked: Asked, shown: Mapping[int, str]) -> Asked:
    """What was asked for, with what was typed as a name or a part of one as the id that the book has for it.

    A collection that the book lacks stays as it is typed: it may be made.
    """
    from dataclasses import replace

    there = things(book, Sort.PIECE)
    collections = things(book, Sort.COLLECTION)
    settled = {}
    for at, text in shown.items():
        try:
            settled[at] = tuple(piece.id for piece in listed(there, text, noun=Sort.PIECE))
        except UnknownThing as error:
            raise UnknownThing(error.what, f"--match {at}", error.way_out) from None
    collection = asked.collection
    if meant(collection, collections) != Answer():
        collection = which(collection, collections, noun=Sort.COLLECTION).id
    return replace(asked, collection=collection, settled=settled)


def _parted(text: str, option: str, form: str) -> tuple[str, str]:
    """The two sides of an option such as `--map COLUMN=FIELD`; a column's own name may hold the sign."""
    left, sign, right = text.rpartition("=")
    if not sign or not left.strip():
        raise BadInput(f"{_typed(text)} has no '='", option, f"write it as {form}")
    return left.strip(), right.strip()


def _settled(text: str) -> tuple[int, str]:
    """An episode's line and the pieces it shows, as typed: `20=07`, `21=tea gown, bonnet`; none for `22=none`."""
    line, sign, pieces = text.partition("=")
    if not sign:
        raise BadInput(f"{_typed(text)} has no '='", "--match", "write it as 20=07, 21=09,10 or 22=none")
    place = _place(line.strip(), "--match", "20=07 or 20=none")
    return place, "" if pieces.strip().casefold() == "none" else pieces


def _once(told: Iterable[tuple[_Key, _Told]], option: str, what: str) -> dict[_Key, _Told]:
    """What was said of each thing, which is said once."""
    found: dict[_Key, _Told] = {}
    for key, value in told:
        if found.setdefault(key, value) != value:
            raise BadInput(f"the {what} {_typed(key)} is explained twice", option, "say it once")
    return found


def _place(text: str, option: str, form: str) -> int:
    """A line, a row or an entry of a file by its number."""
    if not re.fullmatch("[0-9]{1,9}", text):
        raise BadInput(f"{_typed(text)} is no line of the file", option, f"write it as {form}")
    return int(text)


@cli.command(epilog="Example: showrunner publish apron --on 2026-03-22 --link https://example.org/apron")
@click.argument("typed", type=Name(Sort.EPISODE), nargs=-1, required=True, metavar="EPISODE")
@click.option("--on", type=DAY, required=True, metavar="DATE", help="The day it came out.")
@click.option("--link", default="", help="Where it can be watched.")
@click.option(
    "--run-time", default="", metavar="MIN:SEC", help="How long it is, as edited; later estimates learn from it."
)
@click.pass_obj
def publish(choice: Choice, typed: tuple[str, ...], on: date, link: str, run_time: str) -> None:
    """Put an episode on record as published; its pieces become shown."""
    from showrunner.domain import edits
    from showrunner.planning.run_time import read_run_time

    with choice.open(write=True) as session:
        episode = named(session.book, Sort.EPISODE, " ".join(typed))
        title = session.book.episode(episode).title
        day = session.today
        if choice.today is None and session.book.clock:  # a demonstration: its days may be lived through
            check_zone(session.book.house.zone, "house rules")
            day = max(day, clock.today(session.book.house.zone))
        seconds = read_run_time(run_time)
        label = f"publish {title}"
        session.do(label, lambda book: edits.publish(book, episode, on, link, today=day, run_seconds=seconds))
        choice.done.append(f"{title} is on record as published")
        _print(f"{report.clean(title)} is on record as published on {words.day(on)}.")
        if told := report.waiting_words(session.book, episode):
            _print(told)


@cli.command(epilog="Example: showrunner export ~/series-export")
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.pass_obj
def export(choice: Choice, folder: Path) -> None:
    """Write the book into a folder: tables as CSV, everything as JSON with its schema.

    The folder is made if it is missing. An earlier export in it is replaced, nothing else is.
    """
    from showrunner.storage import exporting

    with choice.open() as session:
        written = exporting.export(session.book, folder, session.path)
        choice.done.append(f"the book is exported into {folder}")
    width = max(len(file.name) for file in written)
    _print(f"Wrote {len(written)} files into {folder}:")
    _print(f"  {'file':<{width}}  {'rows':>6}")
    for file in written:
        rows = "" if file.rows is None else f"{file.rows:>6,}"
        _print(f"  {file.name:<{width}}  {rows}".rstrip())


@cli.command(cls=Writing, epilog="Example: showrunner check --mend")
@click.option("--mend", is_flag=True, help="Say what can be put right without asking, and what is then left.")
@click.option("--write", is_flag=True, help="With --mend: put it right, after a backup. All undo steps go.")
@click.pass_obj
def check(choice: Choice, mend: bool, write: bool) -> None:
    """Verify the book: whether all is as it should be, and whether it can be saved, exported and brought back."""
    if write and not mend:
        raise BadInput("--write writes what is mended", "check", "use it with --mend")
    if mend:
        _mend(choice, write)
        return
    with choice.open() as session:
        problems = session.check()
        _print(f"The book is {session.path}.")
        _tell_place(session)
        if problems:
            _print(report.bullets(problems))
            faults = words.count(len(problems), "fault")
            can = "see what `showrunner check --mend` can put right, or restore a backup"
            way_out = can if session.mended()[1] else "put right what is named, or restore a backup"
            raise BookDamaged(f"the book has {faults}", str(session.path), way_out)
        _tell_well(session)


def _tell_place(session: Session) -> None:
    if refusal := session.against_place():
        _print(report.wrap(f"Here it can only be read. {refusal.sentence()}"))


def _tell_well(session: Session) -> None:
    pieces, studies = words.count(len(session.book.pieces), "piece"), words.count(len(session.book.studies), "study")
    lines = words.count(len(session.book.publications), "line")
    _print(f"All is well: {pieces}, {studies}, {lines} on record.")
    _print("It can be saved, exported and brought back.")


def _mend(choice: Choice, write: bool) -> None:
    """Say what of the book can be mended, and mend it if that is asked for; then say what is left."""
    steps = ["Its undo steps are damaged and are left out."]
    with contextlib.suppress(BookDamaged), choice.open():
        steps = []
    with choice.open(write=write, steps=not steps) as session:
        book, told = session.mended()
        _print(f"The book is {session.path}.")
        _tell_place(session)
        to_mend = [*steps, *told]
        if not to_mend:
            _print("There is nothing to mend without asking.")
        elif write:
            kept = session.mend()
            choice.done.append(f"the book is mended, and as it was it is backup {kept.number}")
            _print(report.bullets(to_mend))
            _print(f"Mended. The book as it was is backup {kept.number}; the undo steps are gone.")
        else:
            _print(report.bullets(to_mend))
            _print("Nothing is written; --write mends it, after a backup. All undo steps go then.")
        if left := session.check(book):
            _print("What is left:")
            _print(report.bullets(left))
            raise BookDamaged(f"{words.count(len(left), 'fault')} left", str(session.path), "put right what is named")
        if write or not to_mend:
            _tell_well(session)
        else:
            _print("Then all would be well.")


@cli.command(epilog="Example: showrunner backup")
@click.pass_obj
def backup(choice: Choice) -> None:
    """Keep a numbered copy of the book as it is now."""
    with choice.open(write=True) as session:
        before = session.backups()
        made = session.backup("asked for")
        choice.done.append(f"backup {made.number} is kept")
        already = "The book is kept as it is already: backup" if made in before else "Backup"
        _print(f"{already} {made.number} is {made.path}.")


@cli.command(epilog="Example: showrunner restore 3")
@click.argument("number", type=Whole(), required=False)
@click.pass_obj
def restore(choice: Choice, number: int | None) -> None:
    """Go back to a backup; without a number, list the backups."""
    from showrunner.storage.backups import MOST_BYTES

    if number is None:
        backups = Session.backups_of(choice.path)
        for item in backups:
            _print(f"{item.number:>5}  {words.day(item.day):<18} {item.reason} ({item.size:,} bytes)")
        if not backups:
            _print("There are no backups yet.")
            return
        size = sum(item.size for item in backups)
        _print(f"Together they take {size / MB:,.1f} of at most {MOST_BYTES / MB:,.0f} MB.")
        return
    told = Session.restore_file(choice.path, number)
    choice.done.append(f"backup {number} is the book now")
    for sentence in told:
        _print(sentence)


@cli.command(epilog="Example: showrunner undo")
@click.pass_obj
def undo(choice: Choice) -> None:
    """Take the last action back."""
    with choice.open(write=True) as session:
        label = session.undo()
        choice.done.append(f"undone is: {label}")
        _print(f"Undone: {label}.")


@cli.command(epilog="Example: showrunner redo")
@click.pass_obj
def redo(choice: Choice) -> None:
    """Do the action last undone again."""
    with choice.open(write=True) as session:
        label = session.redo()
        choice.done.append(f"done again is: {label}")
        _print(f"Done again: {label}.")


@cli.command("words", epilog="Example: showrunner words touch")
@click.argument("text", nargs=-1, metavar="[WORD]")
def words_command(text: tuple[str, ...]) -> None:
    """Say what the words of the screens mean: all of them, or those that hold WORD."""
    from showrunner.domain.glossary import found

    terms = found(" ".join(text))
    if not terms:
        raise UnknownThing(f"no word here holds {_typed(' '.join(text))}", "words", "leave it out to see all")
    for term in terms:
        _print(report.wrap(f"{term.word}: {term.meaning}", "  ", ""))


@cli.command("completion", epilog="Example: showrunner completion bash >> ~/.bashrc")
@click.argument("shell", type=click.Choice(list(completion.SCRIPTS)))
def complete(shell: str) -> None:
    """Print what a shell runs so that the Tab key offers commands, and names of the book."""
    click.echo(completion.SCRIPTS[shell], nl=False)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code."""
    if completion.ASKED in os.environ:
        with contextlib.suppress(OSError):
            click.echo(completion.answer(cli, os.environ).encode(), nl=False)
        return 0
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal without these letters shows `?` for them
    done: list[str] = []
    try:
        code = cli.main(arguments, prog_name="showrunner", standalone_mode=False, obj=done)
        if sys.stdout is None:
            return _unprinted(OSError(errno.EBADF, ""), done)
    except ShowrunnerError as error:
        _complain(error.sentence())
        return error.exit_code
    except (click.exceptions.Abort, KeyboardInterrupt):
        _complain(f"Stopped; {words.some(done) or 'nothing was changed'}.")
        return INTERRUPTED
    except click.ClickException as error:
        _complain(_usage_sentence(error))
        return 2
    except SystemExit:  # click's answer to a closed pipe; every other end comes back as a value
        return _unprinted(BrokenPipeError(errno.EPIPE, ""), done)
    except OSError as error:
        if error.filename is None:  # what is refused of a file names it
            return _unprinted(error, done)
        _complain(f"{error.filename}: the system refused it, {file_errors.words(error)}; nothing is lost.")
        return 2
    except Exception as error:  # noqa: BLE001 - the last net: a fault of ours must still end in a sentence
        _complain(_fault(error))
        return FAULT
    return code if isinstance(code, int) else 0


def _complain(sentence: str) -> None:
    """Say a sentence on stderr; where that cannot be written either, the exit code alone tells."""
    try:
        click.echo(report.clean(fitting(sentence)), err=True)
    except OSError:
        _give_up(sys.stderr)


def _unprinted(error: OSError, done: Sequence[str]) -> int:
    """Say that the output could not be written, and what was done all the same.

    A reader that has read enough and closed its pipe is no fault, and told nothing unless something was written.
    """
    if sys.stdout is not None:
        _give_up(sys.stdout)
    enough = error.errno == errno.EPIPE
    told = f"done all the same: {words.some(done)}" if done else "do it again"
    if done or not enough:
        _complain(f"The output could not be written, {file_errors.words(error)}; {told}.")
    return 0 if enough else 2


def _give_up(stream: TextIO) -> None:
    """Let what is still to be written to a stream go nowhere, so that the end of the program does not fail by it."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _usage_sentence(error: click.ClickException) -> str:
    first, space, rest = " ".join(error.format_message().split()).rstrip(".").partition(" ")
    ctx = getattr(error, "ctx", None)
    command = ctx.command_path if ctx else "showrunner"
    see = " See" if rest.endswith("?") else "; see"
    way_out = f"{see} `{command} --help`."
    return fitting(f"{command}: {first.lower()}{space}{rest}", LONGEST - len(way_out)) + way_out


def _fault(error: Exception) -> str:
    """Keep the details of a fault in a file and name it."""
    import traceback

    from platformdirs import user_log_dir

    text = "".join(traceback.format_exception(error))
    try:
        log = Path(user_log_dir("showrunner", appauthor=False)) / "fault.log"
        log.parent.mkdir(parents=True, exist_ok=True)
        log.unlink(missing_ok=True)
        log.touch(0o600)  # it may tell of a private book
        log.write_text(report.clean(text), encoding="utf-8")
        return f"showrunner itself failed ({type(error).__name__}); nothing is lost; the details are in {log}."
    except (OSError, RuntimeError):
        return f"showrunner itself failed ({type(error).__name__}: {error}); nothing is lost."
