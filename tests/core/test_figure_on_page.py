"""Whether a stated figure stands on a page: near its words, as a mass or factor of its own (the reading of section 2.6).

The pages are invented.
"""

from fractions import Fraction
from time import thread_time

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from app.core.claim import Quantity, Statement
from app.core.errors import CantrailError
from app.core.figure_on_page import LONGEST_SNIPPET, REACH, Found, look_for
from app.core.mass import GRAMS_PER_KG, GRAMS_PER_LB, Per, Stated, Unit
from app.core.page_words import NO_LOAD, SPELLED, WORDS, Group, fold, fold_characters
from app.core.pages import Box, Page, PageOutcome, Run
from tests.core.builders import kg, lb

steady = settings(
    derandomize=True, database=None, deadline=None, max_examples=250, phases=[Phase.explicit, Phase.generate]
)

LANGUAGES = ["en", "de", "fr", "es", "it", "pt", "nl", "sv", "ja"]
TWO_THIRDS = Stated("2/3", Unit.FACTOR)


def roof(stated: Stated) -> Statement:
    return Statement(Quantity.ROOF_LIMIT, stated, per=Per.TOTAL)


def rating(stated: Stated, per: Per = Per.TOTAL) -> Statement:
    return Statement(Quantity.LOAD_RATING, stated, per=per)


def own_mass(stated: Stated) -> Statement:
    return Statement(Quantity.OWN_MASS, stated, per=Per.TOTAL)


def factor(value: str) -> Statement:
    return Statement(Quantity.OFF_ROAD_FACTOR, Stated(value, Unit.FACTOR))


def place(statement: Statement, text: str, language: str | None) -> str | None:
    """The characters in which a figure is found."""
    outcome, found = look_for(statement, Page(text), language)
    assert (outcome is PageOutcome.FOUND) == (found is not None)
    return None if found is None else text[found.start : found.end]


def found_in(statement: Statement, text: str, language: str | None = None) -> Found:
    outcome, found = look_for(statement, Page(text), language)
    assert outcome is PageOutcome.FOUND and found is not None
    return found


# Roof limits


