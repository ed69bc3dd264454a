"""A judge of plans, written from the words of the design (4.1, 4.2) and of DEVELOPERS.md alone.

It works on the exchange JSON of a book and imports nothing of the program. :meth:`Table.worth` says what a given
placement is worth, rule by rule; :func:`judge` finds the best placement by looking at all of them. The only thing it
does to save time is to remember: two beginnings that have placed the same studies, with the same last day of each
series and the same work still to be counted, have the same best end. `test_judge.py` holds that against trying every
placement one by one, and both against books worked out on paper.

Days are counted as `date.toordinal` does, work in minutes, unevenness in days squared (49 of them are one week
squared).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from functools import cache
from itertools import combinations, pairwise, product
from typing import Any
from zoneinfo import ZoneInfo

Book = Mapping[str, Any]
Order = tuple[int, int]
Worth = tuple[Any, ...]
"""Promises broken, studies placed (negative), studies moved, days moved, unevenness, sum of days, and for every slot
the place in the book of the study in it; less is better."""

Load = tuple[tuple[int, int], ...] | None
"""Minutes of work by the day they must be ready; None where they do not fit."""
DAY_MINUTES = 24 * 60
EMPTY = 10**6
"""Stands for an empty slot where books are compared slot by slot: a study comes before none."""
LIFE = range(1995, 2061)
"""Years in which a promise of an order may be kept. The rule says 1900 to 2100; no random book names a day outside
2024 to 2028, and seven studies in windows that come back yearly need seven years more at most."""


@dataclass(frozen=True)
class Slot:
    """One slot: its rule, local day, instant, the day its content must be ready, and what it costs without a study."""

    rule: str
    day: int
    instant: datetime
    ready: int
    standing: int
    free: bool


@dataclass(frozen=True)
class Study:
    """One study to be placed. `done` says that nothing is left to do; `planned` is its day and rule in the book."""

    id: str
    series: str
    pieces: tuple[str, ...]
    minutes: int
    windows: tuple[Mapping[str, Any], ...]
    planned: tuple[int, str] | None


@dataclass(frozen=True)
class Verdict:
    """The best plan of a book.

    Attributes:
        status: `optimal` or `infeasible`.
        slots: day and rule of every placed study.
        unplaced: ids of the other studies.
        made: promises that bind something.
        broken: promises that the plan breaks, those given up beforehand included.
        unevenness: in days squared.
        moved: studies moved and days moved.
        clash: sets of orders that no calendar could keep, each as ids of pins.
        worth: what is compared.
    """

    status: str
    slots: Mapping[str, tuple[date, str]]
    unplaced: tuple[str, ...]
    made: int
    broken: int
    unevenness: int
    moved: tuple[int, int]
    clash: tuple[tuple[str, ...], ...] = ()
    worth: Worth = field(default=(), repr=False)


def number(day: str) -> int:
    """An ISO day as a number."""
    return date.fromisoformat(day).toordinal()


# --- the calendar ---


@cache
def instants(weekday: int, at: str, zone: str, first: int, last: int) -> tuple[tuple[int, datetime], ...]:
    """Local day and instant of every week's slot from one day to another."""
    start = first + (weekday - date.fromordinal(first).weekday()) % 7
    clock, where = time.fromisoformat(at), ZoneInfo(zone)
    return tuple(
        (day, datetime.combine(date.fromordinal(day), clock, where).astimezone(UTC))
        for day in range(start, last + 1, 7)
    )


def occurrences(rule: Mapping[str, Any], first: int, last: int) -> list[tuple[int, datetime]]:
    """Local day and instant of every slot of a rule between two days, within the rule's own first and last."""
    least = number(rule["first"]) if rule.get("first") else first
    most = number(rule["last"]) if rule.get("last") else last
    found = instants(rule["weekday"], rule["at"], rule["zone"], first, last)
    return [(day, instant) for day, instant in found if least <= day <= most]


