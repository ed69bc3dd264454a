"""Random small books as exchange JSON, each a pure function of its seed, and the question to ask of it.

They are small enough for :mod:`judge` to look at every placement, and odd enough to hold what a real book may hold:
mixed zones, rules that begin and end, filler and publications in the way, windows of every sort, promises that cannot
be kept, hours from ample to hopeless. Every fifth book is the ordinary life of the demo in small: two weekly slots, two
series, and a holiday. Today is Monday 2 March 2026.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

TODAY = date(2026, 3, 2)
STAGES = ("research", "condition check", "shoot", "edit", "captions", "package")
CLOCKS = (
    ("18:30", "UTC"),
    ("09:00", "UTC"),
    ("09:05", "Australia/Sydney"),
    ("23:30", "America/New_York"),
    ("12:10", "Europe/London"),
    ("00:20", "Pacific/Auckland"),
)
REASONS = {"date": "said so in the last episode", "order": "the story runs so", "pair": "they were worn together"}


@dataclass(frozen=True)
class Question:
    """A book and what is asked of it.

    Attributes:
        seed: what it was made from.
        book: exchange JSON.
        weeks: the horizon.
        unsure: `shown`, `unshown` or None.
        replan: whether planned studies should stay where they are.
    """

    seed: int
    book: dict[str, Any]
    weeks: int
    unsure: str | None
    replan: bool


def day_after(days: int) -> str:
    """ISO day so many days after today."""
    return (TODAY + timedelta(days=days)).isoformat()


def exact(day: str) -> dict[str, str]:
    """An exact day as the exchange file has it."""
    return {"text": day, "earliest": day, "latest": day, "words": day}


def question(seed: int, extra_work: bool = False, room: int = 100) -> Question:
    """The book of a seed and what to ask of it.

    Args:
        seed: any whole number.
        extra_work: whether some books have extra working minutes on single days.
        room: how large odd books may be: most slots times studies, roughly.
    """
    rng = Random(f"life-{seed}")
    book = ordinary(rng) if seed % 5 == 4 else odd(rng)
    book["key"] = f"00000000-0000-0000-0000-{seed % 16**12:012x}"
    open_studies = sum(not e.get("published") for e in book["episodes"])
    if seed % 5 == 4:
        weeks = rng.choice((10, 12, 14)) if open_studies < 5 else 9
    else:
        most = room // (max(1, open_studies) * len(book["rules"]))
        weeks = min(rng.choice((3, 4, 5, 6, 7, 8, 9, 12, 14)), max(3, most))
    add_standing_things(rng, book, weeks)
    add_hours(rng, book, weeks)
    if rng.random() < 0.6:
        add_pins(rng, book, weeks)
    if extra_work and rng.random() < 0.4:
        days = sorted(rng.sample(range(7 * weeks), rng.choice((1, 2, 3))))
        book["house"]["extra_work"] = [{"day": day_after(d), "minutes": rng.choice((30, 90, 240, 600))} for d in days]
    replan = rng.random() < 0.3
    if replan or rng.random() < 0.2:
        plan_some(rng, book, weeks)
    keep_to_rules(book)
    if seed % 4 == 2:
        add_busy(Random(f"busy-{seed}"), book, weeks)
    if seed % 3 == 1:
        add_worked(Random(f"worked-{seed}"), book)
    return Question(seed, book, weeks, rng.choice((None, None, "shown", "unshown")), replan)


def keep_to_rules(book: dict[str, Any]) -> None:
    """Takes away planned slots, and filler in slots, that a rule's first or last day rules out."""
    bounds = {rule["id"]: (rule.get("first") or "", rule.get("last") or "9999") for rule in book["rules"]}

    def is_slot(episode: dict[str, Any]) -> bool:
        first, last = bounds[episode["slot"]["rule"]]
        return bool(episode.get("published")) or first <= episode["slot"]["day"] <= last

    book["episodes"] = [e for e in book["episodes"] if e.get("kind") != "filler" or is_slot(e)]
    for episode in book["episodes"]:
        if episode.get("slot") and not is_slot(episode):
            del episode["slot"]


