"""House rules: working hours, lead times, slots, series."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Series, Stage, StageMinutes
from showrunner.domain.house import WEEKDAYS
from showrunner.domain.slot import SlotRule
from showrunner.tui import entry
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

DAYS = tuple((name, str(number)) for number, name in enumerate(WEEKDAYS))


def open_house(app: ShowrunnerApp) -> None:
    """Choose what to change."""
    book = app.session.book
    options = [
        ("hours", "working hours, lead days, warning lead, time zone"),
        ("extra", "extra hours on single days"),
        ("workroom", "workroom: tables, dress forms, place, lamps, most filming in a day, touches a year"),
        ("times", "run time: seconds of opening, point, held view and close"),
        ("package", "publication: least chapters, pointing words, small posts a day"),
        ("template", "publication: the template of your descriptions"),
    ]
    options += [(f"rule {rule.id}", f"slot: {rule.name}") for rule in book.rules]
    options += [(f"series {series.id}", f"series: {series.name}") for series in book.series]
    options += [("rule ", "a new slot")]

    def chosen(answer: str | None) -> None:
        if answer is None:
            return
        kind, _, id = answer.partition(" ")
        if kind == "hours":
            edit_hours(app)
        elif kind == "extra":
            edit_extra_work(app)
        elif kind == "workroom":
            edit_workroom(app)
        elif kind == "times":
            edit_times(app)
        elif kind == "package":
            edit_publication(app)
        elif kind == "template":
            edit_template(app)
        elif kind == "rule":
            edit_rule(app, book.find("rules", id))
        else:
            edit_series(app, book.series_of(id))

    app.push_screen(ChooseDialog("House rules", options), chosen)


def edit_hours(app: ShowrunnerApp, then: Any = None) -> None:
    """Edit working hours and lead times.

    Args:
        app: the application.
        then: called with True once it is saved, with None if it was left.
    """
    house = app.session.book.house

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            house,
            work_minutes=answers["hours"],
            lead_days=answers["lead"],
            warning_lead_weeks=answers["warning"],
            zone=answers["zone"],
            presenter=answers["presenter"].strip(),
        )
        _keep(app, "change the house rules", lambda book: edits.put_house(book, changed))

    fields = [
        Field("presenter", "presenter", house.presenter),
        Field("zone", "time zone", house.zone, entry.zone, "Australia/Hobart"),
        Field(
            "hours",
            "hours Mon to Sun",
            " ".join(entry.hours_text(m) for m in house.work_minutes),
            cast("Any", entry.week_minutes),
            "0 2 2 2 0 4 2",
        ),
        Field("lead", "ready, days before", str(house.lead_days), entry.whole(0, 60)),
        Field("warning", "warning lead, weeks", str(house.warning_lead_weeks), entry.whole(0, 520)),
    ]
    app.push_screen(FormDialog("House", fields, save), then)


def edit_extra_work(app: ShowrunnerApp) -> None:
    """Edit the working time found on single days, on top of that of their weekdays."""
    house = app.session.book.house
    shown = entry.extra_work_text(house.extra_work)

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(house, extra_work=answers["extra"])
        _keep(app, "set the extra hours on single days", lambda book: edits.put_house(book, changed))

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
        _keep(app, "change the workroom", lambda book: edits.put_house(book, changed))

    place = "" if house.latitude is None else f"{house.latitude} {house.longitude}"
    until = f"{house.film_until:%H:%M}" if house.film_until else ""
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
        Field("until", "filming ends by", until, entry.optional_time, "a time of day; empty: sunset"),
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
        _keep(app, "change the run time rules", lambda book: edits.put_house(book, changed))

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
        _keep(app, "change the rules of publication", lambda book: edits.put_house(book, changed))

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
        _keep(app, "write the template", lambda book: edits.put_house(book, replace(house, description=own)))

    intro = f"A line whose names are all empty is left out. Names: {' '.join(f'${place}' for place in PLACES)}"
    app.push_screen(TextDialog("Template of descriptions", house.description or DEFAULT, save, intro))


def edit_rule(app: ShowrunnerApp, rule: SlotRule | None, then: Any = None) -> None:
    """Edit a weekly slot, or add one.

    Args:
        app: the application.
        rule: the slot; None for a new one.
        then: as for `edit_hours`.
    """
    book = app.session.book

    def save(answers: Mapping[str, Any]) -> None:
        id = rule.id if rule else _free_id(WEEKDAYS[int(answers["weekday"])].lower(), {r.id for r in book.rules})
        kept = rule or SlotRule(id, "", 0, answers["at"], answers["zone"])
        changed = replace(
            kept,
            name=answers["name"],
            weekday=int(answers["weekday"]),
            at=answers["at"],
            zone=answers["zone"],
            standing_minutes=answers["standing"],
        )
        since = answers.get("since")

        def edit(book: Book) -> Book:
            return edits.change_rule_from(book, changed, since) if since else edits.put_rule(book, changed)

        _keep(app, f"set the slot {changed.name}", edit)

    fields = [
        Field("name", "what usually fills it", rule.name if rule else "", entry.words, "making diary"),
        Field("weekday", "weekday", str(rule.weekday if rule else 6), options=DAYS),
        Field("at", "time of day", f"{rule.at:%H:%M}" if rule else "09:00", entry.clock_time),
        Field("zone", "time zone", rule.zone if rule else book.house.zone, entry.zone),
        Field(
            "standing", "hours it costs a week", entry.hours_text(rule.standing_minutes if rule else 0), entry.minutes
        ),
    ]
    intro = "A fixed weekly slot. Its usual content costs these hours unless a study takes the slot."
    if rule:
        intro += " A change from a day on leaves all before that day as it was."
        fields.insert(1, Field("since", "changed from", "", entry.optional_day, "a day; empty: for all time"))
    app.push_screen(FormDialog("A weekly slot", fields, save, intro), then)


def edit_series(app: ShowrunnerApp, series: Series | None, collection: str = "", then: Any = None) -> None:
    """Edit a series, or make one on a collection.

    Args:
        app: the application.
        series: the series; None for a new one.
        collection: id of the collection of a new one.
        then: as for `edit_hours`.
    """
    book = app.session.book
    stages = series.stages if series else StageMinutes(180, 0, 240, 480, 60, 60)

    def read_rules(text: str) -> tuple[str, ...]:
        return tuple(book.rule(id).id for id in entry.listed(text))

    def save(answers: Mapping[str, Any]) -> None:
        id = series.id if series else _free_id("studies", {s.id for s in book.series})
        changed = replace(
            series or Series(id, answers["name"], collection, answers["rules"]),
            name=answers["name"],
            rules=answers["rules"],
            min_weeks=answers["min"],
            target_weeks=answers["target"],
            max_weeks=answers["max"],
            stages=StageMinutes(*(answers[f"stage{at}"] for at in range(len(Stage)))),
            page=answers["page"].strip(),
        )
        _keep(app, f"set the series {changed.name}", lambda book: edits.put_series(book, changed))

    allowed = series.rules if series else tuple(rule.id for rule in book.rules[-1:])
    fields = [
        Field("name", "title of the series", series.name if series else "", entry.words),
        Field("rules", "slots it may use", ", ".join(allowed), read_rules, ", ".join(r.id for r in book.rules)),
        Field("min", "least gap, weeks", str(series.min_weeks if series else 4), entry.whole(0, 260)),
        Field("target", "wished gap, weeks", str(series.target_weeks if series else 6), entry.whole(0, 260)),
        Field("max", "most, weeks", str(series.max_weeks if series else 9), entry.whole(0, 260)),
        *(
            Field(
                f"stage{at}",
                f"hours {stage.value}",
                entry.hours_text(stages.of(stage)),
                entry.day_minutes if stage is Stage.SHOOT else entry.minutes,
            )
            for at, stage in enumerate(Stage)
        ),
        Field("page", "address of its page", series.page if series else "", hint="where all its studies are listed"),
    ]
    app.push_screen(FormDialog("A series of studies", fields, save), then)


def _keep(app: ShowrunnerApp, label: str, edit: Callable[[Book], Book]) -> None:
    """Do what a form is for; a refusal goes back to the form."""
    app.session.do(label, edit)
    app.book_changed()


def _free_id(stem: str, taken: set[str]) -> str:
    return next(id for id in (stem, *(f"{stem}-{n}" for n in range(2, 999))) if id not in taken)
