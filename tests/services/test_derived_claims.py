"""Claims that are worked back: from accessory pages, and from other claims that may fall, be corrected or disputed."""

from typing import Any

import pytest

from app.core.errors import CantrailError
from app.services import looking
from tests.services.outdoors import Outdoors
from tests.services.trade import VEHICLE

SISTER = "orrin-fellwater-t2-2019"
CARRIER = {"kind": "carrier", "id": "pellwick-slatten"}


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here follows from the rules; histories of all of it are lived on PostgreSQL too."""
    return sqlite_url


def code_of(refused: pytest.ExceptionInfo[CantrailError]) -> str:
    return refused.value.code


def row(name: str, mass: str, load: str, document: str | None, **more: Any) -> dict[str, Any]:
    masses = {"mass": {"value": mass, "unit": "kg"}, "load": {"value": load, "unit": "kg"}}
    return {"accessory": name, **masses, "leaves_out": True, "document": document, **more}


def agreeing(document: str | None, **first: Any) -> dict[str, Any]:
    """Three accessories whose pages subtract them from one limit: 99.45 to 100.5 kg is what they share."""
    rows = [
        row("Deck", "24.0", "76", document, **first),
        row("Bars", "5.0", "95", document),
        row("Tray", "31", "69", document),
    ]
    return {"method": "accessory_pages", "rows": rows}


def derived(outdoors: Outdoors, derivation: dict[str, Any], **other: Any) -> str:
    body = {"source_type": "accessory_derived", "stated": None, "basis": None, "citations": [], **other}
    return outdoors.claim(derivation=derivation, **body)


def approve_derived(outdoors: Outdoors, claim: str, derivation: dict[str, Any]) -> str:
    for by in ("first", "second"):
        reading = outdoors.read(by, claim, stated=None, derivation=derivation)
        outdoors.decide(by, claim, "approve", reading=reading)
    return claim


def caps(outdoors: Outdoors, claim: str) -> dict[str, float]:
    with outdoors.database.read() as session:
        return {each.code: each.at_most for each in looking.confidence(session, claim).caps}


def test_sums_that_agree_set_a_limit_after_two_blind_readings_of_the_rows(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    claim = derived(outdoors, agreeing(page))
    shown = outdoors.view(claim)
    assert (shown.grams, shown.bound, shown.basis) == (99_450, "exact", "includes_carrier")
    assert [each.document for each in shown.citations] == [page]

    approve_derived(outdoors, claim, agreeing(page))

    assert caps(outdoors, claim) == {"sums_agree": 0.92}
    assert outdoors.gross() == 99.45


def test_a_reviewer_who_reads_another_row_does_not_match(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    claim = derived(outdoors, agreeing(page))
    with pytest.raises(CantrailError) as bare:
        outdoors.read("first", claim)
    assert code_of(bare) == "derivation_missing"
    misread = agreeing(page)
    misread["rows"][0]["load"]["value"] = "70"

    outdoors.read("first", claim, stated=None, derivation=misread)

    assert outdoors.view(claim).readings[0].differences == ("figure", "bound")


def test_a_claim_says_no_more_than_its_pages(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    with pytest.raises(CantrailError) as more:
        derived(outdoors, agreeing(page), stated={"value": "100", "unit": "kg"})
    assert [each.code for each in more.value.faults] == ["above_derivation"]
    with pytest.raises(CantrailError) as bare:
        derived(outdoors, agreeing(None))
    assert [each.pointer for each in bare.value.faults] == [f"/derivation/rows/{n}/document" for n in range(3)]
    with pytest.raises(CantrailError) as misfit:
        derived(outdoors, agreeing(page), source_type="manual_page")
    assert code_of(misfit) == "source_type_misfit"
    with pytest.raises(CantrailError) as none:
        outdoors.claim(source_type="accessory_derived")
    assert code_of(none) == "source_type_misfit"


def test_an_approved_limit_caps_what_pages_tell(outdoors: Outdoors) -> None:
    outdoors.approve(outdoors.claim(stated={"value": "60", "unit": "kg"}), "third")
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")

    assert outdoors.view(derived(outdoors, agreeing(page))).grams == 60_000


def test_a_lower_own_mass_approved_later_lowers_what_was_worked_back(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    derivation = agreeing(page, subject=CARRIER)
    claim = approve_derived(outdoors, derived(outdoors, derivation), derivation)
    assert outdoors.gross() == 99.45
    mass = outdoors.claim(
        subject=CARRIER,
        quantity="own_mass",
        stated={"value": "22", "unit": "kg"},
        condition=None,
        basis="includes_fixing",
        scope={},
        paper=outdoors.written("Slatten 22 kg", publisher="pellwick"),
    )
    outdoors.decide("third", mass, "approve", reading=outdoors.read("third", mass))

    # 22 + 75.5 is the least that the deck's page tells now, by one reviewer's word for the mass.
    assert outdoors.view(claim).worked_back.value == "97.5"  # type: ignore[union-attr]
    assert outdoors.gross() == 97.5
    assert caps(outdoors, claim) == {"accessory_derived": 0.85}


def sister(outdoors: Outdoors) -> tuple[str, str]:
    """A vetted limit of one vehicle, and a claim that its sister's is the same."""
    outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])
    origin = outdoors.approve(outdoors.claim(subject={"kind": "vehicle", "id": SISTER}))
    derivation = {"method": "sister_vehicle", "takes": [origin]}
    return origin, approve_derived(outdoors, derived(outdoors, derivation), derivation)