def shell() -> dict[str, Any]:
    """A book without anything in it."""
    book: dict[str, Any] = {"format": "showrunner-exchange", "version": 1, "key": "", "house": {}}
    lists = ("collections", "pieces", "rules", "series", "dark", "episodes", "pins", "publications")
    return book | {name: [] for name in lists}


# --- two shapes ---


def ordinary(rng: Random) -> dict[str, Any]:
    """Two weekly slots with their usual content, two series of which one is nearly told, and a holiday."""
    book = shell()
    zone = rng.choice(("Australia/Hobart", "UTC", "Europe/London"))
    book["house"] = {"zone": zone, "lead_days": rng.choice((1, 1, 2))}
    book["rules"] = [
        {"id": "wed", "name": "diary", "weekday": 2, "at": "18:30", "zone": zone, "standing_minutes": 180},
        {"id": "sun", "name": "talk", "weekday": 6, "at": "09:00", "zone": zone, "standing_minutes": 240},
    ]
    for k, (least, wished, count) in enumerate(((3, 4, rng.randint(2, 3)), (2, 3, rng.randint(0, 2)))):
        add_series(book, k, ["sun"] if k == 0 or rng.random() < 0.5 else ["wed", "sun"], least, wished, wished + 3)
        book["series"][k]["stages"] = {"research": 60, "shoot": 120, "edit": rng.choice((180, 300, 420)), "package": 60}
        for i in range(count):
            add_study(rng, book, k, i, 1 if rng.random() < 0.8 else 2)
        add_record(rng, book, k, rng.randint(0, 3))
    first = rng.randrange(7, 50)
    weeks = rng.randint(2, 5)
    book["dark"].append({"id": "away", "first": day_after(first), "last": day_after(first + 7 * weeks - 1)})
    return book


def odd(rng: Random) -> dict[str, Any]:
    """One to three rules and series, and everything else that may be in a book."""
    book = shell()
    book["house"] = {"zone": rng.choice(("UTC", "UTC", "Europe/London", "Australia/Sydney", "America/New_York"))}
    book["house"]["lead_days"] = rng.randint(0, 5)
    clocks = list(CLOCKS)
    rng.shuffle(clocks)
    same_day = rng.random() < 0.25
    weekday = rng.randrange(7)
    for r in range(rng.choice((1, 2, 2, 3))):
        at, zone = clocks[r]
        rule = {"id": f"r{r}", "name": f"Slot {r}", "weekday": weekday, "at": at, "zone": zone}
        rule["standing_minutes"] = rng.choice((0, 60, 120, 240, 300))
        if rng.random() < 0.15:
            rule["first"] = day_after(rng.randrange(-20, 30))
        if rng.random() < 0.15:
            rule["last"] = day_after(rng.randrange(5, 50))
        book["rules"].append(rule)
        weekday = weekday if same_day else rng.randrange(7)
    studies = rng.choice((0, 1, 2, 3, 3, 4, 4, 5, 5, 6, 7))
    many = rng.choice((1, 1, 2, 2, 3))
    for k in range(many):
        rules = [rule["id"] for rule in book["rules"]]
        least = rng.choice((0, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3))
        wished = least + rng.choice((0, 1, 1, 2))
        add_series(book, k, rng.sample(rules, rng.randint(1, len(rules))), least, wished, wished + rng.randrange(4))
        book["series"][k]["stages"] = {
            rng.choice(("research", "shoot", "edit")): 60 * rng.randint(1, 15),
            "package": 30,
        }
        add_record(rng, book, k, rng.choice((0, 0, 1, 1, 2)))
    for i in range(studies):
        add_study(rng, book, rng.randrange(many), i, rng.choice((1, 1, 1, 2)))
    for i in range(rng.choice((0, 0, 0, 1, 2))):
        first = rng.randrange(0, 50)
        kind = rng.choice(((True, False), (False, True), (True, True)))
        dark = {
            "id": f"d{i}",
            "first": day_after(first),
            "last": day_after(first + 7 * rng.choice((1, 1, 2, 3, 5)) - 1),
        }
        book["dark"].append(dark | {"no_work": kind[0], "no_publication": kind[1]})
    return book


# --- parts ---