@pytest.mark.parametrize(
    ("language", "stated", "text", "where"),
    [
        ("en", kg("75"), "The maximum roof load is 75 kg.", "75 kg"),
        ("en", kg("75"), "MAX. ROOF LOAD: 75KG", "75KG"),
        ("en", kg("75"), "Load on the roof . . . . . . 75.0 kg", "75.0 kg"),
        ("en", kg("75"), "Roof load limit.........75 kg", "75 kg"),
        ("en", kg("75"), "Never exceed the 75-kg roof load limit.", "75-kg"),
        ("en", kg("75"), "Roof load limit (75 kilograms) includes the bars.", "75 kilograms"),
        ("en", lb("165"), "Do not load the roof with more than 165 lbs.", "165 lbs"),
        ("en", lb("165"), "Roof load limit: 165 pounds", "165 pounds"),
        ("en", lb("165"), "Roof load limit\n75 kg (165 lb)", "165 lb"),
        ("en", kg("75"), "Roof load limit\n165 lb/75 kg", "75 kg"),
        ("en", lb("1100"), "Load on the roof, parked: 1,100 lb", "1,100 lb"),
        ("en", kg("75"), "Maximum weight on the roof: 75¹⁾ kg", "75¹⁾ kg"),
        ("en", kg("75"), "Roof load 75* kg", "75* kg"),
        ("en", kg("75.5"), "Roof load 75.5 kg", "75.5 kg"),
        ("en", kg("75"), "Roof-\nmounted loads: 75 kg", "75 kg"),
        ("en", kg("25"), "Load on the roof: 25 kg/bar", "25 kg"),
        ("en", kg("37"), "Roof bars: max. load 2 x 37 kg", "37 kg"),
        ("de", kg("75"), "Dachlast: 75 kg", "75 kg"),
        ("de", kg("75"), "Zulässige Dachlast höchstens 75,0 Kilogramm", "75,0 Kilogramm"),
        ("de", kg("75"), "Die zula\u0308ssige Belastung des Fahrzeugdaches betra\u0308gt 75 kg.", "75 kg"),
        ("de", kg("75"), "Maximale Dach-\nlast 75 kg", "75 kg"),
        ("de", kg("1100"), "Dachlast im Stand 1.100 kg", "1.100 kg"),
        ("de", kg("1100"), "Dachlast im Stand 1'100 kg", "1'100 kg"),
        ("de", kg("1.1"), "Dachlast 1,100 kg", "1,100 kg"),
        ("fr", kg("75"), "Charge maximale sur le toit : 75\u00a0kg", "75\u00a0kg"),
        ("fr", kg("75"), "LA CAPACITE DU TOIT EST DE 75 KG", "75 KG"),
        ("fr", kg("1100"), "Charge sur le toit 1\u202f100 kg", "1\u202f100 kg"),
        ("fr", kg("1100"), "Charge sur le toit 1 100 kg", "1 100 kg"),
        ("fr", lb("165"), "Charge sur le toit : 165 livres", "165 livres"),
        ("es", kg("75"), "Carga máxima sobre el techo: 75 kg", "75 kg"),
        ("es", kg("75"), "El límite del techo es de 75 kilogramos.", "75 kilogramos"),
        ("es", kg("1100"), "Carga sobre el techo, parado: 1.100 kg", "1.100 kg"),
        ("it", kg("75"), "Carico massimo sul tetto: kg 75", "75"),
        ("pt", kg("75"), "Carga máxima no tejadilho: 75 quilogramas", "75 quilogramas"),
        ("nl", kg("75"), "Maximale dakbelasting 75 kg", "75 kg"),
        ("sv", kg("75"), "Högsta tillåtna taklast 75 kg", "75 kg"),
        ("ja", kg("75"), "ルーフの最大積載量は７５ｋｇです。", "７５ｋｇ"),
        ("ja", kg("75"), "屋根の許容荷重\n75㎏", "75㎏"),
        ("ja", kg("75"), "ﾙｰﾌ積載：75キログラムまで", "75キログラム"),
        ("ja", lb("165"), "ルーフ積載 165ポンド", "165ポンド"),
        ("ja", kg("75"), "ルーフ積載75㌔まで", "75㌔"),
        ("xx", kg("75"), "Carga máxima sobre el techo: 75 kg", "75 kg"),
        (None, kg("75"), "Zulässige Dachlast 75 kg", "75 kg"),
        (None, kg("75"), "ルーフ積載 75 kg", "75 kg"),
    ],
)
def test_a_roof_limit_is_found_as_its_language_prints_it(
    language: str | None, stated: Stated, text: str, where: str
) -> None:
    assert place(roof(stated), text, language) == where


@pytest.mark.parametrize(
    "text",
    [
        "Roof load limit: 80 kg",
        "Roof load: 75 kPa",
        "Roof load, tyres at 75 bar",
        "Roof load 75 %",
        "Roof load (kg) at 75 km/h",
        "Roof load (kg), bars 75 mm wide",
        "Roof load 75 kg/m² of snow",
        "Roof load, bolts 75 kg·m",
        "Roof load, bolts 75 lb-ft",
        "Roof load 75 kg/cm²",
        "Roof load (kg) since 1975",
        "Roof load (kg) 2075",
        "Roof load (kg): see page 75",
        "Roof load (kg): tel. 0391 75 165",
        "Roof load (kg): A75",
        "Roof load: A75 kg",
        "Roof load (kg): 75-2B",
        "Roof load (kg): part no. 75",
        "Roof load: part 12-75 kg",
        "Roof load 50–75 kg",
        "Roof load (kg) 75 - 80",
        "Roof load 12/75 kg",
        "Roof load (kg) 12.75",
        "Roof load (kg) 12/75",
        "Roof load 0.75 kg",
        "Roof load .75 kg",
        "Roof load 75½ kg",
        "Roof load 1 075 kg",
        "Roof load 75,165 kg",
        "Roof load 12.11.75 kg",
        "Roof load 175 kg",
        "Roof load 75 lb",
        "Roof load: 165 (75) lb",
        "Roof load (kg): №75",
        "Roof load 75.5 kg",
        "Roof load 80 ± 75 kg",
        "Roof load 75000 g",
        "Roof load 75 t",
        "Roof load (kg): $75",
        "Roof load (kg): 75 x 120",
        "Roof load (kg): 120 × 75",
        "Roof load (kg): 75-80",
        "Roof load 75",
        "Roof length 75 kg",
        "Carrying capacity of the rack: 75 kg",
        "Dachlast 75 kg",
    ],
)
def test_a_figure_of_something_else_is_not_a_roof_limit(text: str) -> None:
    assert place(roof(kg("75")), text, "en") is None


