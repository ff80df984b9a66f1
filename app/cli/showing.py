"""A person's output: the verdict first, then what stops the load, then the working; 80 columns, no colour needed."""

import textwrap
from collections.abc import Iterable
from typing import Any, Final

WIDTH: Final = 80

COUNTS: Final = {"includes_carrier": "carrier counted", "excludes_carrier": "cargo alone"}
BOUNDS: Final = {"exact": "", "at_least": "at least ", "at_most": "at most "}
WHEN: Final = {"on_road": "on sealed roads", "off_road": "off road", "parked": "parked"}
STOPS: Final = {
    "vehicle_roof": "the roof",
    "vehicle_roof_reduced": "the roof, reduced off road,",
    "carrier": "the carrier",
    "fixing": "the fixing",
    "fitment": "this carrier on this vehicle",
    "given_roof": "the roof limit you gave",
}
DIMENSIONS: Final = {"years": "model year", "bodies": "body", "roofs": "roof", "markets": "market"}


def show_limit(shown: dict[str, Any]) -> None:
    """A limit on the terminal."""
    unit = shown["unit"]
    print(f"{shown['subject']}, roof limit {WHEN[shown['condition']]}\n")
    figure = shown["figure"]
    if figure is None:
        _say(shown["refusal"]["sentence"])
        best = shown["refusal"]["best"]
        if best is not None:
            _say(f"The most certain claim is {best['claim']} at {best['confidence']:.3f}: not enough to rely on.")
    else:
        for side in (figure["gross"], figure["net"]):
            if side is not None:
                amount = f"{BOUNDS[side['bound']]}{side['value']:g} {unit}"
                print(f"  {amount:>16}   {COUNTS[side['basis']]:<16} {', '.join(side['claims'])}")
        vetted = "vetted" if shown["vetted"] else "NOT VETTED"
        print(f"\n  {vetted}, confidence {figure['confidence']:.3f}, {_count(figure['roots'], 'independent source')}")
    if shown["reduced"]:
        side = shown["reduced"]["gross"] or shown["reduced"]["net"]
        _say(f"With the vehicle's own factor of {shown['reduced']['factor']}: {side['value']:g} {unit}.")
    if figure is None and shown["cap"]:
        side = shown["cap"]["gross"] or shown["cap"]["net"]
        _say(f"Whatever it is, it is no more than {side['value']:g} {unit} ({', '.join(side['claims'])}).")
    for question in shown["questions"]:
        answers = (
            (_value(each["value"]), each["gross"] if each["gross"] is not None else each["net"])
            for each in question["answers"]
        )
        _ask(question["dimension"], answers, unit)
    _close(shown)


def show_budget(shown: dict[str, Any]) -> None:
    """A budget on the terminal."""
    unit = shown["unit"]
    _say(_verdict(shown))
    print()
    if shown["constraints"]:
        print(f"  {'limit':<22}{'figure':>10}  {'counts':<16}{'bound':<9}{'conf.':>6}{'cargo':>9}")
        for each in shown["constraints"]:
            mark = "*" if each["constraint"] in shown["binding"] and _binds(each, shown) else " "
            confidence = "given" if each["given"] else f"{each['confidence']:.3f}"
            cargo = "?" if each["cargo_allowed"] is None else f"{each['cargo_allowed']:.1f}"
            counts = COUNTS[each["basis"]]
            print(
                f"{mark} {each['constraint']:<22}{each['figure']:>10.1f}  {counts:<16}"
                f"{each['bound']:<9}{confidence:>6}{cargo:>9}"
            )
            whose = each["by"] if each["note"] is None else f"{each['by']}, {each['note']}"
            print(textwrap.fill(whose, WIDTH, initial_indent="    ", subsequent_indent="    "))
        print(f"\n  * stops you. Figures and cargo in {unit}, {WHEN[shown['condition']]}.\n")
    for step in shown["steps"]:
        amount = "?" if step["value"] is None else f"{step['value']:.3f}"
        claims = f"  {', '.join(step['claims'])}" if step["claims"] else ""
        print(f"  {_cut(step['text'], 50):<50} {amount:>12}{claims}")
    certain = "" if shown["confidence"] is None else f", confidence {shown['confidence']:.3f}"
    weakest = "" if shown["weakest"] is None else f", weakest {shown['weakest']['claim']}"
    print(f"\n  {'vetted' if shown['vetted'] else 'NOT VETTED'}{certain}{weakest}")
    _trap(shown)
    for question in shown["questions"]:
        answers = ((_value(each["value"]), each["allowed_cargo"]) for each in question["answers"])
        _ask(question["dimension"], answers, unit)
    for refusal in shown["refusals"]:
        _say(refusal["sentence"])
    if shown["unvetted_estimate"]:
        guess = shown["unvetted_estimate"]
        _say(f"A guess, not vetted: {guess['cargo_allowed']:g} {unit} of cargo. {guess['sentence']}")
    _close(shown)


