"""What the law says of pieces with parts of protected animals: for the house's own country first, then for others.

One line for each law, as its source has it, and no legal advice. Sources were read as excerpts.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from showrunner.domain.country import Country
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.planning.hazards import WILD_BIRDS, made_of, real
from showrunner.planning.materials import has_phrase

CHECK = "Crossing a border needs CITES papers at any age. Check your local law."
"""What every line on protected animals ends with."""

COUNTRY_WORDS = MappingProxyType({Country.US: "US", Country.GB: "UK", Country.EU: "EU", Country.AU: "Australia"})
"""The countries in words."""

WORKED = "sold without a certificate only if worked before 3 March 1947 and not since, skins only if tanned and lined"


@record
class Protected:
    """A group of animals of which parts may be on a piece."""

    id: str
    """Permanent id."""
    name: str
    """What it is called in a sentence."""
    laws: Mapping[Country, str]
    """What each country's law says."""
    source: str
    """Who says so."""
    words: tuple[str, ...]
    """Words that point to it, in whole words."""
    whole: tuple[str, ...] = ()
    """Materials that are nothing but this word."""

    def text(self, home: Country) -> str:
        """The laws in words, the house's country first."""
        first = [home] if home in self.laws else []
        order = [*first, *(country for country in self.laws if country is not home)]
        told = "; ".join(f"{COUNTRY_WORDS[country]}: {self.laws[country]}" for country in order)
        return f"{self.name}. {told}. {CHECK}"


def _laws(**laws: str) -> Mapping[Country, str]:
    return MappingProxyType({Country[name]: text for name, text in laws.items()})


PROTECTED = (
    Protected(
        "birds",
        "Feathers may be of protected birds",
        _laws(
            US="parts got lawfully before protection may be kept and moved, not bought, sold, bartered, offered, "
            "imported or exported (50 CFR 21.4(a), once 21.2); eagles have rules of their own"
        ),
        "US Federal Register 87 FR 876; the number 21.4(a) from memory",
        WILD_BIRDS,
    ),
    Protected(
        "ivory",
        "Ivory",
        _laws(
            GB="dealing is banned at any age, keeping and giving are not, exemptions must be registered (Ivory Act "
            "2018; since 28 January 2025 also hippopotamus, killer whale, narwhal and sperm whale)",
            EU="sold only with a certificate that it is from before 1947 (2021/C 528/03)",
            US="nearly all trade in African ivory is barred since 6 July 2016 (81 FR 36388)",
            AU="in or out only with a pre-Convention certificate (EPBC Act 1999, part 13A)",
        ),
        "legislation.gov.uk; SI 2025/9; Commission Notice 2021/C 528/03; govinfo.gov 2016-13173; dcceew.gov.au",
        (
            *("elephant ivory", "carved ivory", "ivory button", "ivory handle", "ivory fan", "ivory busk"),
            *("ivory stick", "ivory guard", "ivory comb", "ivory brooch", "ivory ring", "walrus ivory", "narwhal"),
        ),
        ("ivory",),
    ),
    Protected(
        "baleen",
        "Whalebone is baleen",
        _laws(
            GB="the Ivory Act does not reach it, CITES does",
            US="imported only if taken before 21 December 1972, with an affidavit; of endangered whales only if 100 "
            "years old",
        ),
        "SI 2025/9 as reported; NOAA Fisheries, 2008",
        ("baleen", "whalebone", "whale bone"),
    ),
    Protected(
        "tortoiseshell",
        "Tortoiseshell, if it is real, is of protected turtles (CITES Appendix I, from memory)",
        _laws(GB=WORKED, EU="worked and acquired at least 50 years before the rules began, or certified"),
        "gov.uk, worked specimens; Commission Notice 2017/C 154/07; Conservation DistList, 18 April 2014",
        ("tortoiseshell", "turtleshell", "turtle shell", "turtle"),
    ),
    Protected(
        "listed-fur",
        "Fur of spotted cats and monkeys is protected (monkeys on CITES Appendix I or II, from memory)",
        _laws(GB=WORKED, EU="worked and acquired at least 50 years before the rules began, or certified"),
        "gov.uk, worked specimens; Commission Notice 2017/C 154/07",
        ("leopard", "ocelot", "jaguar", "cheetah", "tiger", "monkey", "colobus", "lynx"),
    ),
    Protected(
        "seal",
        "Seal, sea lion and walrus",
        _laws(
            GB="sold only from an indigenous hunt with its attestation; what was on the market before 20 August 2010 "
            "is not affected",
            EU="as in the UK (Regulation 1007/2009)",
            US="no import since 1972 (from memory)",
        ),
        "UK policy paper, 21 May 2024; Regulation (EC) 1007/2009",
        ("sealskin", "seal fur", "sea lion", "walrus"),
        ("seal",),
    ),
)
"""Every group, each with its laws."""


def protected_in(piece: Piece) -> tuple[Protected, ...]:
    """The protected animals of which parts may be on a piece."""
    texts = real(made_of(piece))
    return tuple(
        group
        for group in PROTECTED
        if any(has_phrase(text, group.words) for text in texts)
        or any(material.strip().lower() in group.whole for material in piece.materials)
    )