def test_a_figure_in_another_unit_is_found_within_the_rounding_of_both() -> None:
    text = "Roof load limit: {}"
    assert place(roof(lb("165")), text.format("75 kg"), "en") == "75 kg"
    assert place(roof(kg("75")), text.format("165 lb"), "en") == "165 lb"
    assert place(roof(lb("165")), text.format("74.8 kg"), "en") == "74.8 kg"
    # 165 lb, read as 164.5 to 165.5, is 74.62 to 75.07 kg.
    assert place(roof(lb("165")), text.format("74 kg"), "en") is None
    assert place(roof(lb("165")), text.format("75.2 kg"), "en") is None
    assert place(roof(lb("165.0")), text.format("74.8 kg"), "en") == "74.8 kg"
    assert place(roof(lb("165.0")), text.format("75.0 kg"), "en") is None


def test_in_its_own_unit_a_figure_is_found_by_its_value_only() -> None:
    assert place(roof(kg("75")), "Roof load 75.4 kg", "en") is None
    assert place(roof(kg("75.40")), "Roof load 75.4 kg", "en") == "75.4 kg"


def test_a_number_takes_the_unit_of_the_heading_above_it() -> None:
    table = "Weights (kg)\nRoof load    75\nAxle load   900"
    assert place(roof(kg("75")), table, "en") == "75"
    assert found_in(roof(kg("75")), table).unit is None
    assert place(roof(lb("75")), table, "en") is None
    assert place(roof(lb("165")), table, "en") == "75"
    two = "              kg     lb\nRoof load     75     165"
    assert place(roof(kg("75")), two, "en") == "75"
    assert place(roof(lb("165")), two, "en") == "165"
    assert place(roof(kg("75")), "Weights (kg)\nRoof load 80\nSizes (mm)\nRoof bar 75", "en") is None
    assert place(roof(kg("75")), "Roof load 75\nAll weights in kg", "en") is None
    assert place(roof(kg("75")), "Towing 900 kg\nRoof load 75", "en") is None
    assert place(roof(kg("75")), "単位kg\nルーフ積載 75\n", "ja") == "75"
    assert place(roof(kg("75")), "単位kg\nルーフ積載は第75条\n", "ja") is None


def test_one_mark_and_three_digits_are_read_as_the_language_reads_them() -> None:
    text = "Roof load, Dachlast: 1.100 kg"
    assert place(roof(kg("1100")), text, "de") == "1.100 kg"
    assert place(roof(kg("1.1")), text, "de") is None
    assert place(roof(kg("1100")), text, "en") is None
    assert place(roof(kg("1.1")), text, "en") == "1.100 kg"
    assert place(roof(kg("1100")), text, None) == place(roof(kg("1.1")), text, None) == "1.100 kg"
    assert place(roof(kg("1100")), "Roof load 1,100 kg", "en") == "1,100 kg"
    assert place(roof(kg("1100.5")), "Dachlast 1.100,5 kg", "de") == "1.100,5 kg"
    assert place(roof(kg("0.075")), "Dachlast 0.075 kg", "de") == "0.075 kg"


