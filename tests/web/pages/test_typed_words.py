"""What was typed is said back in words."""

from app.web.pages.typed_words import told


def test_fields_and_codes_are_told_as_people_chose_them() -> None:
    typed = [
        ("_key", "k1"),
        ("vehicle", "orrin-tarn-t2-2019"),
        ("value", "75"),
        ("bound", "at_least"),
        ("basis", "includes_carrier"),
        ("condition", "driving"),
        ("bodies_said", "some"),
        ("bodies", "wagon"),
        ("bodies", "dual_cab"),
        ("roofs_said", "silent"),
        ("years", "these"),
        ("markets", "all"),
        ("mass-0", "7"),
        ("row1_leaves_out", "yes"),
        ("excluded_mass_unit", "lb"),
        ("decision", "ask_evidence"),
        ("code", "unit_error"),
        ("kind", "second_reading"),
        ("then", "next"),
        ("quote", "<b>roof</b>"),
        ("page", ""),
    ]
    assert told(typed) == [
        ("Vehicle", "orrin-tarn-t2-2019"),
        ("Figure", "75"),
        ("The page says", "at least"),
        ("Whether the rack counts", "rack included"),
        ("Condition", "driving; which roads, the page does not say"),
        ("Bodies", "wagon, dual cab"),
        ("Roofs", "not said"),
        ("Countries", "every one"),
        ("Row 1: weighs", "7"),
        ("Row 2: the load leaves the accessory out", "yes"),
        ("Unit of the rack that it leaves out", "lb"),
        ("Decision", "ask for evidence"),
        ("Why it falls", "pounds and kilograms were mixed up"),
        ("What it says there", "<b>roof</b>"),
    ]
    assert told([("kind", "handbook"), ("unheard_of", "some_code")]) == [
        ("Kind", "handbook"),
        ("Unheard of", "some_code"),
    ]
