"""Scope and context (section 2.2): which cars a claim is about, and which cars the asker's could be."""

import pytest

from app.core.scope import (
    ALL,
    NONE_OF_THESE,
    OPEN,
    SILENT,
    UNKNOWN,
    Car,
    Cell,
    Context,
    Dimension,
    Range,
    Scope,
    Years,
    applies,
    cells,
    completions,
    covers,
    more_specific,
    overlap,
    ruled_out,
)

CAR = Car(2021, "wagon", ("raised_rail", "glass"), "NZ")
NOW = Years(2019)


def test_years_include_both_ends_and_may_be_open() -> None:
    assert (NOW.end, Years(2019, 2021).end) == (9999, 2021)
    assert Years(2019, 2021).within(NOW) and not NOW.within(Years(2019, 2021))
    assert Years(2018, 2020).within(Years(2018, 2020)) and not Years(2017, 2020).within(Years(2018, 2020))
    assert Years(2018, 2020).overlaps(Years(2020, 2024)) and not Years(2018, 2019).overlaps(Years(2020))


def test_a_scope_says_what_it_speaks_on() -> None:
    scope = Scope(NOW, ("wagon",), ALL, None)

    assert [scope.spoken(dimension) for dimension in Dimension] == [NOW, ("wagon",), ALL, None]
    assert [SILENT.spoken(dimension) for dimension in Dimension] == [None] * 4


def test_a_context_says_what_it_knows() -> None:
    context = Context(2021, None, ("bare",), None)

    assert [context.knows(dimension) for dimension in Dimension] == [True, False, True, False]
    assert [UNKNOWN.knows(dimension) for dimension in Dimension] == [False] * 4


@pytest.mark.parametrize(
    ("scope", "expected"),
    [
        (SILENT, True),
        (Scope(ALL, ALL, ALL, ALL), True),
        (Scope(Years(2019, 2021), ("wagon",), ("glass",), ("NZ",)), True),
        (Scope(roofs=("bare", "raised_rail")), True),
        (Scope(years=Years(2021, 2021)), True),
        (Scope(years=Years(2022)), False),
        (Scope(years=Years(2018, 2020)), False),
        (Scope(bodies=("van",)), False),
        (Scope(roofs=("bare", "track")), False),
        (Scope(markets=("ZA",)), False),
    ],
)
def test_a_claim_applies_unless_it_gives_values_none_of_which_the_car_has(scope: Scope, expected: bool) -> None:
    assert applies(scope, CAR) is expected


@pytest.mark.parametrize(
    ("wide", "narrow", "expected"),
    [
        (SILENT, Scope(NOW, ("wagon",)), True),
        (Scope(years=ALL, bodies=ALL), Scope(NOW, ("wagon",)), True),
        (Scope(years=NOW), Scope(years=Years(2020, 2021)), True),
        (Scope(years=Years(2020, 2021)), Scope(years=NOW), False),
        (Scope(bodies=("van", "wagon")), Scope(bodies=("wagon",)), True),
        (Scope(bodies=("wagon",)), Scope(bodies=("van", "wagon")), False),
        (Scope(bodies=("wagon",)), Scope(bodies=ALL), False),
        (Scope(bodies=("wagon",)), SILENT, False),
        (Scope(years=NOW), Scope(years=ALL), False),
    ],
)
def test_a_scope_covers_another_when_all_its_cars_are_surely_in_it(wide: Scope, narrow: Scope, expected: bool) -> None:
    assert covers(wide, narrow) is expected


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (SILENT, Scope(NOW, ("wagon",)), True),
        (Scope(years=ALL), Scope(years=NOW), True),
        (Scope(years=Years(2018, 2020)), Scope(years=Years(2020, 2021)), True),
        (Scope(years=Years(2018, 2019)), Scope(years=Years(2020, 2021)), False),
        (Scope(bodies=("van", "wagon")), Scope(bodies=("wagon",)), True),
        (Scope(bodies=("van",)), Scope(bodies=("wagon",)), False),
        (Scope(bodies=("van",)), Scope(roofs=("bare",)), True),
    ],
)
def test_scopes_overlap_unless_some_dimension_keeps_them_apart(one: Scope, other: Scope, expected: bool) -> None:
    assert overlap(one, other) is expected
    assert overlap(other, one) is expected


@pytest.mark.parametrize(
    ("scope", "than", "expected"),
    [
        (Scope(roofs=("raised_rail",)), SILENT, True),
        (Scope(roofs=ALL), SILENT, False),
        (SILENT, SILENT, False),
        (Scope(years=NOW, roofs=("raised_rail",)), Scope(years=NOW), True),
        (Scope(years=Years(2020, 2021), roofs=("bare",)), Scope(years=NOW), True),
        (Scope(years=NOW, roofs=("bare",)), Scope(years=Years(2020, 2021)), False),
        (Scope(roofs=("bare",)), Scope(years=NOW), False),
        (Scope(years=NOW, roofs=("bare",)), Scope(years=ALL), True),
        (Scope(years=ALL, roofs=("bare",)), Scope(years=NOW), False),
        (Scope(roofs=("bare",)), Scope(roofs=("bare", "track")), False),
    ],
)
def test_a_scope_is_more_specific_when_it_fills_a_silence_and_leaves_nothing_unsaid(
    scope: Scope, than: Scope, expected: bool
) -> None:
    assert more_specific(scope, than) is expected