def dark_days(book: Book) -> set[int]:
    """Days on which nothing is published."""
    dark = [r for r in book.get("dark", []) if r.get("no_publication", False)]
    return {day for r in dark for day in range(number(r["first"]), number(r["last"]) + 1)}


def work_through(book: Book, today: int, last: int) -> dict[int, int]:
    """Working minutes from today through every day up to the last; none in a range without work, 24 hours at most.

    `found today` are minutes that a check supposes on top, however many a day has.
    """
    week = book["house"].get("work_minutes", [0] * 7)
    off = [r for r in book.get("dark", []) if r.get("no_work", True)]
    total, through = book["house"].get("found today", 0), {}
    done_today = sum(
        work["minutes"] for e in book["episodes"] for work in e.get("worked", []) if number(work["day"]) == today
    )
    for day in range(today, last + 1):
        if not any(number(r["first"]) <= day <= number(r["last"]) for r in off):
            extra = [more["minutes"] for more in book["house"].get("extra_work", []) if number(more["day"]) == day]
            busy = busy_on(book, day)
            usual = max(0, week[date.fromordinal(day).weekday()] - busy)
            total += min(DAY_MINUTES - busy, usual + sum(extra))
            total -= done_today if day == today else 0
        through[day] = total
    return through


def busy_on(book: Book, day: int) -> int:
    """Minutes of a day that other calendars take, counted one by one."""
    taken = [span for busy in book.get("busy", []) if number(busy["day"]) == day for span in busy["spans"]]
    return len({minute for start, end in taken for minute in range(start, end)})


def spans(windows: Iterable[Mapping[str, Any]], hard: bool) -> list[tuple[int, int]]:
    """First and last day of every hard, or every soft, window; those that come back yearly in every year."""
    found = []
    for window in windows:
        if window.get("hard", False) is not hard:
            continue
        first, last = date.fromisoformat(window["first"]), date.fromisoformat(window["last"])
        years = [year - first.year for year in LIFE] if window.get("yearly", False) else [0]
        for add in years:
            a, b = first.replace(year=first.year + add), last.replace(year=last.year + add)
            found.append((a.toordinal(), b.toordinal()))
    return found


def days_outside(ranges: Sequence[tuple[int, int]], day: int) -> int:
    """Days from a day to the nearest of some ranges: 0 inside one, and 0 if there is none."""
    return min((max(a - day, day - b, 0) for a, b in ranges), default=0)


# --- the studies ---


def shown(piece: Mapping[str, Any]) -> str:
    """Whether a piece has been shown: yes, no or unsure."""
    return str(piece.get("shown", {}).get("known", "no"))


def needed(book: Book, episode: Mapping[str, Any], series: Mapping[str, Any]) -> int:
    """Minutes of work that a study still needs."""
    if episode.get("finished", False):
        return 0
    stages = episode.get("stages") or series.get("stages", {})
    done = {stage.replace(" ", "_") for stage in episode.get("done", [])}
    worked = dict.fromkeys(stages, 0)
    for work in episode.get("worked", []):
        stage = work["stage"].replace(" ", "_")
        worked[stage] = worked.get(stage, 0) + work["minutes"]
    return sum(max(0, minutes - worked[stage]) for stage, minutes in stages.items() if stage not in done)


