"""What the program answers about a random book, through its public commands, held against the judge.

Every check gives a list of complaints in words, empty if all is well, so that a test shows all of them at once.
A part of the answer that the program does not give (a key that is absent) is not checked.
"""

from __future__ import annotations

import contextlib
import copy
import io
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from life.judge import DAY_MINUTES, Slot, Table, Verdict, busy_on, judge
from life.random_books import TODAY, Question
from showrunner.cli import run

Plan = Mapping[str, Any]
NO_LIMIT = 10**6
"""Minutes a day, or weeks, that bind nothing."""
FAR = 1500
"""Slots times sets of studies up to which a way out by looking further ahead is judged."""


@dataclass(frozen=True)
class Answer:
    """What the program said.

    Attributes:
        refused: what was said when the book was refused with its pins; empty if it was taken.
        code: exit code of `plan`.
        plan: its JSON, or None if it printed none.
        err: what it printed on stderr.
    """

    refused: str
    code: int
    plan: Plan | None
    err: str


def command(*arguments: str | Path) -> tuple[int, str, str]:
    """Runs a command: its exit code, what it printed, what it complained."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run([str(a) for a in arguments])
    return code, out.getvalue(), err.getvalue()


def answer(question: Question, folder: Path) -> Answer:
    """Brings the book of a question into a fresh book file and asks for its plan.

    Promises that contradict each other may be refused on the way in, but a book can come to hold such (a filler takes
    the slot, a day passes). Then the book is brought in without them and they are put into its file.
    """
    path, book = folder / f"{question.seed}.json", folder / f"book-{question.seed}.json"
    on = ("--book", book, "--today", TODAY.isoformat())
    path.write_text(json.dumps(question.book))
    code, out, err = command(*on, "import", path, "--write")
    refused = ""
    if code:
        refused = out + err
        path.write_text(json.dumps(question.book | {"pins": []}))
        code, out, err = command(*on, "import", path, "--write")
        assert code == 0, (question.seed, out, err)
        kept = json.loads(book.read_text())
        kept["pins"] = {str(n): pin for n, pin in enumerate(question.book["pins"], 1)}
        book.write_text(json.dumps(kept))
    options = ["--horizon", str(question.weeks)]
    options += ["--unsure", question.unsure] if question.unsure else []
    options += ["--replan"] if question.replan else []
    code, out, err = command(*on, "plan", "--json", *options)
    try:
        plan = json.loads(out)
    except ValueError:
        plan = None
    return Answer(refused, code, plan, err)


def verdict(question: Question, **hold: Any) -> Verdict | None:
    """What the judge says to a question."""
    return judge(question.book, TODAY, question.weeks, question.unsure, question.replan, **hold)


def changed(question: Question, book: Mapping[str, Any], weeks: int | None = None) -> Question:
    """The same question about another book."""
    return replace(question, book=dict(book), weeks=question.weeks if weeks is None else weeks)


def is_no_worse(new: Verdict | None, base: Verdict) -> bool:
    """Whether a plan breaks no more promises and places as many studies as the best one did."""
    return new is not None and new.broken <= base.broken and len(new.slots) >= len(base.slots)


# --- the plan itself ---


def of_the_plan(question: Question, said: Answer, base: Verdict) -> list[str]:
    """Complaints about status, slots, cost and the number of promises."""
    plan = said.plan
    if plan is None:
        return [f"no plan: exit code {said.code}, {said.err}"]
    found = []
    slots = {study["id"]: (study["slot"], study["slot_rule"]) for study in plan["studies"]}
    wanted = {id: (day.isoformat(), rule) for id, (day, rule) in base.slots.items()}
    if slots != wanted:
        found.append(f"slots {slots}, not {wanted}")
    if round(plan["points"] * 49) != base.unevenness:
        found.append(f"{plan['points']} weeks squared, not {base.unevenness / 49:.3f}")
    if plan["status"] != base.status:
        found.append(f"status {plan['status']}, not {base.status}")
    if said.code != (2 if base.status == "infeasible" else 0):
        found.append(f"exit code {said.code} with {base.status}")
    if {study["id"] for study in plan["unplaced"]} != set(base.unplaced):
        found.append(f"unplaced {[study['id'] for study in plan['unplaced']]}, not {base.unplaced}")
    if "promises" in plan:
        told, counted = plan["promises"], {"made": base.made, "kept": base.made - base.broken}
        if {key: told[key] for key in counted} != counted:
            found.append(f"promises {told}, not {counted}")
    return found


# --- one slot earlier, one slot later ---


def of_neighbours(question: Question, plan: Plan, base: Verdict) -> list[str]:
    """Complaints about what each study would cost one slot earlier and one slot later."""
    table = Table(question.book, TODAY, question.weeks, question.unsure, question.replan)
    found = []
    for study in plan["studies"]:
        for key, step in (("one_slot_earlier", -1), ("one_slot_later", 1)):
            other = study.get(key)
            if other is None:
                continue
            slot = beside(table, study, other["slot"], step)
            if slot is None:
                found.append(f"{study['id']}: {other['slot']} is no slot of its series")
                continue
            hold = {study["id"]: (date.fromordinal(slot.day), slot.rule)}
            there = verdict(question, hold=hold)
            possible = is_no_worse(there, base)
            name = f"{study['id']} on {other['slot']} ({key})"
            if possible is not other["possible"]:
                found.append(f"{name}: possible {other['possible']}, judged {possible}")
            elif possible and there is not None and round(other["points"] * 49) != there.unevenness - base.unevenness:
                more = (there.unevenness - base.unevenness) / 49
                found.append(f"{name}: {other['points']} more, judged {more:.3f}")
            if other.get("short_hours") is not None:
                found += of_short_hours(question, base, hold, round(other["short_hours"] * 60), name)
    return found


def beside(table: Table, study: Mapping[str, Any], day: str, step: int) -> Slot | None:
    """The slot of a study's series on a day, the nearest before (-1) or after (1) the one it stands in."""
    allowed = table.series[study["series"]]["rules"]
    slots = [slot for slot in table.slots if slot.rule in allowed]
    at = next(
        n
        for n, slot in enumerate(slots)
        if (date.fromordinal(slot.day).isoformat(), slot.rule) == (study["slot"], study["slot_rule"])
    )
    where = range(at - 1, -1, -1) if step < 0 else range(at + 1, len(slots))
    return next((slots[n] for n in where if date.fromordinal(slots[n].day).isoformat() == day), None)


