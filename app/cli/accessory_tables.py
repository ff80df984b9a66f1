"""A table of accessories, as a spreadsheet saves it: from its text to the rows of a derivation, and all that is wrong in
it, each thing with its line and its column."""

import csv
import difflib
import io
import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final, NamedTuple

from app.cli.showing import visible
from app.core.derivation import MOST_ROWS
from app.core.errors import CantrailError, Fault, Kind, invalid
from app.core.mass import Stated, Unit, parse_mass

MOST_BYTES: Final = 1024 * 1024
"""As much as the API takes in a request."""

COLUMNS: Final[dict[str, tuple[str, ...]]] = {
    "accessory": ("accessory",),
    "mass": ("own mass", "mass"),
    "load": ("load on this vehicle", "load"),
    "rating": ("own rating", "rating"),
    "unit": ("unit",),
    "leaves_out": ("leaves out",),
    "document": ("document",),
    "page": ("page",),
    "locator": ("locator",),
}
"""What a column may be called, for each member of a row."""

NEEDED: Final = ("accessory", "mass", "load")
HEADER: Final = "accessory, own mass, load on this vehicle, own rating, unit"

_SEPARATORS: Final = (",", ";", "\t")
_UNITS: Final = {"": "kg", "kg": "kg", "lb": "lb", "lbs": "lb"}
_ANSWERS: Final = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_DECIMAL_COMMA: Final = re.compile(r"[0-9]{1,6},[0-9]{1,6}")
_SHORT: Final = 40


class Line(NamedTuple):
    """A line with something in it: its number, and its cells."""

    number: int
    cells: list[str]


class Table(NamedTuple):
    """Rows as the API takes them, the line on which each begins, what each column is called, and what is wrong."""

    rows: list[dict[str, Any]]
    lines: list[int]
    headings: dict[str, str]
    faults: list[Fault]

    def in_lines(self, fault: Fault) -> Fault:
        """The same fault, where a pointer means a row, with its line and column."""
        _, _, rest = fault.pointer.partition("/rows/")
        place, _, member = rest.partition("/")
        if not place.isdigit():
            return fault
        member = member.partition("/")[0]
        return _at(self.lines[int(place)], self.headings.get(member, member), fault.code, fault.message)


def read(raw: bytes, file: str, *, leaves_out: bool) -> Table:
    """Read a table. Rows that do not say whether the load leaves the accessory out say `leaves_out`. Raises bad input
    where it is no table at all."""
    name = visible(file)
    text = _text(raw, name)
    lines = list(_lines(text, _separator(text)))
    if not lines:
        raise invalid(name, "no_rows", f"There is nothing in this. Begin with a line that names the columns: {HEADER}.")
    header, *body = lines
    headings, faults = _headings(header)
    if not body:
        raise invalid(name, "no_rows", "There is no row below the header. Give an accessory on each line.")
    if len(body) > MOST_ROWS:
        message = f"This is row {MOST_ROWS + 1}. Give at most {MOST_ROWS}, all for one vehicle and condition."
        raise invalid(f"line {body[MOST_ROWS].number}", "too_many_rows", message)
    rows = [_row(line, header, headings, faults, leaves_out=leaves_out) for line in body]
    named = {member: visible(header.cells[place]) for member, place in headings.items()}
    return Table(rows, [line.number for line in body], named, faults)


def refused(faults: Sequence[Fault]) -> CantrailError:
    """All that is wrong with a table, from its first line to its last."""
    told = sorted(faults, key=_line_of)
    message = told[0].message if len(told) == 1 else f"{len(told)} things are wrong with this table."
    return CantrailError(Kind.INVALID, "bad_input", message, faults=told)


def _line_of(fault: Fault) -> int:
    found = re.match(r"line ([0-9]+)", fault.pointer)
    return 0 if found is None else int(found[1])


def _at(line: int, heading: str, code: str, message: str) -> Fault:
    return Fault(f"line {line}, {heading}", code, visible(message))


# From bytes to cells


