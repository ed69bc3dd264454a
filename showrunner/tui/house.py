"""House rules: working hours, lead times, slots, series."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from showrunner import clock
from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.edits.ids import free_id
from showrunner.domain.episode import Series, Stage, StageMinutes
from showrunner.domain.house import WEEKDAYS, HouseRules
from showrunner.domain.naming import Sort
from showrunner.domain.places import likely_zone, zone_words
from showrunner.domain.slot import SlotRule
from showrunner.tui import entry
from showrunner.tui.dialogs import Field, FormDialog, blaming
from showrunner.tui.fields import day_field, things_field, time_field

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

DAYS = tuple((name, str(number)) for number, name in enumerate(WEEKDAYS))


def edit_hours(app: ShowrunnerApp, then: Any = None, *, first: bool = False, intro: str = "") -> None:
    """Edit working hours and lead times.

    Args:
        app: the application.
        then: called with True once it is saved, with None if it was left.
        first: whether it is the first time, when zone and hours are still to be told.
        intro: a sentence above the lines.
    """
    house = app.session.book.house
    week = " ".join(entry.hours_text(m) for m in house.work_minutes)

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            house,
            work_minutes=answers["hours"],
            lead_days=answers["lead"],
            warning_lead_weeks=answers["warning"],
            zone=answers["zone"],
            presenter=answers["presenter"].strip(),
        )
        app.keep("change the house rules", lambda book: edits.put_house(book, changed))

    fields = [
        zone_field(likely_zone(clock.zones_here()) if first else house.zone, needed=first),
        Field(
            "hours",
            "hours you work",
            "" if first else week,
            cast("Any", entry.week_minutes),
            "Tue-Thu 2, Sat 4",
            needed=first,
            say=entry.week_words,
            about="On films, on each weekday: Tue-Thu 2, Sat 4, or seven numbers from Monday. No plan asks for more.",
        ),
        Field("presenter", "presenter", house.presenter, folded=first, about="Your name, for the credits."),
        Field(
            "lead",
            "days ahead it is ready",
            str(house.lead_days),
            entry.whole(0, 60),
            folded=first,
            about="How many days before its slot an episode must be finished.",
        ),
        Field(
            "warning",
            "weeks ahead you know",
            str(house.warning_lead_weeks),
            entry.whole(0, 520),
            folded=first,
            about="How many weeks before the last piece is likely to be shown you are warned.",
        ),
    ]
    app.push_screen(FormDialog("The house", fields, save, intro), then)


def zone_field(zone: str, *, needed: bool = False, folded: bool = False) -> Field:
    """The line for a time zone, by a place."""
    return Field(
        "zone",
        "where you live",
        zone,
        entry.zone,
        "a town near you, or the country",
        needed=needed,
        folded=folded,
        say=zone_words,
        about="All days and times go by the clock of that place, summer time too.",
    )


def once_zone_is_told(app: ShowrunnerApp, then: Callable[[], object]) -> None:
    """Do what depends on the time zone of the house: at once if it was told, else after asking for it.

    Args:
        app: the application.
        then: does it; not called if the question is left.
    """
    house = app.session.book.house
    if is_zone_told(app.session.book):
        then()
        return

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(house, zone=answers["zone"])
        app.keep("say where the house is", lambda book: edits.put_house(book, changed))

    fields = [zone_field(likely_zone(clock.zones_here()), needed=True)]
    intro = "This goes by the clock, so the program must know yours first."

    def told(done: object) -> None:
        if done:
            then()

    app.push_screen(FormDialog("Where you live", fields, save, intro), told)


def is_zone_told(book: Book) -> bool:
    """Whether the zone of the house was ever told; until then it is that of a new book."""
    return book.house.zone != HouseRules().zone or any(book.house.work_minutes) or bool(book.rules)


def edit_extra_work(app: ShowrunnerApp) -> None:
    """Edit the working time found on single days, on top of that of their weekdays."""
    house = app.session.book.house
    shown = entry.extra_work_text(house.extra_work)

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(house, extra_work=answers["extra"])
        app.keep("set the extra hours on single days", lambda book: edits.put_house(book, changed))

    read = entry.unless_changed(shown, house.extra_work, entry.extra_work)
    fields = [Field("extra", "days, each with hours", shown, read, "21 Mar 2026 4; 22 Mar 2026 2.5")]
    intro = "Hours on top of those of the weekday: 21 Mar 2026 4. A semicolon between days; empty for none."
    app.push_screen(FormDialog("Extra hours on single days", fields, save, intro))


def edit_workroom(app: ShowrunnerApp) -> None:
    """Edit what the workroom has and what a day of filming may take."""
    house = app.session.book.house

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            house,
            tables=answers["tables"],
            forms=answers["forms"],
            ease_cm=answers["ease"],
            form_smaller_cm=answers["smaller"],
            most_padding_cm=answers["padding"],
            latitude=answers["place"][0],
            longitude=answers["place"][1],
            film_until=answers["until"],
            lamp_lux=answers["lux"],
            shoot_cap_minutes=answers["cap"],
            rig_minutes=answers["rig"],
            touches_a_year=answers["touches"],
            details_in_place=answers["details"] == "yes",
        )
        app.keep("change the workroom", lambda book: edits.put_house(book, changed))

    place = "" if house.latitude is None else f"{house.latitude} {house.longitude}"
    fields = [
        Field("tables", "tables", str(house.tables), entry.whole(1, 9)),
        Field(
            "forms",
            "forms and stands, cm",
            ", ".join(map(entry.form_text, house.forms)),
            entry.forms,
            "small form 80 waist 60, child's form 58, head stand",
        ),
        Field("ease", "ease left in a girth, cm", str(house.ease_cm), entry.girth),
        Field("smaller", "form smaller by, cm", str(house.form_smaller_cm), entry.girth, "at least, in girth"),
        Field("padding", "most padding, cm", str(house.most_padding_cm), entry.girth, "in girth; more is warned of"),
        Field("lux", "lux of the lamps", str(house.lamp_lux), entry.lux),
        Field("place", "place, degrees", place, entry.degrees, "north and east, like 48.2 16.4"),
        time_field("until", "filming ends by", house.film_until, optional=True, hint="7pm; empty: sunset"),
        Field("cap", "most filming in a day, h", entry.hours_text(house.shoot_cap_minutes), entry.day_minutes),
        Field("rig", "minutes to rig a camera", str(house.rig_minutes), entry.whole(0, 600)),
        Field("touches", "touches a piece a year", str(house.touches_a_year), entry.whole(0, 1000)),
        Field(
            "details",
            "details filmed",
            "yes" if house.details_in_place else "no",
            options=(("with the camera moved close", "no"), ("from where it stands (zoom)", "yes")),
        ),
    ]
    app.push_screen(FormDialog("Workroom", fields, save))


def edit_times(app: ShowrunnerApp) -> None:
    """Edit the seconds that run times are estimated from."""
    house = app.session.book.house
    names = (
        ("opening_seconds", "opening"),
        ("point_seconds", "one point said"),
        ("hold_seconds", "one view held"),
        ("closing_seconds", "close"),
    )

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(house, **{name: answers[name] for name, _ in names})
        app.keep("change the run time rules", lambda book: edits.put_house(book, changed))

    fields = [Field(name, f"{label}, s", str(getattr(house, name)), entry.whole(0, 3600)) for name, label in names]
    intro = "Corrected by your own episodes once three have both an estimate and a run time."
    app.push_screen(FormDialog("Run time", fields, save, intro))


def edit_publication(app: ShowrunnerApp) -> None:
    """Edit what is asked of chapters and of captions, and how many small posts there are."""
    house = app.session.book.house
    names = (
        ("least_chapters", "chapters, at least"),
        ("chapter_seconds", "each, s at least"),
        ("most_pointing", "pointing words"),
        ("posts_a_day", "small posts a day"),
    )

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(house, **{name: answers[name] for name, _ in names})
        app.keep("change the rules of publication", lambda book: edits.put_house(book, changed))

    fields = [Field(name, label, str(getattr(house, name)), entry.whole(0, 999)) for name, label in names]
    intro = "Pointing words mean nothing without the picture (“this bit”): so many in ten minutes are not told of."
    app.push_screen(FormDialog("Publication", fields, save, intro))


def edit_template(app: ShowrunnerApp) -> None:
    """Edit the template that descriptions are made from."""
    from showrunner.planning.template import DEFAULT, PLACES, check_template
    from showrunner.tui.package_view import TextDialog

    house = app.session.book.house

    def save(text: str) -> None:
        own = "" if text.strip() in ("", DEFAULT.strip()) else check_template(text)
        app.keep("write the template", lambda book: edits.put_house(book, replace(house, description=own)))

    intro = f"A line whose names are all empty is left out. Names: {' '.join(f'${place}' for place in PLACES)}"
    app.push_screen(TextDialog("Template of descriptions", house.description or DEFAULT, save, intro))


def edit_rule(app: ShowrunnerApp, rule: SlotRule | None, then: Any = None, intro: str = "") -> None:
    """Edit a weekly slot, or add one.

    Args:
        app: the application.
        rule: the slot; None for a new one.
        then: as for `edit_hours`.
        intro: a sentence above the lines, before what a slot is.
    """
    book = app.session.book
    new = rule is None

    def save(answers: Mapping[str, Any]) -> None:
        id = rule.id if rule else free_id(WEEKDAYS[int(answers["weekday"])], {r.id for r in book.rules}, "slot")
        kept = rule or SlotRule(id, "", 0, answers["at"], answers["zone"])
        changed = replace(
            kept,
            name=answers["name"],
            weekday=int(answers["weekday"]),
            at=answers["at"],
            zone=answers["zone"],
            standing_minutes=answers["standing"],
            first=answers["first"],
            last=answers["last"],
        )
        since = answers.get("since")

        def edit(book: Book) -> Book:
            with blaming("since" if since else "weekday"):
                return edits.change_rule_from(book, changed, since) if since else edits.put_rule(book, changed)

        app.keep(f"set the slot {changed.name}", edit)

    today = app.session.today
    taken = {r.weekday for r in book.rules}
    weekday = rule.weekday if rule else next(day for day in (6, 2, 4, 0, 1, 3, 5, 6) if day not in taken or day == 6)
    fields = [
        Field("name", "what usually fills it", rule.name if rule else "", entry.words, "making diary", needed=new),
        *([] if new else [day_field("since", "changed from", None, today, ahead=True, optional=True, hint=_SINCE)]),
        Field("weekday", "weekday", str(weekday), options=DAYS, needed=new),
        time_field("at", "time of day", rule.at if rule else None, needed=new),
        Field(
            "standing",
            "hours it costs a week",
            entry.hours_text(rule.standing_minutes if rule else 0),
            entry.minutes,
            needed=new,
            about="What its usual episode costs you each week. A study in the slot costs its own hours in their place.",
        ),
        zone_field(rule.zone if rule else book.house.zone, folded=True),
        day_field("first", "begins on", rule.first if rule else None, today, ahead=True, optional=True, folded=True),
        day_field("last", "ends after", rule.last if rule else None, today, ahead=True, optional=True, folded=True),
    ]
    if rule:
        intro = "A change from a day on leaves all before that day as it was."
    app.push_screen(FormDialog("A weekly slot: when you publish", fields, save, intro), then)


_SINCE = "a day; empty: for all time"


def gaps_around(wished: int) -> tuple[int, int]:
    """The least and the most weeks between studies that go with a wished number, where nobody says otherwise."""
    return wished * 2 // 3, -(-wished * 3 // 2)


def gap_words(wished: int) -> str:
    """Three gaps in a sentence, where only the wished one is told."""
    least, most = gaps_around(wished)
    return f"about every {wished} weeks, never closer than {least}; a gap above {most} is warned of"


def edit_series(app: ShowrunnerApp, series: Series | None, collection: str = "", then: Any = None) -> None:
    """Edit a series, or make one on a collection.

    Args:
        app: the application.
        series: the series; None for a new one.
        collection: id of the collection of a new one.
        then: as for `edit_hours`.
    """
    book = app.session.book
    new = series is None
    stages = series.stages if series else StageMinutes(180, 0, 240, 480, 60, 60)
    collections = tuple((one.name, one.id) for one in book.collections)
    about = series.collection if series else collection or book.collections[0].id

    def save(answers: Mapping[str, Any]) -> None:
        id = series.id if series else free_id("studies", {s.id for s in book.series}, "studies")
        rules = answers["rules"].ids if series else tuple(answers["rules"].split())
        least, most = gaps_around(answers["target"])

        def edit(book: Book) -> Book:
            with blaming("target" if answers["min"] is None and answers["max"] is None else "min"):
                changed = replace(
                    series or Series(id, answers["name"], about, rules),
                    name=answers["name"],
                    collection=answers.get("collection", about),
                    rules=rules,
                    min_weeks=least if answers["min"] is None else answers["min"],
                    target_weeks=answers["target"],
                    max_weeks=most if answers["max"] is None else answers["max"],
                    stages=StageMinutes(*(answers[f"stage{at}"] for at in range(len(Stage)))),
                    page=answers["page"].strip(),
                )
            with blaming("rules"):
                return edits.put_series(book, changed)

        app.keep(f"set the series {answers['name']}", edit)

    def weeks_or_none(text: str) -> int | None:
        return entry.whole(0, 260)(text) if text.strip() else None

    fields = [
        Field("name", "title of the series", series.name if series else "", entry.words, "A closer look", needed=new),
        things_field("rules", "its slots", book, Sort.SLOT, series.rules, about=_SLOTS)
        if series
        else Field("rules", "its slot", book.rules[-1].id, options=_slot_choices(book), needed=True, about=_SLOTS),
        Field(
            "target",
            "weeks between studies",
            str(series.target_weeks if series else 6),
            entry.whole(0, 260),
            needed=new,
            say=gap_words if new else None,
            about="What you wish for. The plan keeps the gaps as even as your promises and hours allow.",
        ),
        Field(
            "min",
            "never closer, weeks",
            "" if new else str(series.min_weeks if series else ""),
            weeks_or_none,
            "empty: two thirds of that",
            folded=new,
        ),
        Field(
            "max",
            "warn above, weeks",
            "" if new else str(series.max_weeks if series else ""),
            weeks_or_none,
            "empty: half as much again",
            folded=new,
        ),
        *([Field("collection", "about", about, options=collections)] if len(collections) > 1 else []),
        *(
            Field(
                f"stage{at}",
                f"hours {stage.value}",
                entry.hours_text(stages.of(stage)),
                entry.day_minutes if stage is Stage.SHOOT else entry.minutes,
                folded=new,
                about="What one study costs you; a single study can have its own hours.",
            )
            for at, stage in enumerate(Stage)
        ),
        Field(
            "page",
            "address of its page",
            series.page if series else "",
            hint="where all its studies are listed",
            folded=new or not (series and series.page),
        ),
    ]
    told = ", ".join(f"{stage.value} {entry.hours_text(stages.of(stage))}" for stage in Stage if stages.of(stage))
    hours = f"One study is taken to cost you {words.hours(stages.total)}: {told}. F2 changes that." if new else ""
    app.push_screen(FormDialog("A series of studies", fields, save, hours), then)


_SLOTS = "The weekly slots that its studies may take."


def _slot_choices(book: Book) -> tuple[tuple[str, str], ...]:
    """The slots, and all of them together; of several the ids are parted by spaces."""
    each = tuple((rule.name, rule.id) for rule in book.rules)
    return (*each, ("any of them", " ".join(rule.id for rule in book.rules))) if len(each) > 1 else each