def studies_of(book: Book, unsure: str | None) -> list[Study]:
    """The studies to be placed, in book order."""
    pieces = {piece["id"]: piece for piece in book.get("pieces", [])}
    series = {each["id"]: each for each in book.get("series", [])}
    studies, in_a_study = [], set()
    for episode in book.get("episodes", []):
        if episode.get("kind", "study") != "study":
            continue
        in_a_study.update(episode.get("pieces", []))
        if episode.get("published", False):
            continue
        unshown = [shown(pieces[p]) for p in episode.get("pieces", []) if shown(pieces[p]) != "yes"]
        if unsure == "shown" and unshown and set(unshown) == {"unsure"}:
            continue
        slot = episode.get("slot")
        studies.append(
            Study(
                episode["id"],
                episode["series"],
                tuple(episode.get("pieces", [])),
                needed(book, episode, series[episode["series"]]),
                tuple(episode.get("windows", [])),
                (number(slot["day"]), slot["rule"]) if slot else None,
            )
        )
    lone = [p for p in pieces if p not in in_a_study and pieces[p].get("want") is None]
    partner: dict[str, str] = {}
    for pin in book.get("pins", []):
        if pin["kind"] == "pair":
            a, b = pin["pieces"]
            if a in lone and b in lone and a not in partner and b not in partner:
                partner[a], partner[b] = b, a
    wanted = {"no", "unsure"} if unsure == "unshown" else {"no"}
    for id in lone:
        group = [p for p in lone if p in (id, partner.get(id))]
        if id != group[0] or not any(shown(pieces[p]) in wanted for p in group):
            continue
        own = next((s for s in book.get("series", []) if s["collection"] == pieces[id]["collection"]), None)
        if own is not None:
            studies.append(Study(f"piece:{id}", own["id"], tuple(group), needed(book, {}, own), (), None))
    return studies


# --- the promises ---


@dataclass(frozen=True)
class Promises:
    """The pins that bind something.

    Attributes:
        dates: id of the pin, number of the study, day and rule.
        orders: ids of the pins and numbers of both studies.
        lost: ids of the pins that no plan keeps: pairs apart, and orders whose second study is out before the first.
        kept: how many pins are kept by every plan.
    """

    dates: tuple[tuple[str, int, int, str], ...]
    orders: tuple[tuple[str, int, int], ...]
    lost: tuple[str, ...]
    kept: int


def promises_of(book: Book, studies: Sequence[Study]) -> Promises:
    """What the pins of a book ask of the studies to be placed."""
    at = {study.id: k for k, study in enumerate(studies)}
    episodes = {episode["id"]: episode for episode in book.get("episodes", [])}
    out = {id for id, episode in episodes.items() if episode.get("published", False)}
    dates, orders, lost, kept = [], [], [], 0
    for pin in book.get("pins", []):
        if pin["kind"] == "date":
            (id,) = pin["episodes"]
            if id in at:
                dates.append((pin["id"], at[id], number(pin["slot"]["day"]), pin["slot"]["rule"]))
        elif pin["kind"] == "order":
            a, b = pin["episodes"]
            if a in at and b in at:
                orders.append((pin["id"], at[a], at[b]))
            elif b in out and a in at:
                lost.append(pin["id"])
        elif is_apart(book, studies, *pin["pieces"]):
            lost.append(pin["id"])
        else:
            kept += 1
    return Promises(tuple(dates), tuple(orders), tuple(lost), kept)


def is_apart(book: Book, studies: Sequence[Study], a: str, b: str) -> bool:
    """Whether two pieces stand in different studies, or one in a study and one in none."""
    shows = [tuple(e.get("pieces", [])) for e in book.get("episodes", []) if e.get("kind", "study") == "study"]
    shows += [study.pieces for study in studies if study.id.startswith("piece:")]
    if any(a in pieces and b in pieces for pieces in shows):
        return False
    return any(a in pieces or b in pieces for pieces in shows)


def ever(book: Book, study: Study, dates: Iterable[tuple[str, int, int, str]], number_: int) -> list[datetime]:
    """Instants at which a study can air at all: its hard windows, its series' slots, no dark range, its pins."""
    series = next(s for s in book["series"] if s["id"] == study.series)
    pinned = [(day, rule) for _, k, day, rule in dates if k == number_]
    hard = spans(study.windows, hard=True)
    inside = {day for a, b in hard for day in range(a, b + 1)}
    dark = dark_days(book)
    first, last = date(LIFE[0], 1, 1).toordinal(), date(LIFE[-1], 12, 31).toordinal()
    found = [
        (day, instant)
        for rule in book["rules"]
        if rule["id"] in series["rules"]
        for day, instant in occurrences(rule, first, last)
        if (not hard or day in inside) and all(pin == (day, rule["id"]) for pin in pinned) and day not in dark
    ]
    return sorted(found)