def test_a_roof_limit_needs_a_word_for_the_roof_and_one_for_a_load_near_it() -> None:
    far = "\n".join(["The bonnet opens with the lever on the left of the wheel."] * 8)
    assert len(far) > REACH
    assert place(roof(kg("75")), f"Roof load limits are important.\n{far}\nSpare wheel: 75 kg", "en") is None
    assert place(roof(kg("75")), f"Roof load limits are important.\n{far[:200]}\nOn bars: 75 kg", "en") == "75 kg"
    assert place(roof(kg("75")), f"The roof is painted.\n{far}\nLoad: 75 kg", "en") is None
    assert place(roof(kg("75")), "75 kg\n\n(on bars)\n(driving)\nmaximum roof load", "en") == "75 kg"
    assert place(roof(kg("75")), "75 kg\na\nb\nc\nmaximum roof load", "en") is None


def test_a_figure_that_is_printed_far_from_its_words_is_apart_and_another_thing_s_is_not() -> None:
    stated = roof(Stated("40", Unit.KG))
    for text in ("On unsealed roads no more than 40 kg, the rack counted in.", "Cargo floor: 88.2 lb"):
        assert look_for(stated, Page(text), "en") == (PageOutcome.APART, None)
    for text in ("On unsealed roads, 40 km/h. Model 40-B.", "Cargo floor: 45 kg", "The year 2040"):
        assert look_for(stated, Page(text), "en") == (PageOutcome.NOT_FOUND, None)


def test_nought_is_found_as_a_figure_or_in_words() -> None:
    assert place(roof(kg("0")), "Roof load: 0 kg", "en") == "0 kg"
    assert place(roof(kg("0")), "Roof racks are not permitted.", "en") == "not permitted"
    assert place(roof(kg("0")), "Dachlast: nicht zulässig", "de") == "nicht zulässig"
    assert place(roof(kg("0")), "ルーフへの積載は禁止", "ja") == "禁止"
    assert place(roof(kg("0")), "Smoking is not permitted.", "en") is None
    assert place(roof(kg("0")), "Roof load: 75 kg", "en") is None
    assert place(roof(kg("0")), "Roof load: 1 lb", "en") is None
    assert place(roof(kg("0")), "Roof load: 1 000 kg", "en") is None
    assert place(roof(lb("1")), "Roof load: 0 kg", "en") is None
    assert place(roof(kg("75")), "Roof racks are not permitted.", "en") is None
    assert place(rating(kg("0")), "With the extension no load may be placed here.", "en") == "no load"
    assert place(own_mass(kg("0")), "Weight: not permitted", "en") is None


# Ratings, own masses


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "Carrying capacity of the rack: 75 kg"),
        ("en", "MAX 75 KG"),
        ("de", "Tragfähigkeit des Trägers: 75 kg"),
        ("fr", "Capacité de la galerie : 75 kg"),
        ("es", "Capacidad de carga: 75 kg"),
        ("ja", "最大積載量 75kg"),
    ],
)
def test_a_rating_needs_a_word_for_a_load(language: str, text: str) -> None:
    assert place(rating(kg("75")), text, language) == text[-5:].lstrip()
    assert place(roof(kg("75")), text, language) is None


def test_a_rating_is_not_found_beside_a_weight_alone() -> None:
    assert place(rating(kg("25")), "Weight of the rack: 25 kg", "en") is None


def test_a_rating_is_looked_for_as_it_is_stated() -> None:
    text = "Load: 25 kg per foot, 100 kg in all"
    assert place(rating(kg("25"), Per.FOOT), text, "en") == "25 kg"
    assert place(rating(kg("100"), Per.FOOT), text, "en") == "100 kg"


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "Weight: 7.5 kg"),
        ("en", "It weighs 7.5 kg"),
        ("de", "Eigengewicht 7,5 kg"),
        ("fr", "Poids : 7,5 kg"),
        ("es", "Peso 7.5 kg"),
        ("it", "Peso: 7,5 kg"),
        ("pt", "Massa 7,5 kg"),
        ("nl", "Gewicht 7,5 kg"),
        ("sv", "Vikt 7,5 kg"),
        ("ja", "製品重量：7.5kg"),
    ],
)
def test_an_own_mass_needs_a_word_for_a_weight(language: str, text: str) -> None:
    found = place(own_mass(kg("7.5")), text, language)
    assert found is not None and text.endswith(found)
    assert place(rating(kg("7.5")), text, language) is None