def add_series(book: dict[str, Any], k: int, rules: list[str], least: int, wished: int, most: int) -> None:
    """A collection and the series about it."""
    book["collections"].append({"id": f"c{k}", "name": f"Collection {k}"})
    spacing = {"min_weeks": least, "target_weeks": wished, "max_weeks": most}
    book["series"].append({"id": f"s{k}", "name": f"Series {k}", "collection": f"c{k}", "rules": rules} | spacing)


def add_piece(rng: Random, book: dict[str, Any], k: int, known: str) -> str:
    """A piece of a collection; its id."""
    id = f"p{len(book['pieces'])}"
    piece = {"id": id, "name": f"Piece {id}", "collection": f"c{k}"}
    book["pieces"].append(piece if known == "no" else piece | {"shown": {"known": known}})
    return id


def add_study(rng: Random, book: dict[str, Any], k: int, i: int, pieces: int) -> None:
    """A study with its pieces, sometimes with hours, stages done and windows of its own."""
    known = rng.choice(("no", "no", "no", "no", "unsure", "yes"))
    shows = [add_piece(rng, book, k, known if n == 0 else rng.choice(("no", known))) for n in range(pieces)]
    study: dict[str, Any] = {"id": f"e{k}-{i}", "title": f"Study {k} {i}", "series": f"s{k}", "pieces": shows}
    dice = rng.random()
    if dice < 0.12:
        study["finished"], study["done"] = True, list(STAGES)
    elif dice < 0.3:
        study["done"] = [stage for stage in STAGES if rng.random() < 0.5]
    if rng.random() < 0.2:
        study["stages"] = {"shoot": 30 * rng.randint(0, 8), "edit": 60 * rng.randint(1, 10)}
    for _ in range(rng.choice((0, 0, 0, 1, 1, 2))):
        first = rng.randrange(-20, 60)
        window: dict[str, Any] = {"first": day_after(first), "last": day_after(first + rng.choice((0, 6, 13, 27, 40)))}
        if rng.random() < 0.45:
            window["hard"] = True
        if rng.random() < 0.3:
            window["yearly"] = True
            back = rng.choice((0, 0, 1, 2))
            window |= {end: f"{int(window[end][:4]) - back}{window[end][4:]}" for end in ("first", "last")}
        study.setdefault("windows", []).append(window)
    book["episodes"].append(study)


def add_record(rng: Random, book: dict[str, Any], k: int, count: int) -> None:
    """Studies of a series that are out already, the last one lately."""
    series = book["series"][k]
    rule = next(rule for rule in book["rules"] if rule["id"] == series["rules"][0])
    back = (TODAY.weekday() - rule["weekday"]) % 7 or 7
    days = [-back - 7 * rng.choice((0, 0, 1, 2, 4))]
    days = [days[0] - 7 * series["target_weeks"] * n for n in range(count)]
    for n, day in enumerate(reversed(days)):
        id = f"out{k}-{n}"
        piece = add_piece(rng, book, k, "yes")
        slot = {"day": day_after(day), "rule": rule["id"]}
        study = {"id": id, "title": f"Out {k} {n}", "series": f"s{k}", "pieces": [piece], "published": True}
        book["episodes"].append(study | {"finished": True, "done": list(STAGES), "slot": slot})
        line = {"id": f"line-{id}", "title": study["title"], "rule": rule["id"], "planned": slot["day"]}
        book["publications"].append(
            line | {"actual": exact(slot["day"]), "episode": id, "series": f"s{k}"},
        )
    book["publications"].sort(key=lambda line: line["planned"])


def slot_days(rng: Random, book: dict[str, Any], weeks: int) -> tuple[str, dict[str, str]]:
    """A slot of some rule within the horizon, as the book names it."""
    rule = rng.choice(book["rules"])
    day = (rule["weekday"] - TODAY.weekday()) % 7 + 7 * rng.randrange(weeks)
    return rule["id"], {"day": day_after(day), "rule": rule["id"]}


def one_of(rng: Random, book: dict[str, Any], ids: list[str]) -> dict[str, Any]:
    """One of the rules with these ids."""
    wanted = rng.choice(ids)
    return next(rule for rule in book["rules"] if rule["id"] == wanted)


