"""Dates in German, French, Italian, Spanish and Dutch, in the English words that `written_dates` reads.

Each language is a table: for an English word what people write. Accents do not count, and centuries may be in Roman
numerals. Words of doubt (`um`, `vers`, `forse`) are no matter of this: they are with the date (`domain.fuzzydate`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache

_MONTHS = "january february march april may june july august september october november december".split()  # noqa: SIM905

_GERMAN = {
    "": "im; in; die; der; das; des; den; dem; zum; am; jahr; jahre; jahren; jahres",
    "before": "vor",
    "after": "nach; ab; seit",
    "until": "bis",
    "no later than": "spätestens",
    "no earlier than": "frühestens",
    "between": "zwischen",
    "and": "und",
    "or": "oder",
    "from": "von; vom",
    "early": "anfang; beginn; frühes; frühe",
    "mid": "mitte",
    "late": "ende; spätes; späte",
    "first half": "1. hälfte; erste hälfte",
    "second half": "2. hälfte; zweite hälfte",
    "first quarter": "1. viertel",
    "second quarter": "2. viertel",
    "third quarter": "3. viertel",
    "last quarter": "4. viertel; letztes viertel",
    "century": "jahrhundert; jahrhunderts; jh; jhdt",
    "spring": "frühling; frühjahr",
    "summer": "sommer",
    "autumn": "herbst",
    "unknown": "unbekannt; ohne datum",
}
_FRENCH = {
    "": "en; dans; les; le; la; l'; du; des; de; an; année; au",
    "before": "avant",
    "after": "après; depuis; à partir de; à partir du",
    "until": "jusqu'en; jusqu'à; jusqu'au",
    "no later than": "au plus tard",
    "no earlier than": "au plus tôt",
    "between": "entre",
    "and": "et",
    "or": "ou",
    "–": "à",
    "early": "début",
    "mid": "milieu; mi",
    "late": "fin; à la fin",
    "first half": "1re moitié; première moitié",
    "second half": "2e moitié; seconde moitié; deuxième moitié",
    "first quarter": "1er quart; premier quart",
    "second quarter": "2e quart",
    "third quarter": "3e quart",
    "last quarter": "4e quart; dernier quart",
    "century": "siècle; s",
    "spring": "printemps",
    "summer": "été",
    "autumn": "automne",
    "winter": "hiver",
    "unknown": "inconnu; inconnue; sans date",
}
_ITALIAN = {
    "": "nel; nell'; nella; negli; in; il; la; l'; gli; del; dell'; della; degli; di; anno",
    "before": "prima del; prima di",
    "after": "dopo",
    "until": "fino al; entro",
    "between": "tra; fra",
    "and": "e",
    "or": "o; oppure",
    "from": "dal",
    "–": "al; a",
    "early": "inizio; inizi; primi",
    "mid": "metà",
    "late": "fine; alla fine; tardo",
    "first half": "prima metà",
    "second half": "seconda metà",
    "first quarter": "primo quarto",
    "last quarter": "ultimo quarto",
    "century": "secolo; sec",
    "18th century": "settecento",
    "19th century": "ottocento",
    "20th century": "novecento",
    "spring": "primavera",
    "summer": "estate",
    "autumn": "autunno",
    "winter": "inverno",
    "unknown": "sconosciuto; senza data",
}
_SPANISH = {
    "": "en; el; la; los; del; de; año",
    "before": "antes",
    "after": "después; desde; a partir",
    "until": "hasta",
    "between": "entre",
    "and": "y",
    "or": "o",
    "–": "a; al",
    "early": "principios; comienzos; a principios; a comienzos",
    "mid": "mediados; a mediados",
    "late": "finales; fines; a finales; a fines",
    "first half": "primera mitad",
    "second half": "segunda mitad",
    "first quarter": "primer cuarto",
    "last quarter": "último cuarto",
    "century": "siglo",
    "spring": "primavera",
    "summer": "verano",
    "autumn": "otoño",
    "winter": "invierno",
    "unknown": "desconocido; sin fecha",
}
_DUTCH = {
    "": "in; het; de; jaar",
    "before": "voor; vóór",
    "after": "na; sinds; vanaf",
    "until": "tot; tot en met",
    "between": "tussen",
    "and": "en",
    "or": "of",
    "from": "van",
    "early": "begin; begin van",
    "mid": "midden",
    "late": "eind; einde; eind van",
    "first half": "eerste helft",
    "second half": "tweede helft",
    "first quarter": "eerste kwart",
    "last quarter": "laatste kwart",
    "century": "eeuw",
    "spring": "lente; voorjaar",
    "summer": "zomer",
    "autumn": "herfst; najaar",
    "unknown": "onbekend; zonder datum",
}
_MONTHS_IN = (
    (
        _GERMAN,
        "januar jänner; februar; märz; april; mai; juni; juli; august; september; oktober okt; november; dezember dez",
    ),
    (
        _FRENCH,
        "janvier janv; février févr; mars; avril avr; mai; juin; juillet juil; août; septembre; octobre; "
        "novembre; décembre déc",
    ),
    (
        _ITALIAN,
        "gennaio gen; febbraio; marzo; aprile; maggio mag; giugno giu; luglio lug; "
        "agosto ago; settembre set; ottobre ott; novembre; dicembre dic",
    ),
    (
        _SPANISH,
        "enero ene; febrero; marzo; abril abr; mayo; junio; julio; agosto ago; septiembre set; "
        "octubre; noviembre; diciembre dic",
    ),
    (
        _DUTCH,
        "januari; februari; maart mrt; april; mei; juni; juli; augustus; september; oktober okt; november; december",
    ),
)

_ROMAN = re.compile(r"\bx(v|vi|vii|viii|ix|x|xi)(?=(?:e|eme|o)?\b)")
_CENTURIES = {"v": "15", "vi": "16", "vii": "17", "viii": "18", "ix": "19", "x": "20", "xi": "21"}
_FORMS = (
    (re.compile(r"\b([1-9][0-9]{2}0)ern?\b"), r"\1s"),
    (re.compile(r"\b(?:annees|anni|anos|decada(?: de)?|jaren) ('?[0-9]0|[1-9][0-9]{2}0)\b"), r"\1s"),
    (re.compile(r"\bcentury ([0-9]{1,2})\b"), r"\1th century"),
    (re.compile(r"\b([0-9]{1,2})(?:e|er|eme|de|ste|o|\.)?(?= ?century\b)"), r"\1th"),
    (re.compile(r"\b([0-9]{1,2})(?:e|er|o|°)(?= [a-z]+ [0-9]{4}$)"), r"\1"),
)
"""Forms with a number in them, once the words stand in English."""


def in_english(text: str) -> Iterator[str]:
    """Each way to read a date, in small letters, as one of the languages: word for word in English."""
    folded = _ROMAN.sub(lambda found: _CENTURIES[found[1]], _folded(text))
    for words, pattern in _tables():
        said = " ".join(pattern.sub(lambda found, words=words: words[found[0]], folded).split())  # type: ignore[misc]
        for form, english in _FORMS:
            said = form.sub(english, said)
        if said != text:
            yield said


def _folded(text: str) -> str:
    """A text without accents, and with a space after an apostrophe between letters."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return re.sub("(?<=[a-z])'(?=[a-z0-9])", "' ", plain)


@cache
def _tables() -> tuple[tuple[Mapping[str, str], re.Pattern[str]], ...]:
    """For each language what its words are in English, and the pattern that finds them, the longest first."""
    found = []
    for table, months in _MONTHS_IN:
        words = {_folded(said): english for english, those in table.items() for said in those.split("; ")}
        for english, those in zip(_MONTHS, months.split("; "), strict=True):
            words |= dict.fromkeys(_folded(those).split(), english)
        longest_first = "|".join(map(re.escape, sorted(words, key=len, reverse=True)))
        found.append((words, re.compile(rf"(?<![a-z0-9])(?:{longest_first})(?![a-z0-9])")))
    return tuple(found)