def test_pounds_with_ounces_are_not_the_pounds_alone() -> None:
    assert place(own_mass(lb("5")), "Weight: 5 lb 8 oz", "en") is None


# Factors


@pytest.mark.parametrize(
    ("language", "value", "text", "where"),
    [
        ("en", "2/3", "Off-road: 2/3 of the load", "2/3"),
        ("en", "2/3", "On unsealed roads multiply by 2/3.", "2/3"),
        ("en", "2/3", "On gravel, two-thirds of the rating", "two-thirds"),
        ("en", "2/3", "Offroad: 67 % of the rating", "67 %"),
        ("en", "2/3", "Offroad: 66.7%", "66.7%"),
        ("en", "2/3", "Unsealed roads: load × 0.67", "0.67"),
        ("en", "2/3", "Factor 0.67 in off-road use.", "0.67"),
        ("en", "2/3", "Gravel: ⅔ of the load", "⅔"),
        ("en", "2/3", "On unsealed roads, reduce the load by one third.", "one third"),
        ("en", "2/3", "Off road take 1/3 off", "1/3"),
        ("en", "0.67", "Off road: 2/3", "2/3"),
        ("en", "0.8", "Off road: 80 percent", "80 percent"),
        ("en", "1/2", "Off road: 0.5", "0.5"),
        ("de", "2/3", "Im Gelände zwei Drittel der Dachlast", "zwei Drittel"),
        ("de", "2/3", "Auf Schotter um ein Drittel verringern", "ein Drittel"),
        ("de", "2/3", "Unbefestigte Wege: 0,67", "0,67"),
        ("fr", "2/3", "Sur piste, les deux tiers de la charge", "deux tiers"),
        ("fr", "0.5", "Hors route : 50 pour cent", "50 pour cent"),
        ("es", "2/3", "Sobre ripio, dos tercios de la carga", "dos tercios"),
        ("it", "2/3", "In fuoristrada due terzi", "due terzi"),
        ("pt", "2/3", "Fora de estrada: dois terços", "dois terços"),
        ("nl", "2/3", "Op onverharde wegen twee derde", "twee derde"),
        ("sv", "2/3", "I terräng: två tredjedelar", "två tredjedelar"),
        ("ja", "2/3", "オフロードでは3分の2", "3分の2"),
        ("ja", "2/3", "未舗装路では三分の二", "三分の二"),
        ("ja", "2/3", "未舗装路では６７％", "６７％"),
    ],
)
def test_a_factor_is_found_as_its_language_prints_it(language: str, value: str, text: str, where: str) -> None:
    assert place(factor(value), text, language) == where


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("2/3", "Two thirds of all cars are blue."),
        ("2/3", "Off road: 3/4 of the load"),
        ("2/3", "Off road: 66 %"),
        ("2/3", "Off road: 0.7"),
        ("0.8", "Off road: 0.75"),
        ("0.7", "Off road: 2/3"),
        ("2/3", "Off road: 12/3"),
        ("2/3", "Off road: 2/3/2020"),
        ("2/3", "Off road: 2/30"),
        ("2/3", "Off road: 0.67 m of water"),
        ("2/3", "Off road: 0.67 kg"),
        ("2/3", "Off road: reduce the load by 2/3"),
        ("1/3", "Off road: reduce the load by 1/3"),
        ("1/3", "Off road: reduce the load to 2/3"),
        ("2/3", "Off road: 1⅔"),
        ("2/3", "Off road: 2/0"),
    ],
)
def test_a_share_of_something_else_is_not_the_factor(value: str, text: str) -> None:
    assert place(factor(value), text, "en") is None


# Which place, and where


def test_the_stated_unit_comes_first_then_the_other_then_a_heading() -> None:
    statement = roof(lb("165"))
    assert place(statement, "(lb) Roof load 165, that is 75 kg, or on the roof 165 lb", "en") == "165 lb"
    assert place(statement, "(lb) Roof load 165, that is 75 kg", "en") == "75 kg"
    assert place(statement, "(lb) Roof load 165, that is 70 kg", "en") == "165"


