"""What can be done to a book: pure functions from a book to a changed book.

Each one checks first and raises a ShowrunnerError with nothing changed; none of them breaks
a promise that could be kept before. The record of publications only ever grows.
"""

from showrunner.domain.edits.kinds import say_kind
from showrunner.domain.edits.packaging import put_package
from showrunner.domain.edits.pieces import add_claim, mark_shown, put_piece, remove_piece, take_out
from showrunner.domain.edits.pins import pin_date, pin_order, pin_pair, say_reason, unpin
from showrunner.domain.edits.record import miss, publish, record_publication, say_link
from showrunner.domain.edits.settling import settle
from showrunner.domain.edits.shooting import (
    add_exposure,
    begin_shoot,
    close_shoot,
    discover,
    log,
    write_condition,
)
from showrunner.domain.edits.slots import Placement, place_all, set_slot
from showrunner.domain.edits.studies import (
    add_filler,
    make_study,
    pair_studies,
    put_episode,
    remove_study,
    split_study,
)
from showrunner.domain.edits.wants import set_status
from showrunner.domain.edits.working import put_work, put_work_for_slot, take_work_back
from showrunner.domain.edits.workroom import (
    add_slot,
    change_rule_from,
    leave_out,
    put_box,
    put_collection,
    put_dark,
    put_house,
    put_rule,
    put_series,
    put_supporter,
    remove_box,
    remove_busy,
    remove_collection,
    remove_dark,
    remove_rule,
    remove_series,
    remove_supporter,
)

__all__ = [
    "Placement",
    "add_claim",
    "add_exposure",
    "add_filler",
    "add_slot",
    "begin_shoot",
    "change_rule_from",
    "close_shoot",
    "discover",
    "leave_out",
    "log",
    "make_study",
    "mark_shown",
    "miss",
    "pair_studies",
    "pin_date",
    "pin_order",
    "pin_pair",
    "place_all",
    "publish",
    "put_box",
    "put_collection",
    "put_dark",
    "put_episode",
    "put_house",
    "put_package",
    "put_piece",
    "put_rule",
    "put_series",
    "put_supporter",
    "put_work",
    "put_work_for_slot",
    "record_publication",
    "remove_box",
    "remove_busy",
    "remove_collection",
    "remove_dark",
    "remove_piece",
    "remove_rule",
    "remove_series",
    "remove_study",
    "remove_supporter",
    "say_kind",
    "say_link",
    "say_reason",
    "set_slot",
    "set_status",
    "settle",
    "split_study",
    "take_out",
    "take_work_back",
    "unpin",
    "write_condition",
]