def test_a_derivation_is_never_more_certain_than_its_weakest_input(outdoors: Outdoors) -> None:
    origin, claim = sister(outdoors)
    assert outdoors.gross() == 75.0
    assert outdoors.view(claim).confidence == min(0.85, outdoors.view(origin).confidence)


def test_a_disputed_input_suspends_what_is_worked_back_and_upholding_brings_it_back(outdoors: Outdoors) -> None:
    origin, claim = sister(outdoors)
    dispute = outdoors.dispute("other writer", origin, document=outdoors.paper())
    assert (outdoors.gross(), caps(outdoors, claim)["weakest_input"]) == (None, 0.4)
    outdoors.settle("third", dispute, "uphold")
    assert outdoors.gross() == 75.0


def test_an_input_that_is_refuted_ends_what_is_worked_back_down_the_chain(outdoors: Outdoors) -> None:
    origin, claim = sister(outdoors)
    chained = {"method": "parked_multiple", "takes": [claim], "multiple": 2}
    parked = approve_derived(outdoors, derived(outdoors, chained, condition="parked"), chained)
    assert outdoors.view(parked).confidence == 0.79
    dispute = outdoors.dispute("other writer", origin, document=outdoors.paper())
    outdoors.settle("third", dispute, "refute", code="carrier_rating_quoted")
    outdoors.settle("fourth", dispute, "refute", code="carrier_rating_quoted")

    assert [caps(outdoors, each)["weakest_input"] for each in (claim, parked)] == [0.0, 0.0]
    assert outdoors.gross() is None


def test_an_input_that_is_superseded_by_less_lowers_what_is_worked_back(outdoors: Outdoors) -> None:
    origin, claim = sister(outdoors)
    newer = outdoors.claim(
        subject={"kind": "vehicle", "id": SISTER}, stated={"value": "60", "unit": "kg"}, supersedes=origin
    )
    outdoors.approve(newer, "third", "fourth")

    assert outdoors.view(origin).state == "superseded"
    assert outdoors.view(claim).worked_back.value == "60"  # type: ignore[union-attr]
    assert outdoors.gross() == 60.0


def test_an_input_that_is_superseded_by_more_raises_nothing(outdoors: Outdoors) -> None:
    origin, _ = sister(outdoors)
    newer = outdoors.claim(
        subject={"kind": "vehicle", "id": SISTER}, stated={"value": "90", "unit": "kg"}, supersedes=origin
    )
    outdoors.approve(newer, "third", "fourth")

    assert outdoors.gross() == 75.0


@pytest.mark.parametrize("scope", [{}, {"bodies": "all", "roofs": "all"}, {"bodies": ["wagon"], "roofs": "all"}])
def test_what_is_worked_back_speaks_of_no_more_cars_than_what_it_takes_in(
    scope: dict[str, Any], outdoors: Outdoors
) -> None:
    origin, _ = sister(outdoors)
    with pytest.raises(CantrailError) as wider:
        derived(outdoors, {"method": "sister_vehicle", "takes": [origin]}, scope=scope)
    assert {each.code for each in wider.value.faults} == {"scope_too_wide"}


def test_a_sister_s_years_and_markets_are_its_own(outdoors: Outdoors) -> None:
    origin, _ = sister(outdoors)
    own = {"bodies": ["dual_cab"], "roofs": "all", "years": {"from": 2020, "to": 2022}, "markets": ["NZ"]}
    assert outdoors.view(derived(outdoors, {"method": "sister_vehicle", "takes": [origin]}, scope=own)).grams == 75_000


def test_an_input_that_speaks_of_another_basis_ends_what_was_worked_back(outdoors: Outdoors) -> None:
    outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])
    there = {"kind": "vehicle", "id": SISTER}
    net: dict[str, Any] = {"basis": "excludes_carrier", "excluded_mass": {"value": "25", "unit": "kg"}}
    origin = outdoors.approve(outdoors.claim(subject=there, **net))
    derivation = {"method": "sister_vehicle", "takes": [origin]}
    claim = approve_derived(outdoors, derived(outdoors, derivation), derivation)
    assert outdoors.gross() == 100.0
    newer = outdoors.claim(subject=there, supersedes=origin)
    outdoors.approve(newer, "third", "fourth")

    assert outdoors.view(origin).state == "superseded"
    assert (outdoors.gross(), caps(outdoors, claim)["weakest_input"]) == (None, 0.0)