def _verdict(shown: dict[str, Any]) -> str:
    unit = shown["unit"]
    stop = STOPS[shown["binding"][0]] if shown["binding"] else None
    match shown["verdict"]:
        case "over" if shown["remaining"] is not None:
            too_much = -shown["remaining"]
            return f"OVER by {too_much:g} {unit}: {stop} stops you at {shown['allowed_cargo']:g} {unit} of cargo."
        case "over":
            return f"OVER: no more than {max(0, shown['ceiling']):g} {unit} may be carried, whatever else is not known."
        case "marginal":
            why = "say how the carrier is fixed" if "fixing_not_said" in shown["reasons"] else "weigh what is not sure"
            return f"MARGINAL: {shown['remaining']:g} {unit} left, but not surely; {why}."
        case "within":
            return f"WITHIN: {shown['remaining']:g} {unit} may still go up, then {stop} stops you."
        case _:
            ceiling = shown["ceiling"]
            most = "" if ceiling is None else f" It is surely no more than {max(0, ceiling):g} {unit}."
            return f"UNKNOWN: nobody can say that this is allowed.{most}"


def _binds(constraint: dict[str, Any], shown: dict[str, Any]) -> bool:
    allowed = constraint["cargo_allowed"]
    return allowed is not None and max(0.0, allowed) == shown["allowed_cargo"]


def _trap(shown: dict[str, Any]) -> None:
    trap = shown["trap"]
    if trap is not None and trap["difference"] > 0:
        _say(
            f"The trap: {trap['carrier']}'s own rating says {trap['carrier_rating']:g} {shown['unit']}. "
            f"Really allowed: {trap['really_allowed']:g}."
        )


def _ask(dimension: str, answers: Iterable[tuple[str, float | None]], unit: str) -> None:
    told = "; ".join(f"{value}: {'not known' if amount is None else f'{amount:g} {unit}'}" for value, amount in answers)
    _say(f"Which {DIMENSIONS[dimension]}? It changes the answer. {told}")


def _close(shown: dict[str, Any]) -> None:
    """What stands at the end of every answer."""
    unit = shown["unit"]
    for conflict in shown["conflicts"]:
        _say(
            f"Conflict: {', '.join(conflict['claims'])} lie from {conflict['low']:g} to {conflict['high']:g} {unit}; "
            "the lowest stands."
        )
    for lower in shown["unreviewed_lower"]:
        value = "" if lower["value"] is None else f" of {lower['value']:g} {unit}"
        _say(f"Not reviewed yet: {lower['claim']} says a {lower['figure'].replace('_', ' ')}{value}, which is lower.")
    for note in shown["notes"]:
        _say(note["sentence"])
    print()
    print("  Before you drive:")
    for caution in shown["cautions"]:
        print(textwrap.fill(caution, WIDTH, initial_indent="  - ", subsequent_indent="    "))
    receipt = shown["receipt"]
    print(f"\n  As of entry {receipt['as_of']}, method {receipt['method']}, {receipt['digest'][:23]}…")


def _say(sentence: str) -> None:
    print(textwrap.fill(sentence, WIDTH))


def _value(value: Any) -> str:
    if isinstance(value, dict):
        if value["from"] == value["to"]:
            return str(value["from"])
        return f"{value['from']} to {'now' if value['to'] is None else value['to']}"
    return str(value).replace("_", " ")


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