def test_of_places_alike_the_one_nearest_to_both_words_comes_first_and_then_the_first() -> None:
    text = "The roof. Tow ball 75 kg. Maximum roof load 75 kg."
    assert found_in(roof(kg("75")), text).start == text.rindex("75 kg")
    even = "roof load 75 kg; roof load 75 kg"
    assert found_in(roof(kg("75")), even).start == even.index("75 kg")


def test_of_equal_figures_the_one_that_is_quoted_comes_first() -> None:
    text = "Maximum roof load\nAll bodies, 2024: 75 kg\nDual cab, 2019\nto 2023 . . . 75 kg\nWagon 165 lb"

    def line(quote: str | None) -> str:
        outcome, found = look_for(roof(kg("75")), Page(text, ()), "en", quote)
        assert outcome is PageOutcome.FOUND and found is not None
        return found.snippet

    assert line(None) == "All bodies, 2024: 75 kg"
    assert line("dual cab, 2019 to 2023 75 kg") == "to 2023 . . . 75 kg"
    assert line("Wagon: 165 lb") == "Wagon 165 lb"
    assert line("Dual cab, 2019 to 2025 75 kg") == line("\u200b (") == line(None)
    assert look_for(roof(kg("80")), Page(text, ()), "en", "Dual cab, 2019") == (PageOutcome.NOT_FOUND, None)


def test_what_is_found_says_where_it_stands() -> None:
    text = "Loads\nMaximum rooftop load: 75 kg\nTyres"
    start = text.index("75")
    runs = (
        Run(text.index("rooftop"), text.index("rooftop") + 7, Box(1, 1, 2, 2)),
        Run(start, start + 2, Box(500, 100, 600, 200)),
        Run(start + 3, start + 5, Box(650, 110, 700, 210)),
    )
    outcome, found = look_for(roof(kg("75")), Page(text, runs), "en")
    assert outcome is PageOutcome.FOUND
    assert found == Found(
        start=start,
        end=start + 5,
        box=Box(500, 100, 700, 210),
        unit=Unit.KG,
        near="rooftop",
        snippet="Maximum rooftop load: 75 kg",
    )


def test_a_page_without_places_gives_no_box() -> None:
    assert found_in(roof(kg("75")), "Roof load 75 kg").box is None


@pytest.mark.parametrize("text", ["", " \n\t", "—\u200b • "])
def test_a_page_without_letters_and_digits_has_no_text(text: str) -> None:
    assert look_for(roof(kg("75")), Page(text), "en") == (PageOutcome.NO_TEXT, None)
    assert look_for(factor("2/3"), Page(text), "en") == (PageOutcome.NO_TEXT, None)


def test_a_long_line_is_shown_around_its_figure() -> None:
    text = "before " * 50 + "roof load 75 kg" + " after" * 50
    snippet = found_in(roof(kg("75")), text).snippet
    assert len(snippet) <= LONGEST_SNIPPET
    assert "roof load 75 kg" in snippet and "before" in snippet and "after" in snippet
    assert found_in(roof(kg("75")), "roof load 75 kg" + " after" * 50).snippet.startswith("roof load 75 kg after")
    assert found_in(roof(kg("75")), "before " * 50 + "roof load 75 kg").snippet.endswith("before roof load 75 kg")


def test_what_is_not_seen_does_not_hide_a_figure_or_shift_its_place() -> None:
    text = "ﬃ ㎏½ ro\u00adof lo\u200bad: 7\u200b5 kg"
    assert place(roof(kg("75")), text, "en") == "7\u200b5 kg"
    assert found_in(roof(kg("75")), text).near == "ro\u00adof"


def test_a_statement_that_is_no_mass_or_factor_is_refused_by_name() -> None:
    with pytest.raises(CantrailError) as refused:
        look_for(roof(TWO_THIRDS), Page("Roof load 75 kg"), "en")
    assert refused.value.code == "not_a_mass"
    with pytest.raises(CantrailError):
        look_for(factor("3/2"), Page("Off road 3/2"), "en")