def can_be_kept(orders: Iterable[Order], airs: Mapping[int, Sequence[tuple[int, datetime]]]) -> bool:
    """Whether some calendar keeps all of these orders: every study at the first instant after those before it."""
    orders = set(orders)
    waiting = {study for order in orders for study in order}
    at: dict[int, tuple[int, datetime]] = {}
    while waiting:
        ready = [b for b in waiting if all(a in at for a, second in orders if second == b)]
        if not ready:
            return False  # a circle
        for b in ready:
            after = [at[a] for a, second in orders if second == b]
            turn = next((i for i in airs[b] if all(i > earlier for earlier in after)), None)
            if turn is None:
                return False
            at[b] = turn
            waiting.discard(b)
    return True


def clashing(
    orders: Sequence[tuple[str, int, int]], airs: Mapping[int, Sequence[tuple[int, datetime]]]
) -> list[tuple[int, ...]]:
    """Smallest sets of orders (by number) that no calendar keeps."""
    found: list[tuple[int, ...]] = []
    for size in range(1, len(orders) + 1):
        for chosen in combinations(range(len(orders)), size):
            if any(set(less) <= set(chosen) for less in found):
                continue
            if not can_be_kept([orders[n][1:] for n in chosen], airs):
                found.append(chosen)
    return found


def ways_to_give_up(clashes: Sequence[Sequence[int]], many: int) -> list[tuple[int, ...]]:
    """Every choice of as few orders as possible that leaves none of the clashes whole."""
    for size in range(many + 1):
        found = [c for c in combinations(range(many), size) if all(set(c) & set(clash) for clash in clashes)]
        if found:
            return found
    raise AssertionError("giving up every order leaves no clash")


# --- the table at which plans are compared ---


