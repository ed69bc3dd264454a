"""Dates as people write them in German, French, Italian, Spanish and Dutch; none firmer than what was written."""

import re

import pytest

from showrunner.errors import BadInput
from showrunner.storage.date_languages import in_english
from showrunner.storage.edtf_text import parse_made
from showrunner.storage.written_dates import read_written


def edtf(text: str) -> str:
    known = read_written(text).date
    assert known is not None
    return known.text


@pytest.mark.parametrize(
    ("means", "written"),
    [
        ("1890~", "um 1890; ca. 1890; etwa 1890; gegen 1890; vers 1890; environ 1890; verso il 1890; hacia 1890; "
         "intorno al 1890; alrededor de 1890; omstreeks 1890; rond 1890; ongeveer 1890; aprox. 1890"),
        ("1890?", "vermutlich 1890; wohl 1890; peut-être 1890; forse 1890; quizás 1890; misschien 1890; "
         "1890 (unsicher)"),
        ("1890%", "vielleicht um 1890; peut-être vers 1890"),
        ("189X", "1890er; 1890er Jahre; in den 1890ern; années 1890; les années 1890; anni 1890; los años 1890; "
         "jaren 1890"),
        ("18XX", "19. Jh.; 19. Jahrhundert; im 19.Jh; XIXe siècle; XIXème siècle; 19e siècle; XIX secolo; sec. XIX; "
         "Ottocento; siglo XIX; 19e eeuw; 19de eeuw"),
        ("[1900..1939]", "Anfang 20. Jh.; Anfang des 20. Jahrhunderts; frühes 20. Jh.; début XXe siècle; "
         "au début du XXe siècle; inizio Novecento; inizio del XX secolo; principios del siglo XX; begin 20e eeuw"),
        ("[1830..1869]", "Mitte 19. Jh.; mi-XIXe siècle; milieu du XIXe siècle; metà Ottocento; "
         "mediados del siglo XIX; "
         "midden 19e eeuw"),
        ("[1860..1899]", "Ende des 19. Jahrhunderts; spätes 19. Jh.; fin XIXe siècle; fin du XIXe siècle; "
         "fine Ottocento; "
         "finales del siglo XIX; eind 19e eeuw"),
        ("[1850..1899]", "2. Hälfte 19. Jh.; zweite Hälfte des 19. Jahrhunderts; seconde moitié du XIXe siècle; "
         "2e moitié XIXe siècle; seconda metà dell'Ottocento; segunda mitad del siglo XIX; tweede helft 19e eeuw"),
        ("[1890..1893]", "Anfang der 1890er Jahre; début des années 1890; inizio anni 1890; primi anni 1890; "
         "principios de los años 1890; begin jaren 1890"),
        ("../1900", "vor 1900; bis 1900; spätestens 1900; avant 1900; jusqu'en 1900; au plus tard en 1900; "
         "prima del 1900; "
         "fino al 1900; antes de 1900; hasta 1900; voor 1900; tot 1900"),
        ("1900/..", "nach 1900; ab 1900; seit 1900; après 1900; depuis 1900; à partir de 1900; dopo il 1900; "
         "dal 1900; "
         "después de 1900; desde 1900; na 1900; vanaf 1900"),
        ("[1890..1911]", "zwischen 1890 und 1911; von 1890 bis 1911; 1890 bis 1911; entre 1890 et 1911; "
         "de 1890 à 1911; "
         "tra il 1890 e il 1911; dal 1890 al 1911; entre 1890 y 1911; de 1890 a 1911; tussen 1890 en 1911; "
         "van 1890 tot 1911"),
        ("[1890,1891]", "1890 oder 1891; 1890 ou 1891; 1890 o 1891; 1890 oppure 1891; 1890 of 1891"),
        ("1890", "im Jahr 1890; im Jahre 1890; en 1890; l'an 1890; nel 1890; año 1890; in het jaar 1890; Ende 1890"),
        ("1911-21", "Frühling 1911; Frühjahr 1911; printemps 1911; primavera 1911; lente 1911; voorjaar 1911"),
        ("1911-24", "Winter 1911; hiver 1911; inverno 1911; invierno 1911"),
        ("2024-03-01", "1. März 2024; 1er mars 2024; 1° marzo 2024; 1 de marzo de 2024; el 1 de marzo de 2024; "
         "1 maart 2024"),
        ("../1911-03-12", "vor dem 12. März 1911; avant le 12 mars 1911; antes del 12 de marzo de 1911"),
        ("[1800..1850]", "1. Hälfte 19. Jhdt.; erste Hälfte des 19. Jahrhunderts; 1re moitié du XIXe s.; "
         "première moitié du "
         "XIXe siècle; prima metà dell'Ottocento; primera mitad del siglo XIX; eerste helft 19e eeuw"),
        ("[1850..1899]", "deuxième moitié du XIXe siècle"),
        ("[1800..1825]", "1. Viertel 19. Jh.; 1er quart du XIXe siècle; premier quart XIXe siècle; "
         "primo quarto Ottocento; "
         "primer cuarto del siglo XIX; eerste kwart 19e eeuw"),
        ("[1825..1850]", "2. Viertel 19. Jh.; 2e quart du XIXe siècle"),
        ("[1850..1875]", "3. Viertel 19. Jh.; 3e quart du XIXe siècle"),
        ("[1875..1899]", "4. Viertel 19. Jh.; letztes Viertel 19. Jh.; 4e quart du XIXe siècle; "
         "dernier quart du XIXe siècle; "
         "ultimo quarto dell'Ottocento; último cuarto del siglo XIX; laatste kwart 19e eeuw"),
        ("17XX", "Settecento; XVIII secolo; siglo XVIII; 18e eeuw"),
        ("[1896..1899]", "späte 1890er; Ende der 1890er; fin des années 1890; tardo anni 1890; "
         "fine degli anni 1890; alla "
         "fine degli anni 1890; finales de los años 1890; a finales de los años 1890; fines de los años 1890; "
         "a fines de "
         "los años 1890; eind jaren 1890; einde jaren 1890; eind van de jaren 1890; à la fin des années 1890"),
        ("[1890..1893]", "Beginn der 1890er; frühe 1890er; inizi anni 1890; comienzos de los años 1890; "
         "a comienzos de los "
         "años 1890; a principios de los años 1890; begin van de jaren 1890"),
        ("[1893..1897]", "a mediados de los años 1890"),
        ("1911-22", "Sommer 1911; été 1911; estate 1911; verano 1911; zomer 1911"),
        ("1911-23", "Herbst 1911; automne 1911; autunno 1911; otoño 1911; herfst 1911; najaar 1911"),
        ("1900/..", "frühestens 1900; à partir du 1900; au plus tôt en 1900; a partir de 1900; sinds 1900"),
        ("../1900", "jusqu'à 1900; jusqu'au 1900; entro il 1900; prima di 1900; tot en met 1900"),
        ("[1890..1911]", "vom Jahr 1890 bis zum Jahr 1911; fra il 1890 e il 1911"),
        ("1890", "in den Jahren 1890; das Jahr 1890; l'année 1890; dans l'année 1890; nell'anno 1890; negli 1890"),
        ("1911-01", "Jänner 1911; am Jänner 1911; la janvier 1911; la gennaio 1911; gli gennaio 1911; "
         "di gennaio 1911"),
        ("../1900~", "vor ca. 1900; avant 1900 environ"),
        ("1890", "Anfang des Jahres 1890; in der Mitte des Jahres 1890"),
        # What two languages have in common, beside a word that only one of them has.
        ("1911-21", "primavera dell'anno 1911; nella primavera del 1911; fine della primavera 1911; "
         "en la primavera de 1911"),
        ("[1911-01,1911-02]", "Januar oder Februar 1911; janvier ou février 1911; gennaio o febbraio 1911; "
         "enero o febrero de 1911; januari of februari 1911"),
        ("[1890-01..1911-04]", "von Januar 1890 bis April 1911; de janvier 1890 à avril 1911; "
         "gennaio 1890 a aprile 1911; dal gennaio 1890 al aprile 1911; de enero de 1890 a abril de 1911; "
         "januari 1890 tot april 1911"),
        ("[1911-01..1911-04]", "zwischen Januar und April 1911; entre janvier et avril 1911; "
         "tra gennaio e aprile 1911; entre enero y abril de 1911; tussen januari en april 1911"),
        ("1911-01", "im Januar 1911; en janvier 1911; in gennaio 1911; en enero del 1911; in januari 1911; "
         "la fine di gennaio 1911; de januari 1911"),
    ],
)  # fmt: skip
def test_what_people_write(means: str, written: str) -> None:
    for text in written.split("; "):
        assert (text, edtf(text)) == (text, means)
        assert read_written(text).original == text


