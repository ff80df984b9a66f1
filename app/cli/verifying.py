"""Whether anything was changed: a registry looked through by whoever runs it, or followed by somebody outside."""

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from app.cli.opening import FAILURE, opened

if TYPE_CHECKING:
    from app.core.signed_note import VerifierKey
    from app.services.findings import Check, Progress
    from app.services.following import Followed, Pinned
    from app.services.verifying import Report

EXAMPLES: Final = """\b
Examples:
  cantrail verify
  cantrail verify --json
  cantrail verify --against https://roofs.example.org
  cantrail verify --against https://roofs.example.org --entries
  cantrail verify --against /mnt/other/checkpoint

Exit code 0: nothing is wrong. 1: something is, and is said.
"""

SHOWN: Final = 10
"""How many findings of a check are printed; --json has up to a hundred."""


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    app.command(epilog=EXAMPLES)(verify)
    app.command(epilog="Example: cantrail key")(key)


def verify(
    against: Annotated[
        str | None,
        typer.Option(metavar="URL|FILE", help="A registry to follow, or a kept checkpoint to hold this one against."),
    ] = None,
    kept: Annotated[
        Path | None, typer.Option(metavar="FILE", help="With a URL: where its key and last checkpoint are kept.")
    ] = None,
    key: Annotated[str | None, typer.Option(metavar="KEY", help="The registry's key, from a source you trust.")] = None,
    entries: Annotated[bool, typer.Option("--entries", help="With a URL: hash every entry, too.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="For programs.")] = False,
) -> None:
    """Look whether anything was changed, lost or damaged.

    Every entry, the tree over them, the checkpoints kept, the tables against a replay of the ledger, texts and files
    by their hashes. It only reads; the registry may be served and written meanwhile.

    With --against URL it needs no registry here: it keeps that registry's last checkpoint, and tells when the
    registry's history does not go on from it.
    """
    if against is None:
        _verify_here(as_json=as_json)
    elif re.match("https?://", against):
        _follow(against, kept, key, entries=entries, as_json=as_json)
    else:
        _hold_against(Path(against), key, as_json=as_json)


def key() -> None:
    """Print the key that others verify this registry's checkpoints with."""
    with opened() as registry:
        print(registry.checkpoints.key.verifier().text)


def _verify_here(*, as_json: bool) -> None:
    from app.services.verifying import verify as look

    with opened() as registry, _progress() as told:
        report = look(registry.database, registry.store, registry.checkpoints, told)
    if as_json:
        _print_json(report)
    else:
        _show(report)
    if not report.fine:
        raise typer.Exit(FAILURE)


def _show(report: "Report") -> None:
    print(f"{report.size} entries, root {report.root}\n")
    print(f"{'checked':<14}{'how many':>10}  {'wrong':>7}")
    for check in report.checks:
        print(f"{check.name:<14}{check.looked_at:>10}  {check.wrong or 'none':>7}")
    wrong = [check for check in report.checks if check.wrong]
    for check in wrong:
        _show_findings(check)
    print()
    print("Something is wrong: see above." if wrong else "Nothing is wrong.")


def _show_findings(check: "Check") -> None:
    print(f"\n{check.name}:")
    for finding in check.findings[:SHOWN]:
        print(f"  {_plain(finding.where)}: {_plain(finding.what)}")
    if check.wrong > SHOWN:
        print(f"  and {check.wrong - SHOWN} more")


def _plain(text: str) -> str:
    """What was tampered with must not write to the terminal."""
    return "".join(each if each.isprintable() else "?" for each in text)


def _follow(address: str, kept: Path | None, key: str | None, *, entries: bool, as_json: bool) -> None:
    from app.adapters.ledger_client import HttpLedger
    from app.adapters.signing_key import Verifier
    from app.services.following import follow

    place = kept or _usual_place(address)
    named = _key_named(key)
    before = _pinned(place, named) if place.exists() else None
    remote = HttpLedger(address)
    try:
        with _progress() as told:
            seen = follow(remote, before, key=named, by=Verifier(), entries=entries, progress=told)
    finally:
        remote.close()
    _keep(place, seen.keep)
    if as_json:
        _print_json(_told(seen, str(place)))
    else:
        _show_followed(address, place, seen, pinned=before is None and named is None)


def _show_followed(address: str, place: Path, seen: "Followed", *, pinned: bool) -> None:
    if seen.earlier is None:
        print(f"{address} is followed from now on: {seen.present.size} entries.")
    else:
        print(f"{address} goes on from what you kept: {seen.earlier.size} entries then, {seen.present.size} now.")
    if seen.hashed:
        print(f"All {seen.hashed} entries were hashed, and give the root that was signed.")
    if pinned:
        print(f"Its key is taken on trust this first time: {seen.keep.key.text}")
        print("Compare it with what its operator publishes elsewhere.")
    print(f"Kept in {place}.")


def _hold_against(path: Path, key: str | None, *, as_json: bool) -> None:
    from app.services.following import held_against, pinned_in

    said = path.read_text(encoding="utf-8")
    with opened() as registry:
        signing = registry.checkpoints.key
        named = _key_named(key)
        if named is None and "+" not in said.partition("\n")[0]:
            named = signing.verifier()
        with registry.database.read() as session:
            found = held_against(session, pinned_in(said, named), signing)
            size = registry.database.probe()
    if as_json:
        _print_json({"kept": {"size": found.size, "root": found.root.hex()}, "size": size})
    else:
        print(f"The ledger goes on from {path}: {found.size} entries then, {size} now.")


def _key_named(key: str | None) -> "VerifierKey | None":
    from app.core.signed_note import verifier_key

    return None if key is None else verifier_key(key)


def _pinned(place: Path, key: "VerifierKey | None") -> "Pinned":
    from app.services.following import pinned_in

    return pinned_in(place.read_text(encoding="utf-8"), key)


def _keep(place: Path, keep: "Pinned") -> None:
    from app.adapters.safe_writing import replace_file

    place.parent.mkdir(parents=True, exist_ok=True)
    replace_file(place, keep.text.encode())


def _usual_place(address: str) -> Path:
    """One file for each registry followed, in the folder where programs keep their state."""
    base = os.environ.get("XDG_STATE_HOME") or str(Path.home() / ".local" / "state")
    name = re.sub(r"[^A-Za-z0-9.-]+", "_", address.partition("://")[2].strip("/"))
    return Path(base) / "cantrail" / "followed" / name


def _told(seen: "Followed", place: str) -> dict[str, Any]:
    earlier = seen.earlier
    return {
        "earlier": None if earlier is None else {"size": earlier.size, "root": earlier.root.hex()},
        "present": {"size": seen.present.size, "root": seen.present.root.hex()},
        "hashed": seen.hashed,
        "key": seen.keep.key.text,
        "kept": place,
    }


def _print_json(shown: Any) -> None:
    import msgspec

    print(msgspec.json.format(msgspec.json.encode(shown), indent=2).decode())


@contextmanager
def _progress() -> Iterator["Progress"]:
    """A bar on the terminal for each thing that is looked at, one after another."""
    from rich.console import Console
    from rich.progress import Progress as Bars

    console = Console(stderr=True)
    with Bars(console=console, transient=True, disable=not console.is_terminal) as bars:
        tasks: dict[str, Any] = {}

        def told(what: str, done: int, of: int) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what)
            bars.update(tasks[what], completed=done, total=of)

        yield told