class Table:
    """A book laid out for judging: slots, studies, promises, and what stands at each place.

    Args:
        book: exchange JSON.
        today: the day it is judged on.
        weeks: the horizon: slots from today to the day so many weeks later, both counted.
        unsure: `shown`, `unshown` or None.
        replan: whether planned studies should stay where they are.
    """

    def __init__(self, book: Book, today: date, weeks: int, unsure: str | None = None, replan: bool = False) -> None:
        self.book, self.replan = book, replan
        self.today, self.end = today.toordinal(), today.toordinal() + 7 * weeks  # the last day counts
        self.through = work_through(book, self.today, self.end)
        self.series = {each["id"]: each for each in book.get("series", [])}
        self.studies = studies_of(book, unsure)
        self.promises = promises_of(book, self.studies)
        self.slots = self.cut(self.slots_of())
        self.last_out = self.last_published()
        self.hard = [spans(study.windows, hard=True) for study in self.studies]
        self.soft = [spans(study.windows, hard=False) for study in self.studies]
        own = [self.series[study.series] for study in self.studies]
        self.gaps = [(7 * series.get("min_weeks", 1), 7 * series.get("target_weeks", 4)) for series in own]
        self.alone = [[self.by_itself(k, s) for s in range(len(self.slots))] for k in range(len(self.studies))]
        self.may = [[self.may_stand(k, slot) for slot in self.slots] for k in range(len(self.studies))]

    def slots_of(self) -> list[Slot]:
        """All slots by day and instant; `standing` is what they would cost if there were time enough."""
        banked, held = set(), set()
        begun: dict[tuple[int, str], int] = {}
        for episode in self.book.get("episodes", []):
            if episode.get("kind", "study") == "filler" and not episode.get("published", False) and episode.get("slot"):
                slot = (number(episode["slot"]["day"]), episode["slot"]["rule"])
                held.add(slot)
                begun[slot] = sum(work["minutes"] for work in episode.get("worked", []))
                if episode.get("finished", False):
                    banked.add(slot)
        out = set()
        for line in self.book.get("publications", []):
            if line.get("actual") is None:
                continue
            for day in (line.get("planned"), line["actual"]["earliest"]):
                if day is not None:
                    out.add((number(day), line["rule"]))
        slots, dark_ones = [], dark_days(self.book)
        for rule in self.book.get("rules", []):
            for day, instant in occurrences(rule, self.today, self.end):
                ready = day - self.book["house"].get("lead_days", 1)
                key, dark = (day, rule["id"]), day in dark_ones
                nothing = dark or key in banked or key in out or ready < self.today
                slots.append(
                    Slot(
                        rule["id"],
                        day,
                        instant,
                        ready,
                        0 if nothing else max(0, rule.get("standing_minutes", 0) - begun.get(key, 0)),
                        not dark and key not in held and key not in out,
                    )
                )
        return sorted(slots, key=lambda slot: (slot.day, slot.instant))

    def cut(self, slots: Sequence[Slot]) -> list[Slot]:
        """The slots with only as much standing content as can be done when there is no study, earliest slot first."""
        load: list[tuple[int, int]] = []
        found = []
        for slot in slots:
            spare = [
                minutes - sum(more for ready, more in load if ready <= day)
                for day, minutes in self.through.items()
                if day >= slot.ready
            ]
            standing = min(slot.standing, max(0, min(spare, default=0))) if slot.standing else 0
            load.append((slot.ready, standing))
            found.append(Slot(slot.rule, slot.day, slot.instant, slot.ready, standing, slot.free))
        return found

    def last_published(self) -> dict[str, int]:
        """Day of each series' last published study."""
        last: dict[str, int] = {}
        for line in self.book.get("publications", []):
            if line.get("series") and line.get("actual") is not None:
                day = number(line["actual"]["earliest"])
                last[line["series"]] = max(day, last.get(line["series"], day))
        return last

    def may_stand(self, k: int, slot: Slot) -> bool:
        """Whether a study may stand in a slot, whatever stands in the others."""
        study = self.studies[k]
        return (
            slot.free
            and slot.rule in self.series[study.series]["rules"]
            and (not self.hard[k] or days_outside(self.hard[k], slot.day) == 0)
            and (study.minutes == 0 or slot.ready >= self.today)
        )

    def worth(self, plan: Mapping[int, int], dropped: Iterable[str] = ()) -> Worth | None:
        """What a placement (study to slot, by number) is worth; None if it breaks a hard rule.

        Written rule by rule for reading; :func:`search` must agree with it.
        """
        at = {slot: study for study, slot in plan.items()}
        if len(at) < len(plan) or not all(self.may[k][s] for k, s in plan.items()):
            return None
        load = [
            (slot.ready, self.studies[at[s]].minutes if s in at else slot.standing) for s, slot in enumerate(self.slots)
        ]
        for day, minutes in self.through.items():
            if sum(work for ready, work in load if ready <= day) > minutes:
                return None
        cost = sum(days_outside(self.soft[k], self.slots[s].day) ** 2 for k, s in plan.items())
        for id, series in self.series.items():
            days = [self.slots[s].day for s in sorted(at) if self.studies[at[s]].series == id]
            if id in self.last_out:
                days.insert(0, self.last_out[id])
            for one, other in pairwise(days):
                if other - one < 7 * series.get("min_weeks", 1):
                    return None
                cost += (other - one - 7 * series.get("target_weeks", 4)) ** 2
        broken = len(self.promises.lost)
        for _, k, day, rule in self.promises.dates:
            broken += k not in plan or (self.slots[plan[k]].day, self.slots[plan[k]].rule) != (day, rule)
        for id, a, b in self.promises.orders:
            if id not in dropped:
                broken += b in plan and (a not in plan or plan[a] >= plan[b])
        moved = [self.moved(k, s) for k, s in plan.items()] if self.replan else []
        return (
            broken,
            -len(plan),
            sum(m for m, _ in moved),
            sum(d for _, d in moved),
            cost,
            sum(self.slots[s].day for s in plan.values()),
            tuple(at.get(s, EMPTY) for s in range(len(self.slots))),
        )

    def moved(self, k: int, s: int) -> tuple[int, int]:
        """Whether a study in a slot is moved (0 or 1), and by how many days."""
        planned, slot = self.studies[k].planned, self.slots[s]
        if planned is None or planned == (slot.day, slot.rule):
            return 0, 0
        return 1, abs(slot.day - planned[0])

    def best_of_all(self, dropped: Iterable[str] = (), hold: Mapping[int, int] | None = None) -> Worth | None:
        """As :meth:`search`, by trying every placement one by one."""
        choices: list[list[int | None]] = [
            [None, *(s for s in range(len(self.slots)) if self.may[k][s])] for k in range(len(self.studies))
        ]
        found = None
        for chosen in product(*choices):
            placed = {k: s for k, s in enumerate(chosen) if s is not None}
            if any(placed.get(k) != s for k, s in (hold or {}).items()):
                continue
            worth = self.worth(placed, dropped)
            if worth is not None and (found is None or worth < found):
                found = worth
        return found

    def search(self, dropped: Iterable[str] = (), hold: Mapping[int, int] | None = None) -> Worth | None:
        """The best worth, by going through the slots in order; None if no placement holds studies where asked.

        What a beginning leaves to its end is: the studies placed, the last day of each series that has more to come,
        and the work so far, unless there are hours enough for all that could still be added.

        Args:
            dropped: ids of order pins that are not counted.
            hold: studies (by number) that must stand in a slot (by number).
        """
        hold = hold or {}
        slots, studies = self.slots, self.studies
        names = list(self.series)
        own = [names.index(study.series) for study in studies]
        of_series = [sum(1 << k for k in range(len(studies)) if own[k] == n) for n in range(len(names))]
        before = [
            [a for id, a, second in self.promises.orders if second == b and id not in dropped]
            for b in range(len(studies))
        ]
        can = [[k for k in range(len(studies)) if self.may[k][s] and hold.get(k, s) == s] for s in range(len(slots))]
        must = {s: k for k, s in hold.items()}
        first_ready = [min((slot.ready for slot in slots[s:]), default=0) for s in range(len(slots) + 1)]
        standing_from = [sum(slot.standing for slot in slots[s:]) for s in range(len(slots) + 1)]

        def added(load: Load, s: int, minutes: int) -> Load:
            """The work so far with more to be ready for a slot; None if it does not fit.

            Days that no later slot can reach are taken together.
            """
            assert load is not None
            days = dict(load)
            days[slots[s].ready] = days.get(slots[s].ready, 0) + minutes
            total = 0
            for day in sorted(days):
                total += days[day]
                if total and total > self.through[day]:
                    return None
            floor = first_ready[s + 1]
            past = sum(work for day, work in days.items() if day <= floor)
            return ((floor, past), *sorted((day, work) for day, work in days.items() if day > floor))

        def is_ample(load: Load, s: int, placed: int) -> bool:
            """Whether all that could still be added would fit."""
            assert load is not None
            rest = sum(study.minutes for k, study in enumerate(studies) if not placed >> k & 1)
            total = sum(work for _, work in load) + rest + standing_from[s]
            return total <= self.through.get(max(first_ready[s], self.today), 0)

        @cache
        def best(s: int, placed: int, lasts: tuple[int, ...], load: Load, hours_bind: bool) -> Worth | None:
            """The best worth of the slots from one on."""
            if s == len(slots):
                return (0, 0, 0, 0, 0, 0, ())
            if hours_bind and is_ample(load, s, placed):
                load, hours_bind = (), False
            found = None
            for k in (*can[s], None):
                mine: Worth | None = (0, 0, 0, 0, 0, 0)
                now, after, minutes = placed, lasts, slots[s].standing
                if k is None:
                    if s in must:
                        continue
                else:
                    if placed >> k & 1 or must.get(s, k) != k:
                        continue
                    mine = self.standing_here(k, s, placed, lasts[own[k]], before[k])
                    if mine is None:
                        continue
                    now, minutes, n = placed | 1 << k, studies[k].minutes, own[k]
                    is_last = now & of_series[n] == of_series[n]
                    after = (*lasts[:n], -1 if is_last else slots[s].day, *lasts[n + 1 :])
                more = added(load, s, minutes) if hours_bind else load
                rest = best(s + 1, now, after, more, hours_bind) if more is not None else None
                if rest is None:
                    continue
                total = (*(a + b for a, b in zip(mine, rest, strict=False)), (EMPTY if k is None else k, *rest[6]))
                if found is None or total < found:
                    found = total
            return found

        start = tuple(self.last_out.get(name, -1) for name in names)
        value = best(0, 0, start, (), True)
        if value is None:
            return None
        always = len(self.promises.lost) + len(self.promises.dates)  # each date kept takes one off again
        return (value[0] + always, *value[1:])

    def by_itself(self, k: int, s: int) -> tuple[int, int, int, int]:
        """What a study adds by standing in a slot, whatever else: promises, moved, days moved, unevenness."""
        slot = self.slots[s]
        kept = sum((day, rule) == (slot.day, slot.rule) for _, study, day, rule in self.promises.dates if study == k)
        return (-kept, *(self.moved(k, s) if self.replan else (0, 0)), days_outside(self.soft[k], slot.day) ** 2)

    def standing_here(self, k: int, s: int, placed: int, last: int, before: Sequence[int]) -> Worth | None:
        """What a study adds by standing in a slot after what stands before it; None if the gap forbids it."""
        (least, wished), day = self.gaps[k], self.slots[s].day
        broken, moved, days, cost = self.alone[k][s]
        if last >= 0:
            if day - last < least:
                return None
            cost += (day - last - wished) ** 2
        for a in before:
            broken += not placed >> a & 1
        return (broken, -1, moved, days, cost, day)