def add_standing_things(rng: Random, book: dict[str, Any], weeks: int) -> None:
    """Named filler in slots, a line on record for a slot ahead, and pieces in no study."""
    taken = []
    for i in range(rng.choice((0, 0, 0, 1, 1, 2, 3))):
        rule, slot = slot_days(rng, book, weeks)
        if slot in taken:
            continue
        taken.append(slot)
        filler = {"id": f"f{i}", "title": f"Filler {i}", "kind": "filler", "rule": rule, "slot": slot}
        book["episodes"].insert(
            rng.randint(0, len(book["episodes"])), filler | ({"finished": True} if rng.random() < 0.5 else {})
        )
    if rng.random() < 0.1:
        rule, slot = slot_days(rng, book, min(weeks, 3))
        if slot not in taken:
            line = {"id": "ahead", "title": "Out ahead of its day", "rule": rule, "planned": slot["day"]}
            book["publications"].append(line | {"actual": exact(day_after(-1))})
    for _ in range(rng.choice((0, 0, 0, 0, 1, 1, 2, 3)) if weeks < 10 else 0):
        k = rng.randrange(len(book["collections"]))
        id = add_piece(rng, book, k, rng.choice(("no", "no", "unsure", "yes")))
        if rng.random() < 0.1:
            book["collections"][k]["kind"] = "shopping"
            next(p for p in book["pieces"] if p["id"] == id)["want"] = {"status": "wanted"}
    if rng.random() < 0.3:
        rng.shuffle(book["pieces"])