def test_a_word_divided_at_the_end_of_a_line_is_put_together_and_a_name_is_not() -> None:
    assert fold("Be-\nladung und Dach-\r\nlast") == "beladung und dachlast"
    assert fold("Dach-\nTräger, 75-\nkg") == "dach-\ntrager, 75-\nkg"


# The lists


def test_every_language_has_every_list() -> None:
    assert list(WORDS) == list(NO_LOAD) == list(SPELLED) == LANGUAGES
    for language in LANGUAGES:
        assert set(WORDS[language]) == set(Group)
        assert set(SPELLED[language]) == {Fraction(1, 3), Fraction(2, 3), Fraction(1, 2), Fraction(3, 4)}


ENTRIES = [
    (language, group, entry.strip().strip("*"))
    for language, groups in WORDS.items()
    for group, listed in groups.items()
    for entry in listed.split(",")
]


def test_every_word_of_the_lists_is_known_in_its_language_and_where_none_is_given() -> None:
    statements = {
        Group.LOAD: rating(kg("75")),
        Group.MASS: own_mass(kg("75")),
        Group.ROUGH: factor("2/3"),
    }
    for language, group, word in ENTRIES:
        for asked in (language, None):
            if group is Group.ROOF:
                load = WORDS[language][Group.LOAD].split(",")[0].strip("*")
                assert place(roof(kg("75")), f"{word} {load} 75 kg", asked) == "75 kg", (word, asked)
            else:
                figure = "2/3" if group is Group.ROUGH else "75 kg"
                assert place(statements[group], f"{word}: {figure}", asked) == figure, (word, asked)


def test_every_refusal_and_spelled_fraction_of_the_lists_is_found() -> None:
    for language, listed in NO_LOAD.items():
        near = WORDS[language][Group.ROOF].split(",")[0].strip("*")
        for words in listed.split(","):
            said = place(roof(kg("0")), f"{near}: {words.strip().upper()}", language)
            assert said is not None and fold(said) in fold(words), words
    for language, fractions in SPELLED.items():
        near = WORDS[language][Group.ROUGH].split(",")[0].strip("*")
        for value, listed in fractions.items():
            for words in listed.split(","):
                assert place(factor(str(value)), f"{near}: {words}", language) is not None, words


# Any text


MARKS = "0123456789.,/-%½²７㎏٣()’\u00a0\u200b\u0301\n\t× "
WORDED = [
    "75",
    "kg",
    "lb",
    "roof",
    "load",
    "2/3",
    "分の",
    "ルーフ",
    "積載",
    "off-road",
    "one third",
    "reduce by",
    "weight",
]
ODD = ["not permitted", "dach", "gewicht", "(mm)", "\ud800", "\U0001f697"]
PIECES = st.sampled_from([*MARKS, *WORDED, *ODD])
TEXTS = st.one_of(st.text(max_size=200), st.lists(PIECES, max_size=60).map("".join), st.lists(PIECES).map(" ".join))
STATEMENTS = st.one_of(
    st.builds(
        lambda make, value, unit: make(Stated(value, unit)),
        st.sampled_from([roof, rating, own_mass]),
        st.sampled_from(["0", "0.0", "5", "75", "75.5", "999999.999999"]),
        st.sampled_from([Unit.KG, Unit.LB]),
    ),
    st.sampled_from(["2/3", "0.67", "1", "1/3", "0.000000001"]).map(factor),
)


@steady
@given(STATEMENTS, TEXTS, st.sampled_from([*LANGUAGES, None, "xx"]))
def test_any_text_is_looked_at_and_always_with_the_same_outcome(
    statement: Statement, text: str, language: str | None
) -> None:
    outcome, found = look_for(statement, Page(text), language)
    assert look_for(statement, Page(text), language) == (outcome, found)
    assert (found is not None) == (outcome is PageOutcome.FOUND)
    if found is not None:
        assert 0 <= found.start < found.end <= len(text)
        assert found.near and found.near[:5] in " ".join(text.split())
        assert len(found.snippet) <= LONGEST_SNIPPET and "\n" not in found.snippet


@steady
@given(TEXTS)
def test_folding_keeps_a_piece_for_every_character(text: str) -> None:
    assert len(fold_characters(text)) == len(text)


