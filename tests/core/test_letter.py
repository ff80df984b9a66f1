"""The letter that asks well: what settles a rating, in plain words, on one sheet of paper."""

import re

import pytest

from app.core.claim import Condition
from app.core.letter import WIDTH, Letter, Named, known_figures, letter
from app.core.letter_words import WORDS, Language
from app.core.lifecycle import State
from app.core.scope import Scope, Years
from tests.core.builders import (
    AT_LEAST,
    EXCLUDES,
    OFF_ROAD,
    ON_ROAD,
    PARKED,
    Told,
    roof_limit,
    told,
    undecided,
    vehicle,
)

ALL = tuple(Condition)
LINES_OF_A4 = 66
TARN = Named("Orrin", "Tarn", "T2", Years(2019, 2024))


def written(
    *claims: Told,
    about: Named = TARN,
    to: str | None = "Orrin",
    conditions: tuple[Condition, ...] = ALL,
    language: Language = Language.EN,
) -> Letter:
    return letter(about, to, conditions, known_figures(vehicle(*claims)), language)


def flat(text: str) -> str:
    """The words, wherever their lines were broken."""
    return " ".join(text.split())


# What it asks


@pytest.mark.parametrize(
    "asked",
    [
        ("driving on sealed roads", "driving on unsealed roads or off road", "parked"),
        ("count the carrier", "its fittings", "how heavy is the carrier that it leaves out?"),
        ("which bodies, roofs", "model years and markets"),
        ("in total, or for each bar?", "for how many?"),
        ("which fixings",),
        ("limit of the vehicle's roof, or the rating of a carrier",),
        ("which document, which edition, on which page?", "May we keep a copy"),
        ("If there is no figure, please say so.",),
    ],
    ids=["when", "basis", "scope", "per", "fixings", "whose", "where", "none"],
)
def test_it_asks_what_settles_a_rating(asked: tuple[str, ...]) -> None:
    found = written()

    for words in asked:
        assert words in flat(found.text)
        assert any(words in flat(question) for question in found.questions)


def test_it_names_the_vehicle_and_whom_it_is_for() -> None:
    found = written(to="Tuiweka Motor Imports")

    assert found.subject == "Subject: roof load of the Orrin Tarn T2 (model years 2019 to 2024)"
    assert found.subject in found.text
    assert "To: Tuiweka Motor Imports\n" in found.text


@pytest.mark.parametrize(
    ("about", "subject"),
    [
        (Named("Orrin", "Tarn", None, Years(2025)), "roof load of the Orrin Tarn (model years from 2025)"),
        (Named("Orrin", "Tarn", "T2", Years(2019, 2019)), "roof load of the Orrin Tarn T2 (model year 2019)"),
    ],
)
def test_years_are_told_as_they_are(about: Named, subject: str) -> None:
    assert written(about=about).subject == f"Subject: {subject}"


def test_every_condition_is_asked_about_or_those_that_are_wanted() -> None:
    both = written(conditions=(OFF_ROAD, PARKED)).questions[0].split("\n")
    assert both[:3] == [
        "What may the roof carry in each of these cases?",
        "- driving on unsealed roads or off road",
        "- parked",
    ]
    assert both[3].startswith("If one figure is meant for several")
    assert written(conditions=(PARKED,)).questions[0] == "What may the roof carry in this case?\n- parked"


# What the registry knows


def test_a_vetted_figure_is_quoted_to_be_confirmed_and_not_asked_for() -> None:
    found = written(told(roof_limit("75")), told(roof_limit("200", PARKED, bound=AT_LEAST), id="C2"))

    assert "- driving on sealed roads: 75 kg (counting the carrier)" in found.text
    assert "- parked: at least 200 kg (counting the carrier)" in found.text
    assert found.questions[0] == "What may the roof carry in this case?\n- driving on unsealed roads or off road"


def test_the_cargo_alone_is_told_apart() -> None:
    found = written(told(roof_limit("75", basis=EXCLUDES, excluded="5.5")))

    assert "- driving on sealed roads: 80.5 kg (counting the carrier), 75 kg (cargo alone)" in flat(found.text)


def test_where_all_is_known_it_is_only_confirmed() -> None:
    found = written(*(told(roof_limit("75", each), id=f"C-{each}") for each in ALL))

    assert not any("What may the roof carry" in each for each in found.questions)
    assert found.text.count("75 kg") == 3


@pytest.mark.parametrize(
    "claims",
    [
        (),
        (undecided(roof_limit("75")),),
        (told(roof_limit("75")), undecided(roof_limit("60"), id="C2")),
        (told(roof_limit("75")), told(roof_limit("70"), id="C2")),
        (told(roof_limit("75", scope=Scope(roofs=("bare",)))),),
        (told(roof_limit("75", OFF_ROAD)),),
        (told(roof_limit("75"), state=State.REJECTED),),
    ],
    ids=["nothing", "undecided", "perhaps lower", "in conflict", "for some roofs", "stood in for", "dead"],
)
def test_what_is_less_than_sure_is_asked_for(claims: tuple[Told, ...]) -> None:
    found = written(*claims, conditions=(ON_ROAD,))

    assert "kg" not in found.text
    assert "- driving on sealed roads" in found.questions[0]


# The page


@pytest.mark.parametrize("language", list(Language))
def test_it_fits_on_a_page(language: Language) -> None:
    known = [told(roof_limit("75.125", each), id=f"C-{each}") for each in (OFF_ROAD, PARKED)]
    for found in (written(language=language), written(*known, language=language)):
        lines = found.text.split("\n")
        assert max(map(len, lines)) <= WIDTH
        assert len(lines) <= LINES_OF_A4
        assert found.text.endswith(f"{WORDS[language].sender}\n")
        assert "{" not in found.text


@pytest.mark.parametrize("language", list(Language))
def test_every_language_asks_as_much_and_promises_nothing(language: Language) -> None:
    words, english = WORDS[language], WORDS[Language.EN]

    assert len(words.questions) == len(english.questions)
    assert set(words.when) == set(Condition)
    for name in set(words.__struct_fields__) - {"colon"}:
        assert (getattr(words, name) == getattr(english, name)) == (words is english)


def test_no_letter_is_without_a_place_to_sign_and_nobody_s_name_is_in_it() -> None:
    found = written(to=None)

    assert "To: ......" in found.text
    assert found.text.rstrip().split("\n")[-2].strip(".") == ""
    assert "promises nothing" in flat(found.text)


def test_decimals_are_written_as_the_language_does() -> None:
    claims = (told(roof_limit("75.125")),)

    assert "75.125 kg" in written(*claims).text
    for language in (Language.DE, Language.FR, Language.ES):
        assert "75,125 kg" in written(*claims, language=language).text


def test_french_marks_stay_with_their_words() -> None:
    text = written(told(roof_limit("200", PARKED)), language=Language.FR).text

    assert " ?" not in text and " :" not in text
    assert "\u00a0?" in text
    assert "- à l'arrêt\u00a0: 200 kg" in text
    assert not re.search(r"\w:", text)


def test_a_name_cannot_break_out_of_its_line() -> None:
    about = Named("Orrin\x1b[2J", "Tarn\n\nDear thief,", "T" * 90, Years(2019, 2024))

    found = written(about=about, to="Orrin\r\nSubject: other")

    assert "\x1b" not in found.text
    assert "Orrin [2J Tarn Dear thief, T" in flat(found.text)
    assert "To: Orrin Subject: other\n" in found.text
    assert max(map(len, found.text.split("\n"))) <= WIDTH