def of_short_hours(question: Question, base: Verdict, hold: Any, minutes: int, name: str) -> list[str]:
    """Complaints about the hours that are said to be missing for a study to stand in a slot."""
    found = []
    for more, wanted in ((minutes, True), (minutes - 1, False)):
        richer = dict(question.book) | {"house": question.book["house"] | {"found today": more}}
        if is_no_worse(verdict(changed(question, richer), hold=hold), base) is not wanted:
            found.append(f"{name}: {more} minutes more {'are not enough' if wanted else 'would do'}")
    return found


def with_hours(book: Mapping[str, Any], day: str, minutes: int) -> dict[str, Any]:
    """A book with extra working minutes on one day."""
    new = copy.deepcopy(dict(book))
    new["house"].setdefault("extra_work", []).append({"day": day, "minutes": minutes})
    return new


def with_found_hours(book: Mapping[str, Any], by: str, minutes: int) -> dict[str, Any]:
    """A book with extra minutes found by a day: on the last days, none above 24 hours, none in a range without work."""
    new, day = copy.deepcopy(dict(book)), date.fromisoformat(by)
    house = new["house"]
    while minutes > 0 and day >= TODAY:
        iso = day.isoformat()
        dark = any(d.get("no_work", True) and d["first"] <= iso <= d["last"] for d in new["dark"])
        there = house["work_minutes"][day.weekday()]
        there += sum(extra["minutes"] for extra in house.get("extra_work", []) if extra["day"] == iso)
        busy = busy_on(new, day.toordinal())
        there = max(0, house["work_minutes"][day.weekday()] - busy) + there - house["work_minutes"][day.weekday()]
        room = 0 if dark else max(0, 24 * 60 - busy - there)
        if room:
            new = with_hours(new, iso, min(room, minutes))
            house = new["house"]
            minutes -= room
        day -= timedelta(days=1)
    return new


# --- ways out for what cannot be placed ---