def _text(raw: bytes, name: str) -> str:
    if len(raw) > MOST_BYTES:
        raise invalid(name, "body_too_large", f"This has more than {MOST_BYTES // 1024} KiB. Give the rows alone.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = "This line is not UTF-8. Save the table anew, as CSV in UTF-8."
        raise invalid(f"{name}, line {line}", "not_utf8", message) from error


def _separator(text: str) -> str:
    """What separates the cells: that by which the first line names the most columns; of as many, the commonest in it."""
    first = next((line for line in io.StringIO(text, newline="") if line.strip()), "")

    def known(separator: str) -> tuple[int, int]:
        cells = [cell.strip().strip('"') for cell in first.split(separator)]
        return sum(_member(cell) is not None for cell in cells), first.count(separator)

    return max(_SEPARATORS, key=known)


def _lines(text: str, separator: str) -> Iterator[Line]:
    """The lines with something in them. A cell in quotes may run over several; it counts where it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    number = 1
    try:
        for cells in reader:
            shown = [" ".join(cell.split()) for cell in cells]
            if any(shown):
                yield Line(number, shown)
            number = reader.line_num + 1
    except csv.Error as error:
        message = f"This cannot be read from here on: {error}. Look for a quotation mark that has no partner."
        raise invalid(f"line {number}", "malformed_table", message) from error


# The header


def _member(heading: str) -> str | None:
    """Which member of a row a heading means."""
    folded = _folded(heading)
    return next((member for member, names in COLUMNS.items() if folded in map(_folded, names)), None)


def _folded(heading: str) -> str:
    return re.sub(r"[\s_-]+", "", heading).casefold()


def _headings(header: Line) -> tuple[dict[str, int], list[Fault]]:
    """In which place each column stands, and what is wrong with the header. Raises bad input where it is none."""
    places: dict[str, int] = {}
    faults: list[Fault] = []
    for place, heading in enumerate(header.cells):
        member = _member(heading)
        shown = visible(heading[:_SHORT])
        if member is None and heading:
            faults.append(_at(header.number, shown, "unknown_member", _meant(heading)))
        elif member in places:
            message = f"Two columns are for the {COLUMNS[str(member)][0]}. Leave one out."
            faults.append(_at(header.number, shown, "given_twice", message))
        elif member is not None:
            places[member] = place
    if not places:
        message = f"This is no header. Begin with a line that names the columns: {HEADER}."
        raise invalid(f"line {header.number}", "header_missing", message)
    for member in NEEDED:
        if member not in places:
            name = COLUMNS[member][0]
            faults.append(_at(header.number, name, "missing", f"There is no column '{name}'. Add it."))
    return places, faults


def _meant(heading: str) -> str:
    names = {_folded(name): name for forms in COLUMNS.values() for name in forms}
    near = difflib.get_close_matches(_folded(heading), names, 1)
    known = ", ".join(forms[0] for forms in COLUMNS.values())
    hint = f"Did you mean '{names[near[0]]}'?" if near else f"Possible here: {known}."
    return f"There is no such column. {hint}"


# The rows


def _row(
    line: Line, header: Line, headings: dict[str, int], faults: list[Fault], *, leaves_out: bool
) -> dict[str, Any]:
    """A row as the API takes it. What is wrong is added to `faults`; something harmless stands in its place."""
    cells = {member: line.cells[place] for member, place in headings.items() if place < len(line.cells)}

    def wrong(member: str, code: str, message: str) -> None:
        if member in headings:
            faults.append(_at(line.number, visible(header.cells[headings[member]]), code, message))

    extra = [place for place, cell in enumerate(line.cells) if cell and not "".join(header.cells[place : place + 1])]
    if extra:
        message = (
            "This cell stands in no column of the header. Put a figure with a decimal comma in quotes, or separate the "
            "cells by semicolons."
        )
        faults.append(_at(line.number, f"cell {extra[0] + 1}", "too_many_cells", message))
    for member, cell in cells.items():
        if "\0" in cell:
            wrong(member, "bad_character", "This has a NUL character in it. Leave it out.")
    if not cells.get("accessory"):
        wrong("accessory", "missing", "Name the accessory.")
    unit = _UNITS.get(cells.get("unit", "").lower())
    if unit is None:
        wrong("unit", "not_one_of", f"'{cells['unit'][:_SHORT]}' is no unit. Write kg or lb.")
    answer = cells.get("leaves_out", "").lower()
    if answer and answer not in _ANSWERS:
        wrong("leaves_out", "not_one_of", f"'{answer[:_SHORT]}' is neither yes nor no.")
    row: dict[str, Any] = {
        "accessory": cells.get("accessory") or "-",
        "mass": _mass("mass", cells.get("mass", ""), unit, wrong),
        "load": _mass("load", cells.get("load", ""), unit, wrong),
        "leaves_out": _ANSWERS.get(answer, leaves_out),
    }
    if cells.get("rating"):
        row["rating"] = _mass("rating", cells["rating"], unit, wrong)
    return row | {member: cells[member] for member in ("document", "page", "locator") if cells.get(member)}


def _mass(member: str, written: str, unit: str | None, wrong: Callable[[str, str, str], None]) -> dict[str, str]:
    """A mass word for word, but for a decimal comma."""
    value = written.replace(",", ".") if _DECIMAL_COMMA.fullmatch(written) else written
    stated = Stated(value, Unit(unit or "kg"))
    try:
        parse_mass(stated)
    except CantrailError:
        if written:
            message = (
                f"'{written[:_SHORT]}' is no mass. Write digits as the page prints them, as in 75 or 16.5, and the unit "
                "in a column of its own."
            )
            wrong(member, "bad_mass", message)
        else:
            wrong(member, "missing", f"Give the {COLUMNS[member][0]}, as the page prints it.")
        stated = Stated("0", stated.unit)
    return {"value": stated.value, "unit": stated.unit.value}
