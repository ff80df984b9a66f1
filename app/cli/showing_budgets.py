"""A budget on the terminal: the verdict first, then what stops the load, then the working with a pencil."""

from decimal import Decimal
from typing import Any, Final

from app.cli.showing import (
    BOUNDS,
    COUNTS,
    INDENT,
    WHEN,
    ask,
    certain,
    close,
    column,
    in_columns,
    paragraph,
    plain,
    refused,
    say,
)

STOPS: Final = {
    "vehicle_roof": "the roof",
    "vehicle_roof_reduced": "the roof, reduced off road,",
    "carrier": "the rack",
    "fixing": "the fixing",
    "fitment": "this rack on this vehicle",
    "given_roof": "the roof limit you gave",
}
UNKNOWN: Final = {
    "roof_limit_not_known": "the roof limit is not known",
    "own_mass_not_known": "what a part of the rack weighs is not known",
    "load_rating_not_known": "what a part of the rack may carry is not known",
    "mass_not_known": "what something carried weighs is not known",
}
SUMS: Final = frozenset({"may be carried", "left", "over by"})
"""Steps that close what stands above them, as a line under a sum does."""


def show_budget(shown: dict[str, Any]) -> None:
    """A budget, from the verdict to the cautions."""
    say(_verdict(shown))
    say(_certainty(shown))
    _constraints(shown)
    _steps(shown)
    _trap(shown)
    unit = shown["unit"]
    for question in shown["questions"]:
        answers = ((each["value"], _amount(each["allowed_cargo"], unit)) for each in question["answers"])
        ask(question["dimension"], answers)
    for refusal in shown["refusals"]:
        paragraph(refused(refusal))
    if shown["unvetted_estimate"]:
        guess = shown["unvetted_estimate"]
        paragraph(f"A guess, not vetted: {plain(guess['cargo_allowed'])} {unit} of cargo. {guess['sentence']}")
    close(shown)


def _amount(amount: float | None, unit: str) -> str:
    return "not known" if amount is None else f"{plain(amount)} {unit} of cargo"


# The verdict


def _verdict(shown: dict[str, Any]) -> str:
    unit, left = shown["unit"], shown["remaining"]
    match shown["verdict"]:
        case "over":
            return _over(shown)
        case "marginal":
            worst = shown["remaining_worst"]
            over = f", or {plain(-worst)} {unit} too much if all weighs the most it may" if worst < 0 else ""
            unsaid = ", if the fixing holds; say which it is with --fixing" if _unsaid(shown) else ""
            return f"MARGINAL: {plain(left)} {unit} left{over}{unsaid}."
        case "within" if left == 0:
            return f"WITHIN, with nothing to spare: {_stop(shown)} stops you."
        case "within":
            least = BOUNDS["at_least"] if _floor(shown) else ""
            return f"WITHIN: {least}{plain(left)} {unit} may still go up, then {_stop(shown)} stops you."
        case _:
            return _unknown(shown)


def _over(shown: dict[str, Any]) -> str:
    unit, left, ceiling = shown["unit"], shown["remaining"], shown["ceiling"]
    if left is None or left >= 0:
        most = plain(max(0.0, ceiling))
        return f"OVER: no more than {most} {unit} may be carried, whatever is not known yet."
    if shown["carrier_alone_exceeds"]:
        return f"OVER by {plain(-left)} {unit}: the rack alone is more than {_stop(shown)} can bear."
    # What is only a usual range may turn out light: the least that it can be over by comes first.
    spread = Decimal(str(shown["cargo"])) - Decimal(str(shown["cargo_least"]))
    least = "" if not spread else f"{plain(float(Decimal(str(-left)) - spread))} to "
    trap = shown["trap"]
    rack = shown["binding"][0] in {"carrier", "fitment"}
    sticker = ", not the rack" if trap is not None and trap["difference"] > 0 and not rack else ""
    stop = f"{_stop(shown)} stops you at {plain(shown['allowed_cargo'])} {unit}"
    return f"OVER by {least}{plain(-left)} {unit}: {stop}{sticker}."