@pytest.mark.parametrize(("digits", "roman"), enumerate(("XV", "XVI", "XVII", "XVIII", "XIX", "XX", "XXI"), 14))
def test_centuries_in_roman_numerals(digits: int, roman: str) -> None:
    for text in (f"{roman}e siècle", f"siglo {roman}", f"{roman} secolo"):
        assert edtf(text) == f"{digits}XX"


@pytest.mark.parametrize(
    "text",
    [
        "unbekannt",
        "inconnu",
        "inconnue",
        "sconosciuto",
        "desconocido",
        "zonder datum",
        "ohne Datum",
        "sans date",
        "senza data",
        "sin fecha",
        "onbekend",
    ],
)
def test_nothing_is_known(text: str) -> None:
    assert read_written(text).date is None


@pytest.mark.parametrize("text", ["um die 1890er", "wohl 1890er Jahre", "vers les années 1890", "forse anni 1890"])
def test_doubt_stays_where_the_date_has_no_mark_for_it(text: str) -> None:
    kept = read_written(text).kept
    assert kept is not None
    assert kept.text == "189X"
    assert kept.in_doubt


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("1. Drittel 19. Jh.", "cannot be read"),
        ("Gründerzeit", "cannot be read"),
        ("a 1900", "cannot be read"),
        ("o 1900", "cannot be read"),
        ("anni '90", "the century is missing"),
        ("années 20", "the century is missing"),
        ("12. März", "the year is missing"),
        ("12 / 3 / août", "cannot be read"),
        ("30 février 1911", "no such day exists"),
    ],
)
def test_what_is_not_understood_is_told(text: str, what: str) -> None:
    with pytest.raises(BadInput, match=re.escape(what)):
        read_written(text)


def test_what_the_languages_read_in_two_ways_is_told_and_not_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.storage.written_dates.in_english", lambda _: iter(["before 1900", "after 1900"]))
    with pytest.raises(BadInput, match="this may be 1900 or before, or 1900 or after"):
        read_written("wann 1900")


@pytest.mark.parametrize("text", ["1868", "before 1915", "12 march 2024", "victorian"])
def test_what_is_english_is_left_alone(text: str) -> None:
    before = parse_made("1868") if text == "1868" else read_written(text).date
    assert read_written(text).date == before
    assert all(re.search("[a-z0-9]", said) for said in in_english(text))
