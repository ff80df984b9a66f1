"""Look up an answer that was kept, and where a claim comes from."""

from typing import Annotated, Any, Final

import typer

from app.cli.loads import Json
from app.cli.opening import opened

EXITS: Final = {"stands": 0, "raised": 0, "filled": 0, "lowered": 3, "emptied": 4}
_SAID: Final = {
    "stands": "It still stands.",
    "lowered": "LOWERED SINCE: do not rely on it. Ask again.",
    "raised": "It was raised since.",
    "emptied": "EMPTIED SINCE: there is no figure any more. Do not rely on it.",
    "filled": "There is a figure now. Ask again.",
}

RECEIPT_EXAMPLES: Final = """\b
Examples:
  cantrail limit orrin-tarn-t2-2019 --keep
  cantrail receipt sha256:0f1e...

Exit codes: 0 it stands, or there is more now; 3 lowered since; 4 no figure any more; 2 no such receipt; 1 failure.
"""
PROVENANCE_EXAMPLES: Final = """\b
Example:
  cantrail provenance C1042 > C1042.prov.json
"""


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    app.command(epilog=RECEIPT_EXAMPLES)(receipt)
    app.command(epilog=PROVENANCE_EXAMPLES)(provenance)


def receipt(
    digest: Annotated[str, typer.Argument(metavar="DIGEST", help="The answer's digest, with sha256: or without.")],
    json: Json = False,
) -> None:
    """Show an answer that was kept, and whether it still stands."""
    import msgspec

    from app.services.kept import look

    with opened() as registry, registry.database.read() as session:
        shown = look(session, digest, after=0)
        changes = list(shown.changes)
        page = shown
        while page.next is not None and not json:
            page = look(session, digest, after=int(page.next))
            changes += page.changes
    if json:
        typer.echo(msgspec.json.encode(shown))
    else:
        _show(msgspec.to_builtins(shown), msgspec.to_builtins(changes))
    raise typer.Exit(EXITS[shown.standing])


def _show(shown: dict[str, Any], changes: list[dict[str, Any]]) -> None:
    from app.cli.showing import paragraph, say

    _show_answer(shown["answer"])
    paragraph(f"This is as of entry {shown['receipt']['as_of']}. {_SAID[shown['standing']]}")
    if shown["refused"] is not None:
        say(f"Today: {shown['refused']['sentence']}")
    for change in changes:
        about = "" if change["claim"] is None else f" {change['claim']}"
        words = change["type"].replace("_", " ")
        say(f"{change['effect']} by entry {change['seq']}, {change['at'][:10]}: {words}{about}", "- ", "  ")


def _show_answer(answer: dict[str, Any]) -> None:
    """A budget or a limit as when it was asked for; of other figures, the figure."""
    from app.cli.showing import say
    from app.cli.showing_budgets import show_budget
    from app.cli.showing_limits import show_limit

    if "verdict" in answer:
        show_budget(answer)
    elif "figure" in answer:
        show_limit(answer)
    elif "factors" in answer:
        for each in answer["factors"]:
            say(f"Off-road factor of {answer['subject']} on {each['applies_to']}: {each['value'] or 'none recorded'}.")
    else:
        value = "not known" if answer["value"] is None else f"{answer['value']} {answer['unit']}"
        say(f"Own mass of {answer['subject']}: {value}.")


def provenance(claim: Annotated[str, typer.Argument(metavar="CLAIM", help="The claim's id, as in C1042.")]) -> None:
    """Print where a claim comes from, in PROV-JSON."""
    from app.services.provenance import provenance as written

    with opened() as registry, registry.database.read() as session:
        typer.echo(written(session, claim))
