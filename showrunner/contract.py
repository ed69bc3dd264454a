"""The JSON of the commands: a contract that scripts may rely on. Keys may be added, never renamed."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from showrunner.domain.slot import SlotRef
from showrunner.planning.changes import (
    AllowSlot,
    Change,
    LookFurther,
    LowerGap,
    MoreHours,
    PublishInDark,
    Unpin,
    WidenWindow,
)
from showrunner.planning.money import fits_beside, wants_of
from showrunner.planning.slot_record import Outcome
from showrunner.report import ASSUMED, held_words, rate_words
from showrunner.supposing import WhatIf
from showrunner.what_if_kinds import Kind
from showrunner.whatif import pair_text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from showrunner.domain.book import Book
    from showrunner.domain.episode import Episode
    from showrunner.domain.piece import Piece, Want
    from showrunner.domain.shoot import LogLine
    from showrunner.ical.pushing import Step as PushStep
    from showrunner.intake.findings import Intake, Remark, Row
    from showrunner.planning.backtest import Backtest
    from showrunner.planning.handover import Feed, Handover
    from showrunner.planning.money import Purse
    from showrunner.planning.pairing import Compared, Pairing
    from showrunner.planning.results import (
        BankCover,
        Placed,
        Plan,
        Price,
        RunOut,
        Settled,
        SlipRate,
        Warning,
        WayOut,
        WorkPlan,
    )
    from showrunner.planning.run_order import Step
    from showrunner.planning.shoot_plan import SetUp, ShootPlan
    from showrunner.planning.shots import Shot
    from showrunner.planning.slot_record import Gap, Run, SlotRecord
    from showrunner.planning.space import BoxRoom, Space
    from showrunner.whatif import Outlook

Json = dict[str, Any]


def _number(value: Fraction | int | float) -> int | float:
    """A whole number as such, any other rounded to four decimals."""
    return int(value) if value == int(value) else round(float(value), 4)


def _chance(value: float) -> float:
    """A probability to nine significant digits, so that a small one never reads as none."""
    return float(f"{value:.9g}")


def _hours(minutes: int) -> int | float:
    return _number(Fraction(minutes, 60))


def _day(value: date | None) -> str | None:
    return value.isoformat() if value else None


def _instant(value: datetime) -> str:
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _slot(value: SlotRef | None) -> Json | None:
    return {"day": value.day.isoformat(), "rule": value.rule} if value else None


def warnings(found: tuple[Warning, ...]) -> list[Json]:
    """Warnings as code and text."""
    return [{"code": item.code, "text": item.text} for item in found]


def plan(found: Plan) -> Json:
    """A plan."""
    return {
        "status": found.status.value,
        "points": _number(found.points),
        "proven_gap": _number(found.proven_gap),
        "missing_gap": found.missing_gap,
        "today": found.today.isoformat(),
        "horizon_weeks": found.horizon_weeks,
        "unsure": found.unsure.value,
        "replan": found.aim.keep,
        "even": found.aim.even,
        "stands": found.stands,
        "breaks_rules": found.breaks_rules,
        "offer": found.offer
        and {"moves": found.offer.moves, "more": found.offer.more, "points": _number(found.offer.points)},
        "studies": [_placed(item) for item in found.studies],
        "unplaced": [
            {
                "id": item.id,
                "title": item.title,
                "series": item.series,
                "pieces": list(item.pieces),
                "reason": item.reason,
                "short_by": item.short_by,
                "short_hours": None if item.short_minutes is None else _hours(item.short_minutes),
                "way_out": item.way_out,
                "ways_out": [_way_out(way) for way in item.ways_out],
            }
            for item in found.unplaced
        ],
        "promises": {"made": found.promises_made, "kept": found.promises_kept},
        "clashes": [
            {
                "text": clash.text,
                "parties": list(clash.parties),
                "members": [{"kind": member.rule.value, "id": member.id} for member in clash.members],
                "missing_hours": None if clash.missing_minutes is None else _hours(clash.missing_minutes),
            }
            for clash in found.clashes
        ],
        "unsure_left_out": list(found.left_out),
        "warnings": warnings(found.warnings),
        "solver_seconds": round(found.solver_seconds, 4),
    }


def _placed(item: Placed) -> Json:
    return {
        "id": item.id,
        "title": item.title,
        "series": item.series,
        "pieces": list(item.pieces),
        "slot": item.slot.day.isoformat(),
        "slot_rule": item.slot.rule,
        "slot_start": _instant(item.slot.start),
        "gap_weeks": None if item.gap_days is None else _number(Fraction(item.gap_days, 7)),
        "hours_needed": _hours(item.minutes_needed),
        "hours_available": _hours(item.minutes_available),
        "reason": item.reason,
        "moved_from": _day(item.moved_from.day if item.moved_from else None),
        "pinned": item.pinned,
        "implied": item.implied,
        "one_slot_earlier": _price(item.earlier),
        "one_slot_later": _price(item.later),
    }


def _price(price: Price | None) -> Json | None:
    if price is None:
        return None
    return {
        "slot": price.slot.day.isoformat(),
        "possible": price.possible,
        "points": _number(price.points) if price.possible else None,
        "short_hours": None if price.short_minutes is None else _hours(price.short_minutes),
        "text": price.text,
    }


def _way_out(way: WayOut) -> Json:
    return {"text": way.text, "airs": way.airs.isoformat(), "changes": [_change(change) for change in way.changes]}


def _change(change: Change) -> Json:
    """A change as its kind and the values to be entered."""
    match change:
        case MoreHours(minutes, by):
            return {"kind": "hours", "minutes": minutes, "by": by.isoformat()}
        case LookFurther(weeks):
            return {"kind": "horizon", "weeks": weeks}
        case WidenWindow(study, window, first, last):
            edges = {"first": first.isoformat(), "last": last.isoformat()}
            return {"kind": "window", "episode": study, "window": window, **edges}
        case LowerGap(series, weeks):
            return {"kind": "gap", "series": series, "weeks": weeks}
        case AllowSlot(series, rule):
            return {"kind": "rule", "series": series, "rule": rule}
        case PublishInDark(dark):
            return {"kind": "dark", "id": dark}
        case Unpin(pin):
            return {"kind": "unpin", "pin": pin}


def slot_record(found: SlotRecord) -> Json:
    """How the slots were kept, the pace of each series, and what could fill the next slots."""
    return {
        "rules": [
            {
                "rule": rule.rule,
                "name": rule.name,
                "counts": {outcome.value.replace(" ", "_"): rule.count(outcome) for outcome in Outcome},
                "run": _run(rule.run),
                "longest_run": _run(rule.longest),
                "longest_gap": rule.gap and _gap(rule.gap),
                "slots": [
                    {
                        "day": slot.slot.day.isoformat(),
                        "outcome": slot.outcome.value,
                        "titles": list(slot.titles),
                        "late_days": slot.late_days,
                    }
                    for slot in rule.slots
                ],
            }
            for rule in found.rules
        ],
        "paces": [
            {
                "series": pace.series,
                "gaps": [_gap(gap) for gap in pace.gaps],
                "without_day": pace.vague,
                "mean_days": None if pace.mean is None else float(pace.mean),
                "low_days": None if pace.mean is None else float(pace.low),
                "high_days": None if pace.mean is None else float(pace.high),
                "most_change_days": None if pace.mean is None else float(pace.most_change),
                "signals": [{"sign": one.sign.value, "gap": one.at} for one in pace.signals],
                "changed": bool(pace.changed_lately),
            }
            for pace in found.paces
        ],
        "bank": _bank(found.bank),
        "empty_slots": [{"slot": _slot(one.slot), "offer": one.offer and _idea(one.offer)} for one in found.empty],
        "pool": [_idea(one) for one in found.pool],
    }


def _bank(found: Sequence[BankCover]) -> list[Json]:
    return [
        {"rule": bank.rule, "name": bank.name, "weeks": bank.weeks, "next_gap": _day(bank.next_gap)} for bank in found
    ]


def _run(run: Run) -> Json:
    return {"slots": run.slots, "first": _day(run.first), "last": _day(run.last)}


def _gap(gap: Gap) -> Json:
    return {"days": gap.days, "first": gap.first.isoformat(), "last": gap.last.isoformat()}


def _idea(one: Episode) -> Json:
    return {
        "episode": one.id,
        "title": one.title,
        "rule": one.rule or None,
        "finished": one.finished,
        "idea_of": one.idea_of or None,
    }


def work(found: WorkPlan) -> Json:
    """Dated work."""
    return {
        "tasks": [
            {
                "day": task.day.isoformat(),
                "hours": _hours(task.minutes),
                "title": task.title,
                "episode": task.episode or None,
                "stage": task.stage.value if task.stage else None,
                "slot": _slot(task.slot),
                "ready_by": task.ready_by.isoformat(),
            }
            for task in found.tasks
        ],
        "slack_hours": None if found.slack_minutes is None else _hours(found.slack_minutes),
        "slack_day": _day(found.slack_day),
        "before_days_without_work": [
            {
                "first": trip.first.isoformat(),
                "last": trip.last.isoformat(),
                "reason": trip.reason,
                "hours": _hours(trip.minutes),
                "spare_hours": _hours(trip.spare_minutes),
                "items": [
                    {
                        "episode": item.episode or None,
                        "title": item.title,
                        "slot": _slot(item.slot),
                        "hours": _hours(item.minutes),
                    }
                    for item in trip.items
                ],
            }
            for trip in found.ahead
        ],
        "busy": [
            {
                "day": busy.day.isoformat(),
                "busy_hours": _hours(busy.minutes),
                "left_hours": _hours(busy.left),
                "reasons": list(busy.reasons),
            }
            for busy in found.busy
        ],
        "pickups": [
            {
                "day": _day(pickups.day),
                "box": pickups.box or None,
                "with_shoot": pickups.with_shoot or None,
                "episode": pickups.study or None,
                "title": pickups.title or None,
                "ready_by": _day(pickups.ready_by),
                "lines": [_pickup(line) for line in pickups.lines],
            }
            for pickups in found.pickups
        ],
        "shortfalls": [
            {
                "title": item.title,
                "episode": item.episode or None,
                "slot": _slot(item.slot),
                "hours": _hours(item.minutes),
                "first_fit": _slot(item.first_fit),
                "lack": item.lack.value,
                "text": item.text,
            }
            for item in found.shortfalls
        ],
        "warnings": warnings(found.warnings),
    }


def runout(found: RunOut) -> Json:
    """A run-out."""
    return {
        "series": found.series,
        "pieces_left": list(found.pieces_left),
        "studies_left": list(found.studies_left),
        "end": [{"date": day.isoformat(), "probability": _chance(chance)} for day, chance in found.end],
        "beyond": _chance(found.beyond),
        "horizon_end": found.horizon_end.isoformat(),
        "dates": found.dates.value,
        "quantiles": _quantiles(found.quantiles),
        "slip_rate": _rate(found.slip_rate),
        "slip_rate_by_series": {
            series: {**_rate(rate), "late": rate.own_late, "recorded": rate.own_recorded}
            for series, rate in found.slip_rates_by_series
        },
        "late_risks": [
            {"id": risk.id, "title": risk.title, "probability": _chance(risk.chance)} for risk in found.late_risks
        ],
        "warning_speaks": found.warns,
        "warnings": warnings(found.warnings),
        "doubts": [
            {
                "piece": doubt.piece,
                "name": doubt.name,
                "odds_unshown": _number(doubt.chance_unshown),
                "narrows_days": round(doubt.narrows_days, 4),
                "narrows_pieces": doubt.narrows_pieces,
                "text": doubt.text,
                "if_shown": _settled(doubt.if_shown),
                "if_unshown": _settled(doubt.if_unshown),
            }
            for doubt in found.doubts
        ],
        "bank": _bank(found.bank),
        "statement": found.statement,
        "statement_stale": found.stale.isoformat(),
    }


def backtests(found: Sequence[Backtest]) -> Json:
    """The forecast held against the record, on each basis."""
    return {
        "series": found[0].series,
        "studies_ahead": found[0].ahead,
        "text": held_words(found),
        "assumed": list(ASSUMED),
        "backtests": [
            {
                "basis": one.basis.value,
                "held": one.held,
                "months": len(one.looks),
                "quantile_scores": {
                    name: _number(score) for name, score in zip(("10", "50", "90"), one.quantile_scores, strict=True)
                },
                "winkler": _number(one.winkler),
                "crps": _number(one.crps),
                "looks": [
                    {
                        "month": look.day.isoformat(),
                        "quantiles": _quantiles(look.quantiles),
                        "came": look.came.isoformat(),
                        "held": look.held,
                        "crps": _number(look.crps),
                    }
                    for look in one.looks
                ],
            }
            for one in found
        ],
    }


def pairs(series: str, found: Sequence[tuple[Pairing, RunOut | None]]) -> Json:
    """Pieces that could be one study, with the forecast if they were; null if that is refused."""
    return {
        "series": series,
        "pairs": [
            {
                "pieces": list(pair.pieces),
                "names": list(pair.names),
                "what_if": pair_text(pair),
                "alike": [_compared(one) for one in pair.alike],
                "differs": [_compared(one) for one in pair.differs],
                "studies_left": list(then.studies_left) if then else None,
                "quantiles": _quantiles(then.quantiles) if then else None,
            }
            for pair, then in found
        ],
    }


def _compared(one: Compared) -> Json:
    return {
        "aspect": one.aspect.value,
        "first": one.first,
        "second": one.second,
        "measure": one.measure or None,
        "apart": None if one.apart is None else float(one.apart),
        "unit": one.unit or None,
        "shared": list(one.shared),
    }


def what_ifs(found: Outlook, *, written: bool) -> Json:
    """What-ifs, to stand beside the present run-out: each alone, and all together."""
    supposed = found.supposed
    return {
        "what_ifs": [
            {"what_if": alone.what_if.words, "spacing": _spacing(alone.what_if), **runout(alone.forecast)}
            for alone in found.each
        ],
        "together": {
            "what_if": supposed.words,
            "spacing": next((gaps for what_if in supposed.what_ifs if (gaps := _spacing(what_if))), None),
            **runout(found.together),
            "plan": plan(found.plan),
            "handover": handover(found.taking_over) if found.taking_over else None,
        },
        "planned_anew": runout(found.anew) if found.anew else None,
        "written": written,
    }


def _spacing(what_if: WhatIf) -> Json | None:
    """The gaps it would give its series, also where they were solved for."""
    if what_if.kind not in (Kind.SPACING, Kind.LAST_UNTIL):
        return None
    least, wished, most = map(int, what_if.numbers)
    return {"min_weeks": least, "target_weeks": wished, "max_weeks": most}


def _quantiles(days: tuple[date | None, date | None, date | None]) -> Json:
    return {name: _day(day) for name, day in zip(("10", "50", "90"), days, strict=True)}


def _settled(side: Settled) -> Json:
    return {
        "pieces_left": list(side.pieces_left),
        "studies_left": list(side.studies_left),
        "quantiles": _quantiles(side.quantiles),
    }


def _rate(rate: SlipRate) -> Json:
    return {
        "mean": round(rate.mean, 6),
        "low": round(rate.low, 6),
        "high": round(rate.high, 6),
        "late": rate.late,
        "recorded": rate.recorded,
        "own_late": rate.own_late,
        "own_recorded": rate.own_recorded,
        "given": rate.given,
        "text": rate_words(rate),
    }


def shoot(found: ShootPlan) -> Json:
    """The plan of a shoot."""
    return {
        "studies": list(found.studies),
        "pieces": list(found.pieces),
        "required_views": len(found.required),
        "details": len(found.shots) - len(found.required),
        "cameras_for_required_views": [camera.value for camera in found.cameras],
        "setups": [_set_up(item) for item in found.set_ups],
        "touches": [_touch(step) for step in found.order.steps if step.touch],
        "run_order": {
            "touches": found.order.touches,
            "weighted_touches": found.order.weighted,
            "set_ups": found.order.set_ups,
            "proven": True,
            "catalogue_touches": found.catalogue_touches,
            "catalogue_set_ups": found.catalogue_set_ups,
        },
        "gates": [
            {
                "before": gate.touch.value,
                "piece": gate.piece,
                "shots": [_shot(shot) for shot in gate.shots],
                "points": [point.text for point in gate.points],
            }
            for gate in found.gates
        ],
        "points": [
            {"id": point.id, "piece": point.piece, "text": point.text, "absent_or_altered": point.gone}
            for point in found.points
        ],
        "refused": [
            {"piece": item.piece, "view": item.view.value, "why": item.why, "instead": item.instead}
            for item in found.refused
        ],
        "cautions": [
            {
                "id": item.id,
                "text": item.text,
                "source": item.source,
                "pieces": list(item.pieces),
                "against": item.against or None,
            }
            for item in found.cautions
        ],
        "forms": [
            {
                "piece": fit.piece,
                "form": fit.form,
                "girth": fit.padding.by if fit.padding else None,
                "form_girth_cm": _number(Fraction(fit.padding.form_cm)) if fit.padding else None,
                "padding_cm": _number(Fraction(fit.padding.girth_cm)) if fit.padding else None,
                "padding_thickness_cm": _number(Fraction(fit.padding.thickness_cm)) if fit.padding else None,
            }
            for fit in found.fits
        ],
        "light": [
            {
                "piece": item.piece,
                "class": item.light_class,
                "limit_lux_hours": item.limit,
                "used_lux_hours": _number(item.used),
                "lux": item.lux,
                "planned_hours": _number(Fraction(item.seconds, 3600)),
                "planned_lux_hours": _number(item.planned),
                "exceeds_by_lux_hours": _number(item.exceeds_by),
                "minutes_left": item.minutes_left,
            }
            for item in found.light
        ],
        "run_time_seconds": found.run_seconds,
        "run_times": [
            {
                "study": id,
                "seconds": time.seconds,
                "opening": time.opening,
                "points": time.points,
                "holds": time.holds,
                "closing": time.closing,
                "ratio": _number(time.ratio),
                "episodes": time.episodes,
            }
            for id, time in found.run_times
        ],
        "batch": {
            "hours": _hours(found.batch.minutes),
            "saved_hours": _hours(found.batch.saved_minutes),
            "together_hours": _hours(found.batch.together_minutes),
            "cap_hours": _hours(found.batch.cap_minutes),
        },
        "warnings": warnings(found.warnings),
    }


def _set_up(item: SetUp) -> Json:
    return {
        "number": item.number,
        "camera": item.camera.value,
        "cues": list(item.cues.cues),
        "conflicts": list(item.cues.conflicts),
        "shots": [_shot(shot) for shot in item.shots],
        "steps": [_step(step) for step in item.steps],
    }


def _shot(shot: Shot) -> Json:
    return {
        "id": shot.id,
        "piece": shot.piece,
        "view": shot.view.value,
        "feature": shot.feature or None,
        "where": shot.where or None,
        "beside": shot.beside or None,
        "aspect": shot.aspect.value if shot.aspect else None,
        "required": not shot.is_detail,
    }


def wants(book: Book, found: Purse, next_series: Handover | None, room: Space) -> Json:
    """What is shopped for in a collection, with the handover and the room in the boxes; without warnings."""
    feeds = {feed.piece: feed for feed in next_series.feeds} if next_series else {}
    least = found.least
    return {
        "collection": found.collection,
        "currency": found.currency or None,
        "budget": _amount(found.budget),
        "shelf_cm": _amount(found.shelf_cm),
        "money": _amount(found.money),
        "width_cm": _amount(found.width_cm),
        "over_money": _amount(found.over_money),
        "over_cm": _amount(found.over_cm),
        "by_status": [
            {
                "status": tally.status.value,
                "count": tally.count,
                "ceiling": _amount(tally.ceiling),
                "paid": _amount(tally.paid),
                "carriage": _amount(tally.carriage),
                "counts": _amount(tally.counts),
                "width_cm": _amount(tally.width_cm),
            }
            for tally in found.tallies
        ],
        "refusals": least
        and {"pieces": list(least.pieces), "money": _amount(least.value), "width_cm": _amount(least.width_cm)},
        "single_refusal": found.single,
        "wants": [_want(piece, want, found, feeds.get(piece.id)) for piece, want in wants_of(book, found.collection)],
        "handover": next_series and handover(next_series),
        "boxes": [_box(box) for box in room.boxes],
        "refold": [{"box": box, "due": due.isoformat()} for box, due in room.refold],
        "reorder": [
            {"name": s.name, "on_hand": s.on_hand, "reorder_at": s.reorder_at, "counted": _day(s.counted)}
            for s in room.reorder
        ],
    }


def _amount(value: Decimal | None) -> int | float | None:
    """An amount as a number: whole, or with the decimals it has."""
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def _want(piece: Piece, want: Want, found: Purse, feed: Feed | None) -> Json:
    cost, beside = found.cost_of(piece.id), fits_beside(found, piece.id)
    return {
        "id": piece.id,
        "name": piece.name,
        "status": want.status.value,
        "history": [{"status": step.status.value, "day": step.day.isoformat()} for step in want.history],
        "ceiling": _amount(want.ceiling),
        "paid": _amount(want.paid),
        "carriage": _amount(want.carriage),
        "currency": want.currency or found.currency or None,
        "rate": want.rate and {"value": _amount(want.rate.value), "day": want.rate.day.isoformat()},
        "counts": _amount(cost.money),
        "width_cm": _amount(want.width_cm),
        "expected": want.expected and want.expected.text,
        "condition_wanted": want.condition or None,
        "preparation_hours": _hours(want.preparation_minutes),
        "ready": _day(feed.ready if feed else None),
        "first_study": _slot(feed.slot if feed else None),
        "opens": bool(feed and feed.opens),
        "if_bought": {
            "money_left": _amount(beside.money_left),
            "cm_left": _amount(beside.cm_left),
            "fits": list(beside.fits),
            "refused": list(beside.refused),
        },
    }


def handover(found: Handover) -> Json:
    """When the next series can take over."""
    opening = found.opening
    stocks = (("by_opening", found.stock), ("ordered", found.stock_ordered), ("wanted", found.stock_wanted))
    return {
        "state": found.state.value,
        "series": found.series or None,
        "after": found.after or None,
        "opens_with": found.opens_with,
        "counted": found.counted,
        "undated": found.undated,
        "overdue": list(found.overdue),
        "opening": opening
        and {
            "slot": _slot(opening.slot),
            "pieces": list(opening.pieces),
            "enough": opening.enough.isoformat(),
            "prepared": opening.prepared.isoformat(),
            "hours": _hours(opening.minutes),
            "hours_needed": _hours(opening.needed),
            "hours_available": _hours(opening.available),
        },
        "silence_weeks": found.silence_weeks,
        "silences": [
            {
                "percent": silence.chance,
                "end": _day(silence.end),
                "days": silence.days,
                "latest": _slot(silence.latest),
                "too_long_days": silence.too_long,
            }
            for silence in found.silences
        ],
        "wished_weeks": found.wished_weeks,
        "stock": {
            name: {"pieces": stock.pieces, "weeks": stock.lasts_weeks, "weeks_apart_for_a_year": stock.weeks_apart}
            for name, stock in stocks
        },
    }


def _box(box: BoxRoom) -> Json:
    return {
        "box": box.box,
        "depth_cm": _amount(box.depth_cm),
        "filled_cm": _amount(box.filled_cm),
        "free_cm": _amount(box.free_cm),
        "over_cm": _amount(box.over_cm),
        "unmeasured": box.unmeasured,
        "weight_kg": _amount(box.weight_kg),
        "most_kg": _amount(box.most_kg),
        "over_kg": _amount(box.over_kg),
        "unweighed": box.unweighed,
        "layers": [
            {"layer": layer.number, "pieces": list(layer.pieces), "thickness_cm": _amount(layer.thickness_cm)}
            for layer in box.layers
        ],
        "pressed": [{"fragile": p.fragile, "heavy": p.heavy, "kg": _amount(p.kg)} for p in box.pressed],
        "refold_due": _day(box.refold_due),
    }


def incoming(found: Intake, *, written: bool) -> Json:
    """What a file would do to the book."""
    return {
        "file": found.name,
        "kind": found.kind.value,
        "unit": found.unit.value,
        "written": written,
        "columns": [
            {"name": c.name, "field": c.field or None, "how": c.how.value, "hint": c.hint or None}
            for c in found.columns
        ],
        "rows": [_row(row) for row in found.rows],
        "refused": list(found.refused),
        "notes": list(found.notes),
        "questions": [question.value for question in found.questions],
        "pieces_left": list(found.pieces_left),
    }


def _row(row: Row) -> Json:
    return {
        "line": row.line,
        "id": row.id or None,
        "name": row.name,
        "verdict": row.verdict.value,
        "said": row.said,
        "doubts": [_remark(remark) for remark in row.doubts],
        "faults": [_remark(remark) for remark in row.faults],
        "pieces": list(row.pieces),
        "likely": [{"piece": guess.piece, "chance": guess.chance, "why": guess.why} for guess in row.guesses],
    }


def pushed(steps: Sequence[PushStep], place: str, zone: str, *, written: bool) -> Json:
    """What was done in a store of calendar entries, or would be; arguments as `calendars.pushed`."""
    from showrunner.calendars import conflict
    from showrunner.ical.pushing import CONFLICTS, Deed

    counts = Counter(step.deed for step in steps)
    return {
        "place": place,
        "written": written,
        "counts": {deed.value: counts[deed] for deed in Deed},
        "entries": [
            {
                "uid": step.uid,
                "deed": step.deed.value,
                "title": step.summary or None,
                "starts": _start(step.ours),
                "starts_there": _start(step.there),
                "text": conflict(step, zone) if step.deed in CONFLICTS else None,
            }
            for step in steps
        ],
    }


def _start(moment: date | datetime | None) -> str | None:
    """A day, or an instant; one that a calendar tells without a zone stays without."""
    if isinstance(moment, datetime):
        return _instant(moment) if moment.tzinfo else moment.isoformat()
    return _day(moment)


def _remark(remark: Remark) -> Json:
    return {
        "column": remark.column or None,
        "cell": remark.cell,
        "reason": remark.text,
        "way_out": remark.way_out or None,
    }


def _pickup(line: LogLine) -> Json:
    return {
        "id": line.id,
        "piece": line.piece,
        "remedy": line.remedy.value if line.remedy else None,
        "subject": line.subject or None,
        "text": line.text,
    }


def _touch(step: Step) -> Json:
    return {"piece": step.piece, "touch": step.touch.value if step.touch else None, "form": step.form}


def _step(step: Step) -> Json:
    if step.shot:
        return {"shot": step.shot.id}
    return {"aside": step.piece} if step.aside else _touch(step)