def judge(
    book: Book,
    today: date,
    weeks: int,
    unsure: str | None = None,
    replan: bool = False,
    hold: Mapping[str, tuple[date, str]] | None = None,
) -> Verdict | None:
    """The best plan of a book; None if it cannot be with the studies of `hold` on their day and rule.

    Args:
        book: exchange JSON.
        today: the day to plan on.
        weeks: the horizon.
        unsure: `shown`, `unshown` or None.
        replan: whether planned studies should stay where they are.
        hold: day and rule of studies that must stand there.
    """
    table = Table(book, today, weeks, unsure, replan)
    held = {}
    for id, (day, rule) in (hold or {}).items():
        k = next(k for k, study in enumerate(table.studies) if study.id == id)
        s = next((s for s, x in enumerate(table.slots) if (x.day, x.rule) == (day.toordinal(), rule)), None)
        if s is None:
            return None
        held[k] = s
    promises = table.promises
    in_orders = {k for _, *both in promises.orders for k in both}
    airs = {k: ever(book, table.studies[k], promises.dates, k) for k in in_orders}
    clashes = clashing(promises.orders, airs)
    dated = {k for _, k, _, _ in promises.dates}
    undated = [c for c in clashes if not any(k in dated for n in c for k in promises.orders[n][1:])]
    found: tuple[Worth, int] | None = None
    for given_up in ways_to_give_up(undated, len(promises.orders)):
        worth = table.search([promises.orders[n][0] for n in given_up], held)
        if worth is not None and (found is None or worth < found[0]):
            found = worth, len(given_up)
    if found is None:
        return None
    worth, dropped = found
    slots = {
        table.studies[k].id: (date.fromordinal(table.slots[s].day), table.slots[s].rule)
        for s, k in enumerate(worth[6])
        if k != EMPTY
    }
    broken = worth[0] + dropped
    return Verdict(
        "infeasible" if broken or clashes else "optimal",
        slots,
        tuple(study.id for study in table.studies if study.id not in slots),
        len(promises.dates) + len(promises.orders) + len(promises.lost) + promises.kept,
        broken,
        worth[4],
        (worth[2], worth[3]),
        tuple(tuple(promises.orders[n][0] for n in clash) for clash in clashes),
        worth,
    )
