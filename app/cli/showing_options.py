"""What else could be done with a load, on the terminal."""

from collections.abc import Iterable
from typing import Any, Final

from app.cli.showing import BOUNDS, WHEN, before_you_drive, column, in_columns, paragraph, plain, say, visible

RACK: Final = 33
NAMED: Final = 3
"""Of choices that are just as good as the first, so many are told."""


def show_options(shown: dict[str, Any]) -> None:
    """Racks, roads and what to leave behind, side by side."""
    asked, unit = shown["asked"], shown["unit"]
    say(f"As asked, {WHEN[shown['condition']]}: {_left(asked, unit)}. {_verdict(asked)}")
    if shown["alternatives"]:
        paragraph(f"The same load on the racks that fit this vehicle, in {unit}; * is the one you asked about:")
        _table(shown["alternatives"], [_rack(each) for each in shown["alternatives"]], "rack")
        _not_reviewed(shown["alternatives"])
    else:
        paragraph("No rack is recorded as fitting this vehicle.")
    if shown["not_compared"]:
        say(f"{shown['not_compared']} more are recorded as fitting, and not compared here.")
    paragraph(f"The same rack and load elsewhere, in {unit}:")
    roads = [
        f"{WHEN[each['condition']]}{', without people' if each['without_people'] else ''}"
        for each in shown["conditions"]
    ]
    _table(shown["conditions"], roads, "where")
    show_ways(shown)
    for note in shown["notes"]:
        paragraph(note["sentence"])
    before_you_drive(shown["cautions"])
    receipt = shown["receipt"]
    if receipt["method"]:
        print(f"\nAs of entry {receipt['as_of']}, method {receipt['method']}, {receipt['digest'][:23]}")


def _not_reviewed(racks: list[dict[str, Any]]) -> None:
    """The undecided claims that would lower what racks leave, each once; how much, the claim's own page says."""
    found: dict[str, list[str]] = {}
    for each in racks:
        for lower in each["unreviewed_lower"]:
            found.setdefault(lower["claim"], []).append(each["carriers"][0])
    for claim, on in found.items():
        where = "all of these" if len(on) == len(racks) else ", ".join(on)
        say(f"Not reviewed yet: {claim} would lower {where}. It changes nothing so far.")


def show_ways(shown: dict[str, Any]) -> None:
    """What would have the load within, in a few lines."""
    leave, unit = shown["leave_behind"], shown["unit"]
    if leave["outcome"] == "nothing":
        return
    print("\nWhat would help:")
    say(leave["sentence"], "- ", "  ")
    if leave["outcome"] == "leave":
        _leave(leave)
    for way in shown["ways"]:
        left = f"{plain(way['remaining_worst'])} {unit} left{'' if way['verdict'] == 'within' else ', if the fixing holds'}"
        match way["kind"]:
            case "other_carrier":
                say(f"Another rack, {_rack(way)}: {left}.", "- ", "  ")
            case "on_road" | "parked":
                say(f"Only {WHEN[way['kind']]}: {left}.", "- ", "  ")
            case _:
                pass


def _leave(leave: dict[str, Any]) -> None:
    say(f"{_things(leave['things'])}.", "    ", "    ")
    for tie in leave["ties"][:NAMED]:
        say(f"Or just as well: {_things(tie)}.", "    ", "    ")
    if leave["more_ties"] or len(leave["ties"]) > NAMED:
        say("There may be other choices that are just as good.", "    ", "    ")
    if not leave["lightest"]:
        say("Fewer will not do; of as many, a lighter choice may exist.", "    ", "    ")


def _things(things: Iterable[dict[str, Any]]) -> str:
    """What is left behind, each with how many of it where that is not all."""
    told = []
    for each in things:
        name = visible(each["name"])
        many = "" if each["quantity"] == 1 else f"{each['pieces']} of {each['quantity']} "
        told.append(f"{many}{name}")
    return ", ".join(told)


def _verdict(asked: dict[str, Any]) -> str:
    return f"{str(asked['verdict']).upper()}."


def _left(option: dict[str, Any], unit: str) -> str:
    left = option["remaining"]
    if left is None:
        ceiling = option["ceiling"]
        known = "" if ceiling is None else f", {BOUNDS['at_most']}{plain(max(0.0, ceiling))} {unit} of cargo"
        return f"what is left is not known{known}"
    return f"{plain(left)} {unit} left" if left >= 0 else f"{plain(-left)} {unit} too much"


def _rack(option: dict[str, Any]) -> str:
    """A rack with its fixing; of one that fits, whether that is confirmed."""
    fixing = {"built_in": "fixing built in", "given": "your own fixing", None: "fixing not said"}
    carriers = " with ".join("your own rack" if each == "given" else each for each in reversed(option["carriers"]))
    told = [carriers or "no rack"]
    if option["carriers"]:
        told.append(fixing.get(option["fixing"], f"on {option['fixing']}"))
    if not option.get("confirmed", True):
        told.append("not confirmed to fit")
    if option.get("off_road_unsaid"):
        told.append("off road not known")
    return ", ".join(told)


def _table(rows: list[dict[str, Any]], names: list[str], heading: str) -> None:
    cargo = column((each["allowed_cargo"] for each in rows), "not known")
    left = column((each["remaining"] for each in rows), "not known")
    more = [_more(each["difference"]) for each in rows]
    sides = [(RACK, "<"), (9, ">"), (9, ">"), (10, ">"), (8, "<")]
    for cells in (
        (heading, "may carry", "left", "difference", "verdict"),
        *(
            (f"{'* ' if each.get('is_asked') else ''}{name}", *numbers, each["verdict"])
            for each, name, *numbers in zip(rows, names, cargo, left, more, strict=True)
        ),
    ):
        in_columns([(text, *side) for text, side in zip(cells, sides, strict=True)])


def _more(difference: float | None) -> str:
    if difference is None:
        return "?"
    return f"+{plain(difference)}" if difference > 0 else plain(difference)