def test_nothing_yields_to_what_is_worked_back(outdoors: Outdoors) -> None:
    outdoors.approve(outdoors.claim(stated={"value": "60", "unit": "kg"}, scope={}))
    page = outdoors.written("Accessories", kind="accessory_page")
    claim = derived(outdoors, agreeing(page), stated={"value": "60", "unit": "kg"})
    assert outdoors.view(claim).publisher is None


def test_a_mass_that_one_reviewer_approved_never_raises_by_way_of_agreement(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    rows = [
        row("Deck", "25", "50", page, subject=CARRIER, leaves_out=False),
        row("Bars", "30", "45", page, leaves_out=False),
    ]
    derivation = {"method": "accessory_pages", "rows": rows}
    claim = approve_derived(outdoors, derived(outdoors, derivation), derivation)
    told = [outdoors.gross()]
    for mass in ("20", "15"):
        lighter = outdoors.claim(
            subject=CARRIER,
            quantity="own_mass",
            stated={"value": mass, "unit": "kg"},
            condition=None,
            basis="includes_fixing",
            scope={},
            paper=outdoors.paper("pellwick"),
        )
        outdoors.decide("third", lighter, "approve", reading=outdoors.read("third", lighter))
        told.append(outdoors.gross())
    assert told == sorted(told, key=lambda each: -(each or 0.0))
    assert outdoors.view(claim).worked_back.value == "44.5"  # type: ignore[union-attr]


def test_derivations_rest_on_one_another_no_deeper_than_eight(outdoors: Outdoors) -> None:
    outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])
    last = outdoors.claim()
    for number in range(9):
        here = SISTER if number % 2 == 0 else VEHICLE
        derivation = {"method": "sister_vehicle", "takes": [last]}
        if number < 8:
            last = derived(outdoors, derivation, subject={"kind": "vehicle", "id": here})
            continue
        with pytest.raises(CantrailError) as deep:
            derived(outdoors, derivation, subject={"kind": "vehicle", "id": here})
        assert [each.code for each in deep.value.faults] == ["too_deep"]


def test_a_cycle_by_way_of_what_took_another_s_place_is_refused(outdoors: Outdoors) -> None:
    outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])
    there = {"kind": "vehicle", "id": SISTER}
    first = outdoors.approve(outdoors.claim(subject=there))
    on_first = derived(outdoors, {"method": "sister_vehicle", "takes": [first]})
    on_that = derived(outdoors, {"method": "sister_vehicle", "takes": [on_first]}, subject=there)
    with pytest.raises(CantrailError) as cycle:
        derived(
            outdoors,
            {"method": "sister_vehicle", "takes": [on_that]},
            supersedes=on_first,
        )
    assert code_of(cycle) == "derivation_cycle"


def test_nothing_is_worked_back_from_itself(outdoors: Outdoors) -> None:
    origin, claim = sister(outdoors)
    with pytest.raises(CantrailError) as cycle:
        outdoors.claim(
            subject={"kind": "vehicle", "id": SISTER},
            source_type="accessory_derived",
            stated=None,
            basis=None,
            citations=[],
            derivation={"method": "sister_vehicle", "takes": [claim]},
            supersedes=origin,
        )
    assert code_of(cycle) == "derivation_cycle"


def test_pages_that_a_derivation_shares_are_no_second_root(outdoors: Outdoors) -> None:
    page = outdoors.written("Accessories", publisher="pellwick", kind="accessory_page")
    claim = approve_derived(outdoors, derived(outdoors, agreeing(page)), agreeing(page))
    same = agreeing(page)
    again = outdoors.claim(
        by="other writer", source_type="accessory_derived", stated=None, basis=None, citations=[], derivation=same
    )
    for by in ("third", "fourth"):
        outdoors.decide(by, again, "approve", reading=outdoors.read(by, again, stated=None, derivation=same))

    with outdoors.database.read() as session:
        codes = {each.code for each in looking.confidence(session, claim).points}
    assert not any(code.startswith("agreement") for code in codes)


@pytest.mark.parametrize(
    ("derivation", "code"),
    [
        ({"method": "accessory_pages"}, "no_rows"),
        ({"method": "sister_vehicle"}, "wrong_takes"),
        ({"method": "sister_vehicle", "takes": ["C9999"]}, "no_such_claim"),
        ({"method": "sister_vehicle", "takes": ["OWN"]}, "wrong_subject"),
        ({"method": "factor", "takes": ["OWN", "OWN"]}, "not_a_roof_factor"),
        ({"method": "parked_multiple", "takes": ["OWN"]}, "bad_multiple"),
        ({"method": "net_to_gross", "takes": ["OWN", "OWN"]}, "wrong_subject"),
    ],
)
def test_what_does_not_go_together_is_refused_by_name(
    derivation: dict[str, Any], code: str, outdoors: Outdoors
) -> None:
    own = outdoors.claim()
    takes = [own if each == "OWN" else each for each in derivation.get("takes", [])]
    with pytest.raises(CantrailError) as refused:
        derived(outdoors, {**derivation, "takes": takes}, condition=None if code == "not_a_roof_factor" else "on_road")
    assert code in {refused.value.code, *(each.code for each in refused.value.faults)}