def _unknown(shown: dict[str, Any]) -> str:
    unit = shown["unit"]
    why = [UNKNOWN[reason] for reason in shown["reasons"] if reason in UNKNOWN]
    if not why:
        allowed = f"{BOUNDS['at_least'] if _floor(shown) else ''}{plain(shown['allowed_cargo'])} {unit}"
        why = [f"{plain(shown['cargo'])} {unit} may be more than {_stop(shown)} allows, {allowed}"]
    ceiling = shown["ceiling"]
    known = "" if ceiling is None else f" No more than {plain(max(0.0, ceiling))} {unit} may be carried in any case."
    return f"UNKNOWN: {', and '.join(why)}.{known}"


def _certainty(shown: dict[str, Any]) -> str:
    told = ["Vetted" if shown["vetted"] else "NOT VETTED"]
    if shown["confidence"] is not None:
        told.append(f"confidence {certain(shown['confidence'])}")
    if shown["weakest"] is not None:
        told.append(f"least certain {shown['weakest']['claim']} at {certain(shown['weakest']['confidence'])}")
    return f"{', '.join(told)}."


def _stop(shown: dict[str, Any]) -> str:
    return STOPS[shown["binding"][0]]


def _unsaid(shown: dict[str, Any]) -> bool:
    return "fixing_not_said" in shown["reasons"]


def _floor(shown: dict[str, Any]) -> bool:
    """Whether what stops the load is a floor, so that more may turn out to be allowed."""
    stopping = [each for each in shown["constraints"] if _stops(each, shown)]
    return bool(stopping) and all(each["kind"] == "floor" for each in stopping)


def _stops(constraint: dict[str, Any], shown: dict[str, Any]) -> bool:
    known = [each["cargo_allowed"] for each in shown["constraints"] if each["cargo_allowed"] is not None]
    return constraint["constraint"] in shown["binding"] and constraint["cargo_allowed"] == min(known)


# The table and the working


def _constraints(shown: dict[str, Any]) -> None:
    rows = shown["constraints"]
    if not rows:
        return
    figures = column(each["figure"] for each in rows)
    cargo = column((each["cargo_allowed"] for each in rows), "not known")
    wide, wider = max(8, *map(len, figures)), max(8, *map(len, cargo))
    print(f"\n{INDENT}{'':<22}{'figure':>{wide}}  {'counts':<14}{'bound':<10}{'conf.':<7}{'cargo':>{wider}}")
    for each, figure, left in zip(rows, figures, cargo, strict=True):
        mark = "* " if _stops(each, shown) else INDENT
        confidence = "yours" if each["given"] else certain(each["confidence"])
        bound = each["bound"].replace("_", " ")
        print(
            f"{mark}{each['constraint'].replace('_', ' '):<22}{figure:>{wide}}  {COUNTS[each['basis']]:<14}"
            f"{bound:<10}{confidence:<7}{left:>{wider}}"
        )
        by = "as you gave it" if each["by"] == "given" else each["by"]
        whose = by if each["note"] is None else f"{by}, {each['note']}"
        say(whose, "    ", "    ")
    stops = "* stops you. " if shown["binding"] else ""
    print(f"\n{INDENT}{stops}In {shown['unit']}, {WHEN[shown['condition']]}.")


def _steps(shown: dict[str, Any]) -> None:
    amounts = column(step["value"] for step in shown["steps"])
    wide = max(map(len, amounts), default=0)
    print()
    for step, amount in zip(shown["steps"], amounts, strict=True):
        if step["text"] in SUMS:
            print(f"{INDENT}{'':<48}  {'-' * wide}")
        in_columns([(step["text"], 48, "<"), (amount, wide, ">"), (", ".join(step["claims"]), 74 - 48 - wide, "<")])


def _trap(shown: dict[str, Any]) -> None:
    trap, unit = shown["trap"], shown["unit"]
    if trap is not None and trap["difference"] > 0:
        paragraph(
            f"The trap: the sticker of {trap['carrier']} says {plain(trap['carrier_rating'])} {unit}; "
            f"{plain(trap['really_allowed'])} {unit} is really allowed, {plain(trap['difference'])} {unit} less."
        )