def of_ways_out(question: Question, plan: Plan, base: Verdict) -> list[str]:
    """Complaints about the ways out of every study that is not placed."""
    found = []
    for study in plan["unplaced"]:
        hours = []
        for way in study.get("ways_out", []):
            name, changes = f"{study['id']} by {way['changes']}", way["changes"]
            hours += [change["minutes"] / 60 for change in changes if change["kind"] == "hours"]
            if any(change["kind"] == "horizon" for change in changes) and is_too_far(after(question, changes)):
                continue
            new = verdict(after(question, changes))
            if not helps(new, base, study["id"]):
                found.append(f"{name}: it does not help")
            elif new is not None and new.slots[study["id"]][0].isoformat() != way["airs"]:
                found.append(f"{name}: it airs on {new.slots[study['id']][0]}, not on {way['airs']}")
            found += [
                f"{name}: less would do: {less}"
                for less in lesser(question, changes)
                if helps(verdict(after(question, less)), base, study["id"])
            ]
        if "short_hours" in study and study["short_hours"] != (hours[0] if hours else None):
            found.append(f"{study['id']}: {study['short_hours']} hours short, but its ways out say {hours}")
    return found


def is_too_far(question: Question) -> bool:
    """Whether the judge would look at placements for minutes: a horizon of many weeks, and many studies."""
    table = Table(question.book, TODAY, question.weeks, question.unsure, question.replan)
    return len(table.slots) << len(table.studies) > FAR


def helps(new: Verdict | None, base: Verdict, id: str) -> bool:
    """Whether a study is placed now, no fewer others are, and no more promises are broken."""
    return new is not None and id in new.slots and len(new.slots) > len(base.slots) and new.broken <= base.broken


def after(question: Question, changes: list[dict[str, Any]]) -> Question:
    """The question about the book with these changes made."""
    book, weeks = copy.deepcopy(question.book), question.weeks
    for change in changes:
        kind = change["kind"]
        if kind == "hours":
            book = with_found_hours(book, change["by"], change["minutes"])
        elif kind == "gap":
            one(book["series"], change["series"])["min_weeks"] = change["weeks"]
        elif kind == "window":
            window = one(book["episodes"], change["episode"])["windows"][change["window"]]
            window |= {"first": change["first"], "last": change["last"]}
        elif kind == "unpin":
            book["pins"].remove(one(book["pins"], change["pin"]))
        elif kind == "horizon":
            weeks = change["weeks"]
        elif kind == "rule":
            rules = one(book["series"], change["series"])["rules"]
            one(book["series"], change["series"])["rules"] = [*rules, change["rule"]]
        elif kind == "dark":
            one(book["dark"], change["id"])["no_publication"] = False
        else:
            raise AssertionError(f"a way out of a kind that is not known: {change}")
    return changed(question, book, weeks)


def one(things: list[dict[str, Any]], id: str) -> dict[str, Any]:
    """The thing with an id."""
    return next(thing for thing in things if thing["id"] == id)