def add_hours(rng: Random, book: dict[str, Any], weeks: int) -> None:
    """Working hours, from ample to hopeless for what there is to do."""
    stages = {series["id"]: sum(series["stages"].values()) for series in book["series"]}
    studies = [e for e in book["episodes"] if e.get("kind", "study") == "study" and not e.get("published")]
    need = sum(stages[e["series"]] for e in studies) + weeks * sum(r["standing_minutes"] for r in book["rules"])
    factor = rng.choice((0, 0.3, 0.6, 0.8, 1, 1, 1.2, 1.5, 2, 4))
    per_day = int(factor * need / weeks / 5 // 15 * 15)
    minutes = [min(1440, per_day)] * 7
    for day_off in rng.sample(range(7), rng.choice((0, 1, 2, 2, 3))):
        minutes[day_off] = 0
    book["house"]["work_minutes"] = minutes


def add_busy(rng: Random, book: dict[str, Any], weeks: int) -> None:
    """Other calendars that take some of the days to come, now and then two of them at one time."""
    book["busy"] = []
    for calendar in ("family", "choir"):
        for day in sorted(rng.sample(range(1, 7 * weeks), min(7 * weeks - 1, rng.choice((0, 2, 5, 9))))):
            start = 60 * rng.choice((0, 8, 10, 13))
            spans = [[start, start + rng.choice((30, 60, 240, 660))]]
            if rng.random() < 0.3 and spans[0][1] < 1438:
                spans.append([1438, 1440])
            book["busy"].append({"id": f"{calendar}-{day_after(day)}", "day": day_after(day), "spans": spans})


def add_worked(rng: Random, book: dict[str, Any]) -> None:
    """Hours put down as worked on what is not finished: days ago, or today within the hours of today."""
    today = book["house"]["work_minutes"][date.fromisoformat(day_after(0)).weekday()]
    for episode in book["episodes"]:
        if episode.get("published") or episode.get("finished"):
            continue
        for _ in range(rng.choice((0, 0, 1, 1, 2))):
            minutes, days = rng.choice((15, 60, 120, 300)), rng.choice((-1, -9, 0))
            if days == 0:
                if minutes > today:
                    continue
                today -= minutes
            worked = {"day": day_after(days), "minutes": minutes}
            if episode.get("kind") != "filler":
                worked["stage"] = rng.choice(STAGES)
            episode.setdefault("worked", []).append(worked)


def add_pins(rng: Random, book: dict[str, Any], weeks: int) -> None:
    """Promises, kept easily or not at all: dates, orders, pairs."""
    studies = [e["id"] for e in book["episodes"] if e.get("kind", "study") == "study"]
    still_open = [e["id"] for e in book["episodes"] if e.get("kind", "study") == "study" and not e.get("published")]
    pins: list[dict[str, Any]] = []
    for _ in range(rng.choice((0, 0, 0, 0, 1, 1, 2, 3))):
        if still_open:
            _, slot = slot_days(rng, book, weeks)
            id = rng.choice(still_open)
            series = next(e["series"] for e in book["episodes"] if e["id"] == id)
            allowed = next(s["rules"] for s in book["series"] if s["id"] == series)
            dice = rng.random()
            if dice < 0.1:
                slot = dict(slot, day=(date.fromisoformat(slot["day"]) - timedelta(days=7 * weeks)).isoformat())
            elif dice < 0.2:
                slot = dict(slot, day=(date.fromisoformat(slot["day"]) + timedelta(days=7 * weeks)).isoformat())
            elif dice < 0.3:
                fillers = [e["slot"] for e in book["episodes"] if e.get("kind") == "filler"]
                slot = dict(rng.choice(fillers)) if fillers else slot
            elif slot["rule"] not in allowed:
                rule = one_of(rng, book, allowed)
                day = (rule["weekday"] - TODAY.weekday()) % 7 + 7 * rng.randrange(weeks)
                slot = {"day": day_after(day), "rule": rule["id"]}
            pins.append({"kind": "date", "episodes": [id], "slot": slot})
    for _ in range(rng.choice((0, 0, 0, 1, 1, 2, 3))):
        if len(studies) > 1:
            from_ = still_open if len(still_open) > 1 and rng.random() < 0.9 else studies
            pins.append({"kind": "order", "episodes": rng.sample(from_, 2)})
    if len(still_open) > 2 and rng.random() < 0.1:
        a, b, c = rng.sample(still_open, 3)
        pins += [{"kind": "order", "episodes": list(both)} for both in ((a, b), (b, c), (c, a))]
    if len(still_open) > 1 and rng.random() < 0.08:  # an order that two hard windows, or a first day, forbid
        first, second = (next(e for e in book["episodes"] if e["id"] == id) for id in rng.sample(still_open, 2))
        pins.append({"kind": "order", "episodes": [first["id"], second["id"]]})
        week = rng.randrange(weeks)
        second["windows"] = [{"first": day_after(0), "last": day_after(7 * week + 6), "hard": True}]
        if rng.random() < 0.5:
            first["windows"] = [{"first": day_after(7 * week + 7), "last": day_after(7 * weeks), "hard": True}]
        else:
            rules = next(s["rules"] for s in book["series"] if s["id"] == first["series"])
            for rule in book["rules"]:
                if rule["id"] in rules:
                    rule["first"], rule["last"] = day_after(7 * week + 7), None
    in_some = {p for e in book["episodes"] for p in e.get("pieces", [])}
    for _ in range(rng.choice((0, 0, 0, 1, 1, 2))):
        pieces = [p for p in book["pieces"] if p.get("want") is None]
        lone = [p for p in pieces if p["id"] not in in_some]
        together = [e["pieces"] for e in book["episodes"] if len(e.get("pieces", [])) == 2]
        dice = rng.random()
        if dice < 0.4 and together:
            both = list(rng.choice(together))
        elif dice < 0.8 and len(lone) > 1:
            both = [p["id"] for p in rng.sample(lone, 2)]
        elif len(pieces) > 1:
            both = [p["id"] for p in rng.sample(pieces, 2)]
        else:
            continue
        if len({p["collection"] for p in pieces if p["id"] in both}) == 1:
            pins.append({"kind": "pair", "pieces": both})
    rng.shuffle(pins)
    book["pins"] = [{"id": f"pin{n}", "reason": REASONS[pin["kind"]]} | pin for n, pin in enumerate(pins)]


def plan_some(rng: Random, book: dict[str, Any], weeks: int) -> None:
    """Planned slots for some studies, sometimes on days that have passed."""
    taken = [e["slot"] for e in book["episodes"] if e.get("slot")]
    for study in book["episodes"]:
        if study.get("kind", "study") == "study" and not study.get("published") and rng.random() < 0.6:
            allowed = next(s["rules"] for s in book["series"] if s["id"] == study["series"])
            rule = one_of(rng, book, allowed)
            day = (rule["weekday"] - TODAY.weekday()) % 7 + 7 * rng.randrange(-1 if rng.random() < 0.3 else 0, weeks)
            slot = {"day": day_after(day), "rule": rule["id"]}
            if slot not in taken:
                taken.append(slot)
                study["slot"] = slot
