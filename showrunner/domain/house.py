"""The rules of the house: working hours, lead times, limits, and what the workroom owns."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal
from enum import StrEnum

from showrunner.domain.collection import Supply
from showrunner.domain.kinds import Held, kind_of
from showrunner.domain.piece import View
from showrunner.domain.record import record
from showrunner.errors import BadInput

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAY_MINUTES = 24 * 60


def check_day_minutes(minutes: int, where: str) -> None:
    """Refuse minutes that no day has.

    Raises:
        BadInput: `minutes` is below 0 or beyond the 24 hours of a day.
    """
    if not 0 <= minutes <= DAY_MINUTES:
        hours = f"{minutes / 60:g}"
        raise BadInput(f"{hours} hours is not between 0 and the 24 hours of a day", where, "give hours from 0 to 24")


@record
class Form:
    """A dress form, a child's or a skirt form, or a head stand."""

    name: str
    """What it is called."""
    chest_cm: Decimal | None = None
    """Its chest, cm; None if not measured."""
    sort: Held = Held.ADULT
    """Which of these it is."""
    waist_cm: Decimal | None = None
    """Its waist, cm; None if not measured."""
    hip_cm: Decimal | None = None
    """Its hip, cm; None if not measured."""
    back_cm: Decimal | None = None
    """From nape to waist, cm; None if not measured."""

    @property
    def girths(self) -> dict[str, Decimal]:
        """Its girths that are known, cm."""
        known = {"chest": self.chest_cm, "waist": self.waist_cm, "hip": self.hip_cm}
        return {what: size for what, size in known.items() if size is not None}

    def __post_init__(self) -> None:
        if self.sort not in FORM_SORTS:
            raise BadInput(f"a {self.sort.value} is no form to own", self.name, f"say {FORM_SORTS[0].value}")
        for size in (self.chest_cm, self.waist_cm, self.hip_cm, self.back_cm):
            if size is not None and size <= 0:
                raise BadInput(f"{size} cm is not more than nothing", self.name, "give a measure above 0")


FORM_SORTS = (Held.ADULT, Held.CHILD, Held.SKIRT, Held.HEAD)
"""What a form may be."""


@record
class LikeKind:
    """What the owner said that a kind is like which no table knows."""

    word: str
    """The kind, as it is written with the piece."""
    like: str
    """The kind of the table whose views and form it has."""

    def __post_init__(self) -> None:
        if kind_of(self.like) is None:
            raise BadInput(f"'{self.like[:40]}' is no kind known here", self.word[:40], "name one, as dress or jacket")


@record
class LightClass:
    """A class of sensitivity to light and its yearly limit."""

    name: str
    """`high`, `medium` or `low`."""
    limit_lux_hours: int
    """Most lux hours in a calendar year."""


@record
class ExtraWork:
    """Working time found on one day, on top of that of its weekday."""

    day: date
    """The day."""
    minutes: int
    """Minutes more; they count also where the weekday has none, but not in a range without work."""

    def __post_init__(self) -> None:
        if self.minutes == 0:
            raise BadInput("no extra hours", f"extra hours on {self.day}", "give some, or leave the day out")
        check_day_minutes(self.minutes, f"extra hours on {self.day}")


class Unsure(StrEnum):
    """How unsure pieces are taken."""

    LEFT_OUT = "left out"
    """Those not yet in a study are left out of the plan and counted."""
    SHOWN = "shown"
    """All unsure pieces are taken as shown."""
    UNSHOWN = "unshown"
    """All unsure pieces are taken as unshown."""


@record
class Habit:
    """How the dates of the book were last accepted; what is planned beside them follows that."""

    kept: bool = False
    """Whether as a re-plan: the dates are kept, and what is new is placed around them. Otherwise as the best dates."""
    unsure: Unsure = Unsure.LEFT_OUT
    """How unsure pieces were taken."""


DEFAULT_HABIT = Habit()
"""Best dates, unsure pieces left out."""


NEVER_NEGATIVE = (
    *("rig_minutes", "opening_seconds", "point_seconds", "hold_seconds", "closing_seconds", "tables"),
    *("least_chapters", "chapter_seconds", "most_pointing", "posts_a_day"),
)
"""House rules that are amounts."""