def lesser(question: Question, changes: list[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """The same changes with one of them left out, or one unit less of one, or the hours a day later."""
    for n, change in enumerate(changes):
        rest = [*changes[:n], *changes[n + 1 :]]
        if rest:
            yield rest
        kind, less = change["kind"], []
        if kind == "hours":
            less = [{"minutes": change["minutes"] - 30}]
            less += [{"by": day} for day in next_working_day(question, change["by"])]
        elif kind == "gap":
            less = [{"weeks": change["weeks"] + 1}]
        elif kind == "horizon":
            less = [{"weeks": change["weeks"] - 1}]
        elif kind == "window":
            was = one(question.book["episodes"], change["episode"])["windows"][change["window"]]
            if change["first"] < was["first"]:
                less.append({"first": min(was["first"], later(change["first"], 7))})
            if change["last"] > was["last"]:
                less.append({"last": max(was["last"], later(change["last"], -7))})
        for smaller in less:
            yield [*rest, change | smaller]


def next_working_day(question: Question, day: str) -> list[str]:
    """The first day after one that is in no range without work; none if it lies beyond the horizon."""
    last = (TODAY + timedelta(weeks=question.weeks)).isoformat()
    day = later(day, 1)
    while any(d.get("no_work", True) and d["first"] <= day <= d["last"] for d in question.book["dark"]):
        day = later(day, 1)
    return [day] if day <= last else []


def later(day: str, days: int) -> str:
    """ISO day so many days later."""
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()


# --- clashes ---


def of_clashes(question: Question, plan: Plan) -> list[str]:
    """Complaints about the members of each clash: together they clash, and without any one of them they do not."""
    found = []
    for clash in plan["clashes"]:
        if "members" not in clash:
            continue
        members = [(member["kind"], member.get("id", "")) for member in clash["members"]]
        if keeps_all(question, members):
            found.append(f"{members} can all be kept together")
        found += [
            f"{members} clash without {left_out} too"
            for left_out in members
            if not keeps_all(question, [member for member in members if member != left_out])
        ]
    return found


def keeps_all(question: Question, members: list[tuple[str, str]]) -> bool:
    """Whether a book in which nothing but these members binds anything keeps all its promises."""
    named = {kind: {id for other, id in members if other == kind} for kind, _ in members}
    book = copy.deepcopy(question.book)
    pins = named.get("date", set()) | named.get("order", set()) | named.get("pair", set())
    book["pins"] = [pin for pin in book["pins"] if pin["id"] in pins]
    for episode in book["episodes"]:
        if episode["id"] not in named.get("window", ()):
            episode["windows"] = [w for w in episode.get("windows", []) if not w.get("hard")]
    for dark in book["dark"]:
        if dark["id"] not in named.get("dark", ()):
            dark["no_publication"] = False
    for rule in book["rules"]:
        if rule["id"] not in named.get("slot", ()):
            rule |= {"first": None, "last": None}
    for series in book["series"]:
        if series["id"] not in named.get("gap", ()):
            series["min_weeks"] = -NO_LIMIT
    free_slots(book, named.get("held", set()))
    if "hours" not in named:
        book["house"] |= {"work_minutes": [DAY_MINUTES] * 7, "extra_work": []}
        book["busy"] = []
        for rule in book["rules"]:
            rule["standing_minutes"] = 0
        for dark in book["dark"]:
            dark["no_work"] = False
        paired = {id for pin in book["pins"] if pin["kind"] == "pair" for id in pin["pieces"]}
        needed = {id for pin in book["pins"] for id in pin.get("episodes", [])}
        book["episodes"] = [
            e
            for e in book["episodes"]
            if e["id"] in needed or paired & {*e.get("pieces", [])} or e.get("published") or e.get("kind") == "filler"
        ]
        shown = {id for e in book["episodes"] for id in e.get("pieces", [])} | paired
        book["pieces"] = [p for p in book["pieces"] if p["id"] in shown]
    pinned = [date.fromisoformat(pin["slot"]["day"]) for pin in book["pins"] if pin["kind"] == "date"]
    first, last = TODAY, TODAY + timedelta(days=7 * question.weeks)
    if "today" not in named:
        first = min([TODAY, *pinned]) - timedelta(days=7 * 8)
    if "horizon" not in named:
        last = max([last, *pinned]) + timedelta(days=7 * 8)
    weeks = (last - first).days // 7
    judged = judge(book, first, weeks, question.unsure)
    return judged is not None and judged.status == "optimal"


def free_slots(book: dict[str, Any], held: set[str]) -> None:
    """Takes filler and lines of the record out of the slots (`DAY RULE`) that are not named as held."""

    def stays(day: str | None, rule: str) -> bool:
        return f"{day} {rule}" in held

    book["episodes"] = [
        e
        for e in book["episodes"]
        if e.get("kind") != "filler" or not e.get("slot") or stays(e["slot"]["day"], e["slot"]["rule"])
    ]
    for line in book["publications"]:  # a line keeps its day, since gaps count from it, but holds no slot
        if not stays(line["planned"], line["rule"]):
            line["rule"] = "none"


# --- all of it ---


def complaints(question: Question, said: Answer) -> list[str]:
    """Everything in an answer that the judge does not agree with.

    Args:
        question: what was asked.
        said: what the program answered.
    """
    base = verdict(question)
    assert base is not None
    found = of_the_plan(question, said, base)
    if said.refused and (whole := judge(question.book, TODAY, question.weeks, "unshown")) and whole.status == "optimal":
        found.append(f"refused, though all promises can be kept: {said.refused}")
    if found or said.plan is None:
        return found  # what follows compares with the best plan, which this is not
    return [
        *of_neighbours(question, said.plan, base),
        *of_ways_out(question, said.plan, base),
        *of_clashes(question, said.plan),
    ]