RECORD = Range(Years(2019, 2024), ("dual_cab", "wagon"), ("bare", "raised_rail"), ("NZ",))


@pytest.mark.parametrize(
    ("context", "out"),
    [
        (UNKNOWN, ()),
        (Context(2019, "wagon", ("bare",), "NZ"), ()),
        (Context(2018), (Dimension.YEARS,)),
        (Context(2025), (Dimension.YEARS,)),
        (Context(body="van"), (Dimension.BODIES,)),
        (Context(roofs=("bare", "glass")), (Dimension.ROOFS,)),
        (Context(market="ZA"), (Dimension.MARKETS,)),
        (Context(2025, "van", ("glass",), "ZA"), tuple(Dimension)),
    ],
)
def test_a_confirmed_record_rules_out_what_it_does_not_name(context: Context, out: tuple[Dimension, ...]) -> None:
    assert ruled_out(context, RECORD) == out
    assert ruled_out(context, OPEN) == ()


def test_a_record_names_values_of_every_dimension_but_the_years() -> None:
    assert [RECORD.names(dimension) for dimension in Dimension] == [
        None,
        ("dual_cab", "wagon"),
        ("bare", "raised_rail"),
        ("NZ",),
    ]


# Cells: the values among which no claim tells cars apart


def test_an_open_dimension_has_a_cell_for_none_of_these() -> None:
    scopes = [Scope(bodies=("wagon", "van")), Scope(bodies=("van",)), SILENT, Scope(bodies=ALL)]

    assert cells(Dimension.BODIES, OPEN, scopes) == [
        Cell(Dimension.BODIES, ("van",)),
        Cell(Dimension.BODIES, ("wagon",)),
        Cell(Dimension.BODIES, (NONE_OF_THESE,)),
    ]


def test_a_closed_dimension_has_the_record_s_values_and_no_others() -> None:
    scopes = [Scope(bodies=("wagon", "hatch"))]

    assert cells(Dimension.BODIES, RECORD, scopes) == [
        Cell(Dimension.BODIES, ("dual_cab",)),
        Cell(Dimension.BODIES, ("wagon",)),
    ]


def test_where_no_claim_gives_values_there_is_one_cell() -> None:
    assert cells(Dimension.ROOFS, RECORD, [SILENT]) == [Cell(Dimension.ROOFS, ("bare", "raised_rail"))]
    assert cells(Dimension.MARKETS, OPEN, []) == [Cell(Dimension.MARKETS, (NONE_OF_THESE,))]
    assert cells(Dimension.YEARS, OPEN, []) == [Cell(Dimension.YEARS, (NONE_OF_THESE,))]
    assert cells(Dimension.YEARS, RECORD, []) == [Cell(Dimension.YEARS, (Years(2019, 2024),))]


def test_years_are_cut_where_claims_begin_and_end() -> None:
    scopes = [Scope(years=Years(2020, 2021)), Scope(years=Years(2015, 2019)), Scope(years=ALL)]

    assert cells(Dimension.YEARS, RECORD, scopes) == [
        Cell(Dimension.YEARS, (Years(2019, 2019),)),
        Cell(Dimension.YEARS, (Years(2020, 2021),)),
        Cell(Dimension.YEARS, (Years(2022, 2024),)),
    ]


def test_years_before_and_after_are_one_cell_where_the_record_is_open() -> None:
    assert cells(Dimension.YEARS, OPEN, [Scope(years=Years(2020, 2021))]) == [
        Cell(Dimension.YEARS, (NONE_OF_THESE,)),
        Cell(Dimension.YEARS, (Years(2020, 2021),)),
    ]
    assert cells(Dimension.YEARS, OPEN, [Scope(years=NOW)]) == [
        Cell(Dimension.YEARS, (NONE_OF_THESE,)),
        Cell(Dimension.YEARS, (NOW,)),
    ]


def test_years_apart_that_the_same_claims_cover_are_one_cell() -> None:
    assert cells(Dimension.YEARS, RECORD, [Scope(years=Years(2021, 2021))])[0].values == (
        Years(2019, 2020),
        Years(2022, 2024),
    )


def test_a_car_fully_known_has_one_completion() -> None:
    context = Context(2021, "wagon", ("raised_rail", "glass"), "NZ")

    assert completions(context, OPEN, [Scope(bodies=("van",))]) == (CAR,)


def test_every_way_in_which_the_car_could_be_is_tried() -> None:
    scopes = [Scope(roofs=("raised_rail",)), Scope(bodies=("van",))]

    ways = completions(Context(year=2021, market="NZ"), OPEN, scopes)

    assert [(way.body, way.roofs) for way in ways] == [
        ("van", ("raised_rail",)),
        ("van", (NONE_OF_THESE,)),
        (NONE_OF_THESE, ("raised_rail",)),
        (NONE_OF_THESE, (NONE_OF_THESE,)),
    ]
    assert {(way.year, way.market) for way in ways} == {(2021, "NZ")}
    assert [cell.dimension for cell in ways[0].cells] == [Dimension.BODIES, Dimension.ROOFS]


def test_a_year_outside_every_claim_is_in_none_of_them() -> None:
    scope = Scope(years=Years(2020, 2021))

    outside, inside = completions(Context(body="van", roofs=("bare",), market="NZ"), OPEN, [scope])

    assert not applies(scope, outside)
    assert applies(scope, inside)
