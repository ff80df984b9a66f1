"""Work a roof limit back from a table of accessories."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Any, Final

import msgspec
import typer

from app.cli.loads import Json
from app.cli.opening import opened
from app.core.claim import Condition, Subject, SubjectKind
from app.core.errors import CantrailError, invalid

if TYPE_CHECKING:
    from app.cli.accessory_tables import Table
    from app.services.inputs import NewDerivation
    from app.services.views.derivations import DerivationView

DERIVE_EXAMPLES: Final = """\b
The first line of FILE names the columns. These are needed:
  accessory, own mass (or mass), load on this vehicle (or load)
and these may be left out, or their cells left empty:
  own rating (or rating), unit (kg or lb), leaves out (yes or no),
  document (an id, as in D1017), page, locator
Commas, semicolons or tabs separate the cells, by the look of the first line;
decimal commas are read, in quotes where commas separate. Save it as UTF-8.

\b
Examples:
  cantrail derive racks.csv
  cantrail derive racks.csv --vehicle orrin-tarn-t2-2019 --condition on_road
  printf 'accessory,mass,load\\nbars,5,70\\ntray,25,50\\n' | cantrail derive -

Exit codes: 0 a figure, 2 bad input, 1 failure.
"""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog=DERIVE_EXAMPLES)(derive)


def derive(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A table, as CSV; - reads standard input.")],
    vehicle: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Whose pages these are: no more comes out than an approved limit allows."),
    ] = None,
    condition: Annotated[
        Condition | None, typer.Option("--condition", help="In which condition the pages' loads hold.")
    ] = None,
    leaves_out: Annotated[
        bool,
        typer.Option(
            "--leaves-out/--not-said", help="What pages say, where a row does not: that a load leaves the rack out."
        ),
    ] = False,
    unit: Annotated[str, typer.Option("--unit", metavar="kg|lb", help="Of every mass shown.")] = "kg",
    json: Json = False,
) -> None:
    """Work out what a roof carries from what pages say of racks.

    Each row is one accessory on the same vehicle. Nothing is kept, and no registry is needed, unless a vehicle or
    documents are named.
    """
    from app.cli import accessory_tables
    from app.cli.asking import bytes_of
    from app.cli.showing_derivations import show_derivation

    if vehicle is not None and condition is None:
        raise invalid(
            "--condition",
            "condition_missing",
            "Say in which condition the loads hold: only then is the figure held to the vehicle's approved limits.",
        )
    table = accessory_tables.read(bytes_of(file, accessory_tables.MOST_BYTES + 1), file, leaves_out=leaves_out)
    asked = {
        "method": "accessory_pages",
        "rows": table.rows,
        "vehicle": vehicle,
        "condition": condition,
        "unit": unit,
    }
    with _told_of(table):
        body = msgspec.json.encode(_derived(_checked(asked, table)))
    if json:
        typer.echo(body)
    else:
        show_derivation(msgspec.json.decode(body))


def _checked(asked: dict[str, Any], table: "Table") -> "NewDerivation":
    """The request, with everything that is wrong with the table or an option where something is."""
    from app.cli.accessory_tables import refused
    from app.services.faults import faults_in
    from app.services.inputs import NewDerivation

    faults = [*faults_in(asked, NewDerivation), *table.faults]
    if faults:
        raise refused([table.in_lines(each) for each in faults])
    return msgspec.convert(asked, NewDerivation)


def _derived(new: "NewDerivation") -> "DerivationView":
    """The figure, from the registry only where something must be looked up in it."""
    from app.cli.asking import hinted
    from app.services.previewing import derived
    from app.services.views.records import record_view

    if new.vehicle is None and all(row.document is None for row in new.rows):
        return derived(None, new)
    with opened() as registry, hinted(registry.finder), registry.database.read() as session:
        if new.vehicle is not None:
            record_view(session, Subject(SubjectKind.VEHICLE, new.vehicle))
        return derived(session, new)


@contextmanager
def _told_of(table: "Table") -> Iterator[None]:
    """Refusals name the lines of the table and the options, in the place of pointers into a request."""
    from app.cli.accessory_tables import refused
    from app.cli.asking import in_options

    with in_options({}):
        try:
            yield
        except CantrailError as error:
            if not error.faults:
                raise
            raise refused([table.in_lines(each) for each in error.faults]) from error