@record
class HouseRules:
    """What holds for the whole book."""

    zone: str = "UTC"
    """IANA zone of the house; its calendar days are the days of work."""
    presenter: str = ""
    """Who presents; only for credits."""
    work_minutes: tuple[int, int, int, int, int, int, int] = (0, 0, 0, 0, 0, 0, 0)
    """Working minutes of each weekday, Monday first."""
    extra_work: tuple[ExtraWork, ...] = ()
    """Working time found on single days; of two on one day both count, up to the 24 hours of a day."""
    lead_days: int = 1
    """Days before its slot on which an episode must be ready (0: on the day itself)."""
    warning_lead_weeks: int = 26
    """The run-out warning speaks when the 50% end is this near (equal counts)."""
    forms: tuple[Form, ...] = ()
    """Dress forms owned."""
    tables: int = 1
    """Tables to lay pieces on."""
    light_classes: tuple[LightClass, ...] = ()
    """Yearly light limits by class."""
    standard_views: tuple[View, ...] = (
        View.FLAT_FACE,
        View.FLAT_REVERSE,
        View.INSIDE,
        View.FORM_FRONT,
        View.FORM_LEFT,
        View.FORM_RIGHT,
        View.FORM_BACK,
    )
    """Views every garment gets unless its kind has none such or a handling limit forbids one."""
    lamp_lux: int = 500
    """Light on the piece until it is measured, lux."""
    rig_minutes: int = 20
    """Minutes it takes to rig one place of the camera with its lights."""
    shoot_cap_minutes: int = 360
    """Most minutes of filming in one day; beyond it one is too tired to handle old things."""
    touches_a_year: int = 20
    """Touches of one piece in a calendar year above which a warning is given."""
    details_in_place: bool = False
    """Whether details are filmed without moving the camera (a zoom or a second camera)."""
    opening_seconds: int = 60
    """Opening of an episode, seconds."""
    point_seconds: int = 25
    """One point said aloud, seconds."""
    hold_seconds: int = 12
    """One required view held for the viewer, seconds."""
    closing_seconds: int = 75
    """Close of an episode, seconds."""
    habit: Habit = DEFAULT_HABIT
    """How the dates of the book were last accepted."""
    supplies: tuple[Supply, ...] = ()
    """Boxes and tissue in store."""
    description: str = ""
    """Template of the descriptions, with `$pieces` and the like; empty for the built-in one."""
    least_chapters: int = 3
    """Least number of chapters of a film."""
    chapter_seconds: int = 10
    """Least length of a chapter, seconds."""
    most_pointing: int = 20
    """Words that mean nothing without the picture ("this bit") above which a film is told of, in ten minutes."""
    posts_a_day: int = 1
    """Small posts a day, each with one still."""
    kinds: tuple[LikeKind, ...] = ()
    """What the owner said of kinds that no table knows."""
    ease_cm: Decimal = Decimal(0)
    """Room left in a girth so that the fastenings close without pulling, cm."""
    form_smaller_cm: Decimal = Decimal(2)
    """Least by which a form is smaller than a piece, cm in girth."""
    most_padding_cm: Decimal = Decimal(12)
    """Padding above which a warning is given, cm in girth."""
    latitude: Decimal | None = None
    """Where the house stands, degrees north of the equator, negative for south; None if it is not told."""
    longitude: Decimal | None = None
    """Degrees east of Greenwich, negative for west; None if it is not told."""
    film_until: time | None = None
    """Time of day at home by which filming ends, whatever the sun does; None for none."""

    def __post_init__(self) -> None:
        for weekday, minutes in zip(WEEKDAYS, self.work_minutes, strict=True):
            check_day_minutes(minutes, f"working hours of {weekday}")
        if self.lead_days < 0:
            raise BadInput(f"ready {-self.lead_days} days after the slot is too late", "house rules", "give 0 or more")
        if self.warning_lead_weeks < 0:
            raise BadInput(
                f"a warning {-self.warning_lead_weeks} weeks after the end is too late", "house rules", "give 0 or more"
            )
        for name, most in (("latitude", 90), ("longitude", 180)):
            degrees = getattr(self, name)
            if degrees is not None and not -most <= degrees <= most:
                raise BadInput(f"{degrees} degrees is no {name}", "house rules", f"give {-most} to {most}")
        if (self.latitude is None) != (self.longitude is None):
            raise BadInput("latitude and longitude go together", "house rules", "give both, or neither")
        if self.lamp_lux <= 0:
            raise BadInput(f"{self.lamp_lux} lux is no light to film by", "house rules", "give a lux above 0")
        check_day_minutes(self.shoot_cap_minutes, "most filming in a day")
        for rule in ("ease_cm", "form_smaller_cm", "most_padding_cm"):
            if getattr(self, rule) < 0:
                raise BadInput(
                    "it is less than nothing", rule.removesuffix("_cm").replace("_", " "), "give 0 cm or more"
                )
        for name in NEVER_NEGATIVE:
            if getattr(self, name) < 0:
                raise BadInput("it is less than nothing", name.replace("_", " "), "give 0 or more")
