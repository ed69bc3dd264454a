"""The JSON of the commands, key by key, from results made by hand; the keys and units are those DEVELOPERS.md lists."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from fractions import Fraction

import pytest

from showrunner import contract
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.piece import View
from showrunner.domain.rules import Member, Rule
from showrunner.domain.shoot import Camera, LogKind, LogLine, Remedy, Touch
from showrunner.domain.slot import Slot, SlotRef
from showrunner.intake.columns import Column, How, Kind
from showrunner.intake.findings import Guess, Intake, Question, Remark, Row, Verdict
from showrunner.planning.aims import Aim
from showrunner.planning.cautions import Caution
from showrunner.planning.changes import AllowSlot, LookFurther, LowerGap, MoreHours, PublishInDark, Unpin, WidenWindow
from showrunner.planning.cues import Cues
from showrunner.planning.forms import Padding
from showrunner.planning.gates import Gate
from showrunner.planning.hours import BusyHours
from showrunner.planning.light import Light
from showrunner.planning.points import Point
from showrunner.planning.results import (
    Ahead,
    BankCover,
    Clash,
    Dates,
    Doubt,
    FanStep,
    Lack,
    LateRisk,
    Offer,
    PickupWork,
    Placed,
    Plan,
    Price,
    RunOut,
    Settled,
    Shortfall,
    SlipRate,
    Status,
    Task,
    Trip,
    Unplaced,
    Unsure,
    Warning,
    WayOut,
    WorkPlan,
)
from showrunner.planning.run_order import RunOrder, Step
from showrunner.planning.run_time import RunTime
from showrunner.planning.shoot_plan import Batch, Fit, SetUp, ShootPlan
from showrunner.planning.shots import Refused, Shot
from showrunner.report import rate_words

DAY = date(2026, 3, 22)
LATER = SlotRef(date(2026, 3, 29), "sun")
WARNING = Warning("unplaced", "One study has no slot.")
PLACED = Placed(
    id="apron",
    title="Apron",
    series="hour",
    pieces=("1", "2"),
    slot=Slot("sun", DAY, datetime(2026, 3, 22, 9, tzinfo=timezone(timedelta(hours=11)))),
    gap_days=10,
    minutes_needed=100,
    minutes_available=120,
    reason="It is the first.",
    moved_from=LATER,
    pinned=True,
    implied=False,
    earlier=None,
    later=Price(LATER, True, Fraction(7, 3), "2 1/3 points more"),
)
CHANGES = {
    MoreHours(90, date(2026, 3, 21), date(2026, 3, 2)): {"kind": "hours", "minutes": 90, "by": "2026-03-21"},
    LookFurther(80): {"kind": "horizon", "weeks": 80},
    WidenWindow("fan", 1, date(2026, 3, 1), date(2026, 3, 9)): {
        "kind": "window",
        "episode": "fan",
        "window": 1,
        "first": "2026-03-01",
        "last": "2026-03-09",
    },
    LowerGap("brim", 3): {"kind": "gap", "series": "brim", "weeks": 3},
    AllowSlot("brim", "wed"): {"kind": "rule", "series": "brim", "rule": "wed"},
    PublishInDark("d1"): {"kind": "dark", "id": "d1"},
    Unpin("p1"): {"kind": "unpin", "pin": "p1"},
}
WAYS = (WayOut(tuple(CHANGES), date(2026, 4, 5), "With all of that it airs."),)
PLAN = Plan(
    status=Status.OPTIMAL,
    proven=True,
    points=Fraction(9, 2),
    proven_gap=Fraction(1, 3),
    missing_gap=2,
    studies=(PLACED,),
    unplaced=(
        Unplaced("fan", "Fan", "brim", ("9",), "The hours are short.", "2 h", "Give it a week more.", 150, WAYS),
    ),
    warnings=(WARNING,),
    clashes=(Clash("Two are promised one slot.", ("apron", "fan"), (Member(Rule.DATE, "p1"), Member(Rule.HOURS)), 90),),
    promises_made=3,
    promises_kept=2,
    left_out=("7",),
    today=date(2026, 3, 2),
    horizon_weeks=78,
    unsure=Unsure.LEFT_OUT,
    aim=Aim.EVEN,
    solver_seconds=0.123456,
    stands=True,
    offer=Offer(2, 0, Fraction(7, 2)),
)


def test_a_plan() -> None:
    assert contract.plan(PLAN) == {
        "status": "optimal",
        "points": 4.5,
        "proven_gap": 0.3333,
        "missing_gap": 2,
        "today": "2026-03-02",
        "horizon_weeks": 78,
        "unsure": "left out",
        "replan": True,
        "even": True,
        "stands": True,
        "breaks_rules": False,
        "offer": {"moves": 2, "more": 0, "points": 3.5},
        "studies": [
            {
                "id": "apron",
                "title": "Apron",
                "series": "hour",
                "pieces": ["1", "2"],
                "slot": "2026-03-22",
                "slot_rule": "sun",
                "slot_start": "2026-03-21T22:00:00Z",  # 9:00 at UTC+11
                "gap_weeks": 1.4286,  # 10 days of 7
                "hours_needed": 1.6667,  # 100 minutes
                "hours_available": 2,
                "reason": "It is the first.",
                "moved_from": "2026-03-29",
                "pinned": True,
                "implied": False,
                "one_slot_earlier": None,
                "one_slot_later": {
                    "slot": "2026-03-29",
                    "possible": True,
                    "points": 2.3333,
                    "short_hours": None,
                    "text": "2 1/3 points more",
                },
            }
        ],
        "unplaced": [
            {
                "id": "fan",
                "title": "Fan",
                "series": "brim",
                "pieces": ["9"],
                "reason": "The hours are short.",
                "short_by": "2 h",
                "short_hours": 2.5,
                "way_out": "Give it a week more.",
                "ways_out": [
                    {"text": "With all of that it airs.", "airs": "2026-04-05", "changes": list(CHANGES.values())}
                ],
            }
        ],
        "promises": {"made": 3, "kept": 2},
        "clashes": [
            {
                "text": "Two are promised one slot.",
                "parties": ["apron", "fan"],
                "members": [{"kind": "date", "id": "p1"}, {"kind": "hours", "id": ""}],
                "missing_hours": 1.5,
            }
        ],
        "unsure_left_out": ["7"],
        "warnings": [{"code": "unplaced", "text": "One study has no slot."}],
        "solver_seconds": 0.1235,
    }


def test_what_a_study_does_not_have_is_null_and_a_gap_of_no_days_is_none_of_these() -> None:
    def told(**changes: object) -> dict[str, object]:
        return contract.plan(replace(PLAN, studies=(replace(PLACED, **changes),)))["studies"][0]

    assert told(gap_days=None)["gap_weeks"] is None
    assert told(gap_days=0)["gap_weeks"] == 0
    assert told(moved_from=None)["moved_from"] is None
    assert told(later=None)["one_slot_later"] is None
    refused = Price(LATER, False, Fraction(0), "the work would be 2 h short", 120)
    assert told(earlier=refused)["one_slot_earlier"] == {
        "slot": "2026-03-29",
        "possible": False,
        "points": None,
        "short_hours": 2,
        "text": "the work would be 2 h short",
    }


@pytest.mark.parametrize(
    ("points", "told"),
    [(Fraction(0), "0"), (Fraction(14), "14"), (Fraction(-3, 2), "-1.5"), (Fraction(2, 3), "0.6667")],
)
def test_a_whole_number_is_told_without_decimals_and_any_other_to_four(points: Fraction, told: str) -> None:
    """A number that is not whole is never cut down to one: 4.5 weeks squared are no 4."""
    assert str(contract.plan(replace(PLAN, points=points))["points"]) == told


def test_work() -> None:
    slot = SlotRef(DAY, "sun")
    at = datetime(2026, 3, 2, 1, 0, tzinfo=UTC)
    what = {"piece": "29", "subject": "29/inside", "text": "inside (no time)", "remedy": Remedy.REOPEN}
    line = LogLine("shoot-1-0007", "shoot-1", at, LogKind.PICKUP, **what)  # type: ignore[arg-type]
    found = WorkPlan(
        tasks=(
            Task(date(2026, 3, 3), 90, "apron", "Apron", Stage.CONDITION, slot, date(2026, 3, 20)),
            Task(date(2026, 3, 4), 60, "", "feature", None, slot, date(2026, 3, 20)),
        ),
        slack_minutes=0,
        slack_day=date(2026, 3, 20),
        shortfalls=(
            Shortfall("Apron", "apron", slot, 45, LATER, "It is short.", Lack.HOURS),
            Shortfall("feature", "", slot, 60, None, "It is short too.", Lack.ALONE),
        ),
        warnings=(Warning("work-short", "It is short."),),
        pickups=(
            PickupWork((line,), "H", "apron", "Apron", date(2026, 3, 3), "frock", date(2026, 3, 20)),
            PickupWork((), "", "", "", None, "", None),
        ),
    )
    where = {"day": "2026-03-22", "rule": "sun"}
    assert contract.work(found) == {
        "tasks": [
            {
                "day": "2026-03-03",
                "hours": 1.5,
                "title": "Apron",
                "episode": "apron",
                "stage": "condition check",
                "slot": where,
                "ready_by": "2026-03-20",
            },
            {
                "day": "2026-03-04",
                "hours": 1,
                "title": "feature",
                "episode": None,
                "stage": None,
                "slot": where,
                "ready_by": "2026-03-20",
            },
        ],
        "slack_hours": 0,
        "before_days_without_work": [],
        "busy": [],
        "slack_day": "2026-03-20",
        "shortfalls": [
            {
                "title": "Apron",
                "episode": "apron",
                "slot": where,
                "hours": 0.75,
                "first_fit": {"day": "2026-03-29", "rule": "sun"},
                "lack": "hours",
                "text": "It is short.",
            },
            {
                "title": "feature",
                "episode": None,
                "slot": where,
                "hours": 1,
                "first_fit": None,
                "lack": "alone",
                "text": "It is short too.",
            },
        ],
        "pickups": [
            {
                "day": "2026-03-03",
                "box": "H",
                "with_shoot": "frock",
                "episode": "apron",
                "title": "Apron",
                "ready_by": "2026-03-20",
                "lines": [
                    {
                        "id": "shoot-1-0007",
                        "piece": "29",
                        "remedy": "reopen the box",
                        "subject": "29/inside",
                        "text": "inside (no time)",
                    }
                ],
            },
            {
                "day": None,
                "box": None,
                "with_shoot": None,
                "episode": None,
                "title": None,
                "ready_by": None,
                "lines": [],
            },
        ],
        "warnings": [{"code": "work-short", "text": "It is short."}],
    }


def test_where_nothing_is_planned_no_slack_is_told() -> None:
    told = contract.work(WorkPlan((), None, None, (), ()))
    nothing: dict[str, object] = {"tasks": [], "before_days_without_work": [], "shortfalls": [], "warnings": []}
    nothing |= {"pickups": [], "busy": []}
    assert told == nothing | {"slack_hours": None, "slack_day": None}


def test_busy_hours() -> None:
    busy = BusyHours(DAY, 90, 150, ("Dentist", "Choir"))
    assert contract.work(WorkPlan((), None, None, (), (), busy=(busy,)))["busy"] == [
        {"day": DAY.isoformat(), "busy_hours": 1.5, "left_hours": 2.5, "reasons": ["Dentist", "Choir"]}
    ]


def test_what_must_be_done_before_days_without_work() -> None:
    first, last = date(2026, 7, 13), date(2026, 7, 26)
    trip = Trip(first, last, "away", (Ahead("diary", "", SlotRef(DAY, "sun"), 90),), 90, 150)
    told = contract.work(WorkPlan((), None, None, (), (), ahead=(trip,)))
    assert told["before_days_without_work"] == [
        {
            "first": "2026-07-13",
            "last": "2026-07-26",
            "reason": "away",
            "hours": 1.5,
            "spare_hours": 2.5,
            "items": [
                {"episode": None, "title": "diary", "slot": {"day": DAY.isoformat(), "rule": "sun"}, "hours": 1.5}
            ],
        }
    ]


RATE = SlipRate(0.12345678, 0.01234567, 0.98765432, 9, 327, 3, 35, False)
OCTOBER, NOVEMBER = date(2026, 10, 18), date(2026, 11, 29)


def test_a_run_out() -> None:
    found = RunOut(
        series="hour",
        pieces_left=(6, 8),
        studies_left=(5, 7),
        end=((OCTOBER, 0.25), (NOVEMBER, 1.23456789012e-07)),
        beyond=1e-300,
        horizon_end=date(2028, 8, 27),
        dates=Dates.KEPT,
        quantiles=(OCTOBER, NOVEMBER, None),
        slip_rate=RATE,
        slip_rates_by_series=(("brim", replace(RATE, given=True)),),
        late_risks=(LateRisk("apron", "Apron", 2 / 3),),
        warns=True,
        warnings=(Warning("run-out", "It runs out."),),
        doubts=(
            Doubt(
                piece="7",
                name="Collar",
                chance_unshown=Fraction(1, 3),
                narrows_days=21.123456,
                narrows_pieces=1,
                text="Was it shown?",
                if_shown=Settled((6, 7), (5, 6), (OCTOBER, OCTOBER, None)),
                if_unshown=Settled((7, 8), (6, 7), (None, None, None)),
            ),
        ),
        bank=(BankCover("sun", "feature", 2, DAY), BankCover("wed", "diary", 9, None)),
        past=(),
        now=FanStep(DAY, 6, 7, 8),
        fan=(),
        statement="Six to eight are left.",
        stale=OCTOBER,
    )
    rate = {
        "mean": 0.123457,
        "low": 0.012346,
        "high": 0.987654,
        "late": 9,
        "recorded": 327,
        "own_late": 3,
        "own_recorded": 35,
        "given": False,
        "text": rate_words(RATE),
    }
    given = {**rate, "late": 3, "recorded": 35, "given": True, "text": rate_words(replace(RATE, given=True))}
    assert contract.runout(found) == {
        "series": "hour",
        "pieces_left": [6, 8],
        "studies_left": [5, 7],
        "end": [
            {"date": "2026-10-18", "probability": 0.25},
            {"date": "2026-11-29", "probability": 1.23456789e-07},  # nine digits: a small chance never reads as none
        ],
        "beyond": 1e-300,
        "horizon_end": "2028-08-27",
        "dates": "kept",
        "quantiles": {"10": "2026-10-18", "50": "2026-11-29", "90": None},
        "slip_rate": rate,
        "slip_rate_by_series": {"brim": given},
        "late_risks": [{"id": "apron", "title": "Apron", "probability": 0.666666667}],
        "warning_speaks": True,
        "warnings": [{"code": "run-out", "text": "It runs out."}],
        "doubts": [
            {
                "piece": "7",
                "name": "Collar",
                "odds_unshown": 0.3333,
                "narrows_days": 21.1235,
                "narrows_pieces": 1,
                "text": "Was it shown?",
                "if_shown": {
                    "pieces_left": [6, 7],
                    "studies_left": [5, 6],
                    "quantiles": {"10": "2026-10-18", "50": "2026-10-18", "90": None},
                },
                "if_unshown": {
                    "pieces_left": [7, 8],
                    "studies_left": [6, 7],
                    "quantiles": {"10": None, "50": None, "90": None},
                },
            }
        ],
        "bank": [
            {"rule": "sun", "name": "feature", "weeks": 2, "next_gap": "2026-03-22"},
            {"rule": "wed", "name": "diary", "weeks": 9, "next_gap": None},
        ],
        "statement": "Six to eight are left.",
        "statement_stale": OCTOBER.isoformat(),
    }


FACE = Shot("1-face", "1", View.FLAT_FACE, ())
HEM = Shot("1-hem", "1", View.DETAIL, (), feature="hem", where="wearer's left")
BOTH = Shot("1-2-front", "1", View.SIDE_BY_SIDE, (), beside="2", aspect=View.FORM_FRONT)
STEPS = (
    Step("1", Touch.LAY),
    Step("1", shot=FACE, camera=Camera.OVERHEAD),
    Step("2", aside=True),
    Step("1", Touch.DRESS, form=0),
    Step("1", shot=BOTH, camera=Camera.LEVEL),
)
POINT = Point("p1", "1", "The button is gone.", gone=True)


def shoot_plan() -> ShootPlan:
    return ShootPlan(
        studies=("apron",),
        title="Apron",
        pieces=("1", "2"),
        shots=(FACE, HEM, BOTH),
        refused=(Refused("2", View.INSIDE, "It is sealed.", "say it"),),
        points=(POINT, Point("p2", "2", "It is blue.")),
        order=RunOrder(STEPS, touches=2, weighted=3, set_ups=4, states=99),
        set_ups=(SetUp(1, Camera.OVERHEAD, STEPS, Cues(("raking light",), ("they differ",))),),
        gates=(Gate("1", Touch.DRESS, (FACE,), (POINT,)),),
        cautions=(Caution("dust", "Wear a mask.", "a handbook", ("1",), "bare"), Caution("bare", "Bare hands.", "b")),
        fits=(Fit("1", "form A", Padding("chest", Decimal("80.5"), Decimal("6"))), Fit("2", "head stand", None)),
        light=(Light("1", "high", limit=150, used=Fraction(1, 3), lux=100, seconds=5400),),
        run_times=(("apron", RunTime(60, 90, 30, 20, Fraction(3, 2), 4)),),
        catalogue_touches=5,
        catalogue_set_ups=6,
        batch=Batch(minutes=200, saved_minutes=30, cap_minutes=240),
        warnings=(Warning("fatigue", "It is long."),),
    )


def test_a_shoot() -> None:
    face = {
        "id": "1-face",
        "piece": "1",
        "view": "flat face",
        "feature": None,
        "where": None,
        "beside": None,
        "aspect": None,
        "required": True,
    }
    both = {**face, "id": "1-2-front", "view": "side by side", "beside": "2", "aspect": "form front"}
    lay = {"piece": "1", "touch": "lay", "form": None}
    dress = {"piece": "1", "touch": "dress", "form": 0}
    told = contract.shoot(shoot_plan())
    assert told == {
        "studies": ["apron"],
        "pieces": ["1", "2"],
        "required_views": 2,
        "details": 1,
        "cameras_for_required_views": ["overhead", "level"],
        "setups": [
            {
                "number": 1,
                "camera": "overhead",
                "cues": ["raking light"],
                "conflicts": ["they differ"],
                "shots": [face, both],
                "steps": [lay, {"shot": "1-face"}, {"aside": "2"}, dress, {"shot": "1-2-front"}],
            }
        ],
        "touches": [lay, dress],
        "run_order": {
            "touches": 2,
            "weighted_touches": 3,
            "set_ups": 4,
            "proven": True,
            "catalogue_touches": 5,
            "catalogue_set_ups": 6,
        },
        "gates": [{"before": "dress", "piece": "1", "shots": [face], "points": ["The button is gone."]}],
        "points": [
            {"id": "p1", "piece": "1", "text": "The button is gone.", "absent_or_altered": True},
            {"id": "p2", "piece": "2", "text": "It is blue.", "absent_or_altered": False},
        ],
        "refused": [{"piece": "2", "view": "inside", "why": "It is sealed.", "instead": "say it"}],
        "cautions": [
            {"id": "dust", "text": "Wear a mask.", "source": "a handbook", "pieces": ["1"], "against": "bare"},
            {"id": "bare", "text": "Bare hands.", "source": "b", "pieces": [], "against": None},
        ],
        "forms": [
            {
                "piece": "1",
                "form": "form A",
                "girth": "chest",
                "form_girth_cm": 80.5,
                "padding_cm": 6,
                "padding_thickness_cm": 1,
            },
            {
                "piece": "2",
                "form": "head stand",
                "girth": None,
                "form_girth_cm": None,
                "padding_cm": None,
                "padding_thickness_cm": None,
            },
        ],
        "light": [
            {
                "piece": "1",
                "class": "high",
                "limit_lux_hours": 150,
                "used_lux_hours": 0.3333,
                "lux": 100,
                "planned_hours": 1.5,  # 5,400 seconds
                "planned_lux_hours": 150,  # 100 lux for 1.5 h
                "exceeds_by_lux_hours": 0.3333,
                "minutes_left": 89,  # 149 2/3 lux hours at 100 lux are 89.8 minutes
            }
        ],
        "run_time_seconds": 300,
        "run_times": [
            {
                "study": "apron",
                "seconds": 300,  # 200 s, times 1.5
                "opening": 60,
                "points": 90,
                "holds": 30,
                "closing": 20,
                "ratio": 1.5,
                "episodes": 4,
            }
        ],
        "batch": {"hours": 3.3333, "saved_hours": 0.5, "together_hours": 2.8333, "cap_hours": 4},
        "warnings": [{"code": "fatigue", "text": "It is long."}],
    }


def test_a_detail_is_told_with_its_feature_and_is_not_required() -> None:
    found = replace(shoot_plan(), gates=(Gate("1", Touch.BOX, (HEM,), ()),))
    assert contract.shoot(found)["gates"][0]["shots"] == [
        {
            "id": "1-hem",
            "piece": "1",
            "view": "detail",
            "feature": "hem",
            "where": "wearer's left",
            "beside": None,
            "aspect": None,
            "required": False,
        }
    ]


def test_what_a_file_would_do() -> None:
    book = Book("k")
    found = Intake(
        name="pieces.csv",
        kind=Kind.PIECES,
        before=book,
        after=book,
        rows=(
            Row(
                2,
                "",
                "Fan",
                Verdict.NEW,
                "a fan",
                doubts=(Remark("made", "1868?", "perhaps 1868"),),
                pieces=("9",),
                guesses=(Guess("9", 80, "the name"),),
            ),
            Row(3, "4", "Boa", Verdict.REFUSED, faults=(Remark("", "x", "it cannot be", "write y"),)),
        ),
        columns=(Column("Made", "made", How.WORDING), Column("Shade", "", How.ASIDE, "is it the colour?")),
        notes=("Days come first.",),
        questions=(Question.CROSS,),
        faults=("No.",),
        pieces_left=("8",),
    )
    told = contract.incoming(found, written=False)
    assert told == {
        "file": "pieces.csv",
        "kind": "pieces",
        "unit": "line",
        "written": False,
        "columns": [
            {"name": "Made", "field": "made", "how": "by its wording", "hint": None},
            {"name": "Shade", "field": None, "how": "left aside", "hint": "is it the colour?"},
        ],
        "rows": [
            {
                "line": 2,
                "id": None,
                "name": "Fan",
                "verdict": "new",
                "said": "a fan",
                "doubts": [{"column": "made", "cell": "1868?", "reason": "perhaps 1868", "way_out": None}],
                "faults": [],
                "pieces": ["9"],
                "likely": [{"piece": "9", "chance": 80, "why": "the name"}],
            },
            {
                "line": 3,
                "id": "4",
                "name": "Boa",
                "verdict": "refused",
                "said": "",
                "doubts": [],
                "faults": [{"column": None, "cell": "x", "reason": "it cannot be", "way_out": "write y"}],
                "pieces": [],
                "likely": [],
            },
        ],
        "refused": ["No.", "Line 3, 'x': it cannot be; write y."],
        "notes": ["Days come first."],
        "questions": ["cross"],
        "pieces_left": ["8"],
    }
    assert contract.incoming(found, written=True)["written"] is True


def test_instants_are_told_in_utc() -> None:
    placed = replace(PLACED, slot=Slot("sun", DAY, datetime(2026, 3, 22, 9, 30, 5, tzinfo=UTC)))
    assert contract.plan(replace(PLAN, studies=(placed,)))["studies"][0]["slot_start"] == "2026-03-22T09:30:05Z"