SENTENCES = {
    "en": "The maximum roof load is {} including the bars.",
    "de": "Die zulässige Dachlast beträgt {} einschließlich Träger.",
    "fr": "La charge maximale sur le toit est de {} barres comprises.",
    "es": "La carga máxima sobre el techo es de {} con las barras.",
    "it": "Il carico massimo sul tetto è di {} comprese le barre.",
    "pt": "A carga máxima no tejadilho é de {} com as barras.",
    "nl": "De maximale dakbelasting is {} inclusief dragers.",
    "sv": "Högsta taklast är {} med räcken.",
    "ja": "ルーフの最大積載量は{}です。",
}
UNITS = {Unit.KG: ["kg", " kg", "\u00a0kg", " KG", "㎏", "-kg"], Unit.LB: ["lb", " lbs", " lb", " LB", "\u202flb"]}


def printed(value: str, language: str) -> str:
    return value if language in {"en", "es", "ja"} else value.replace(".", ",")


FIGURES = st.tuples(st.integers(1, 999), st.sampled_from(["", ".0", ".5", ".25"])).map(lambda two: f"{two[0]}{two[1]}")


@steady
@given(
    st.sampled_from(LANGUAGES),
    st.booleans(),
    FIGURES,
    st.sampled_from([Unit.KG, Unit.LB]),
    st.integers(0, 9),
    st.data(),
)
def test_a_figure_printed_in_a_sentence_is_found_and_with_other_digits_is_not(
    language: str, named: bool, value: str, unit: Unit, number: int, data: st.DataObject
) -> None:
    ending = UNITS[unit][number % len(UNITS[unit])]
    shown = printed(value, language) + ending
    text = f"75 000\n{SENTENCES[language].format(shown)}\n1975"
    asked = language if named else None
    assert place(roof(Stated(value, unit)), text, asked) == shown
    other = data.draw(FIGURES)
    assume(Fraction(other) != Fraction(value))
    assert place(roof(Stated(other, unit)), text, asked) is None


@steady
@given(st.integers(1, 600), st.sampled_from(LANGUAGES))
def test_a_limit_rounded_to_the_other_unit_is_found_there(pounds: int, language: str) -> None:
    kilograms = round(pounds * GRAMS_PER_LB / GRAMS_PER_KG)
    assume(kilograms)
    text = SENTENCES[language].format(f"{kilograms} kg")
    assert place(roof(lb(str(pounds))), text, language) == f"{kilograms} kg"
    assert place(roof(lb(str(pounds + 4))), text, language) is None


# Cost


def seconds(statement: Statement, text: str) -> float:
    """Seconds on this thread, the lesser of two."""
    taken = []
    for _ in range(2):
        begun = thread_time()
        look_for(statement, Page(text), None)
        taken.append(thread_time() - begun)
    return min(taken)


@pytest.mark.parametrize(
    "bomb",
    [
        "7",
        "1.",
        "1,111",
        "1/",
        "2/3 ",
        "75 ",
        "75 kg ",
        "roof load 75 kg ",
        "kg 75 ",
        "(kg) ",
        "a",
        "off-",
        "not ",
        " ",
        "\n",
        "1 ",
        "1'111",
        "½",
        "2分の",
        "reduced by one third ",
        "積載",
        "a-\n",
        "\u0301",
        "75*",
        "(",
    ],
)
def test_hostile_text_costs_in_proportion_to_its_length(bomb: str) -> None:
    short, long = (bomb * (length // len(bomb)) for length in (3_000, 24_000))
    for statement in (roof(kg("75")), factor("2/3")):
        # Eight times the text; what grew with its square would take sixty-four times as long.
        assert seconds(statement, long) < 30 * seconds(statement, short) + 0.03


def test_a_hidden_run_of_characters_does_not_lengthen_what_is_shown() -> None:
    text = "7" + "\u200b" * 100_000 + "5 kg roof load"
    found = found_in(roof(kg("75")), text)
    assert (found.start, found.end) == (0, text.index(" roof"))
    assert len(found.snippet) <= LONGEST_SNIPPET
