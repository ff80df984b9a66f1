"""docs/security.md says what is so: every test and file that it names is there, and every requirement stands in it once."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.web.role_table import DOC, as_markdown, written

TOP: Final = Path(__file__).parents[2]
TEXT: Final = DOC.read_text(encoding="utf-8")
REQUIRED: Final = (
    "1.2.1-4 1.3.5-7 2.2.1-2 2.3.1 2.3.3-4 2.4.1 3.2.1 3.3.1-4 3.4.1-6 3.5.1 3.5.3-4 4.1.1 4.1.3 5.1.1 5.2.1-2 5.3.2 5.4.1-3 "
    "6.1.1 6.2.1 6.2.4-5 6.2.8 6.3.1-3 6.4.3 7.2.2-4 7.3.1-2 7.4.1-3 7.4.5 7.5.1 8.2.1-3 8.3.1 11.4.2-3 11.5.1 13.2.4 "
    "13.3.1 13.4.2 13.4.5 14.2.1 15.2.1-2 15.3.1-3 16.2.1 16.2.5 16.3.1-2 16.4.1-2 16.5.1-3"
)


def required() -> Iterator[str]:
    for part in REQUIRED.split():
        first, _, last = part.partition("-")
        section, _, number = first.rpartition(".")
        for each in range(int(number), int(last or number) + 1):
            yield f"{section}.{each}"


def test_every_requirement_stands_in_the_table_once() -> None:
    listed = re.findall(r"^\| ([0-9]+\.[0-9]+\.[0-9]+) \|", TEXT, re.MULTILINE)
    assert listed == list(required())


def test_every_test_that_is_named_is_there() -> None:
    named = re.findall(r"`(tests/[a-z_/]+\.py)::([a-z0-9_]+)`", TEXT)
    assert len(named) == len(list(required()))
    for path, test in named:
        source = (TOP / path).read_text(encoding="utf-8")
        assert f"\ndef {test}(" in source, f"{path}::{test}"


def test_every_file_that_is_named_is_there() -> None:
    named = re.findall(r"\b((?:core|services|persistence|adapters|web|cli)/[a-z_]+(?:\.py)?)\b", TEXT)
    assert named
    for path in named:
        if f"tests/{path}" not in TEXT:
            assert (TOP / "app" / path).exists(), path


def test_the_table_of_roles_is_the_one_that_is_tested() -> None:
    assert written() == as_markdown(), "write it anew: python -m tests.web.role_table"


def test_the_readme_says_where_to_look() -> None:
    assert "docs/security.md" in (TOP / "README.md").read_text(encoding="utf-8")


def test_every_library_is_pinned() -> None:
    """Releases take their libraries from here, and it is here that one with a known flaw is replaced."""
    project = (
        (TOP / "pyproject.toml").read_text(encoding="utf-8").partition("dependencies = [")[2].partition("]\n\n")[0]
    )
    wanted = {name.lower() for name in re.findall(r'^    "([A-Za-z0-9_-]+)', project, re.MULTILINE)}
    lines = (TOP / "tests" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pinned = {line.partition("==")[0].lower() for line in lines if "==" in line}
    assert wanted
    assert wanted - pinned == set()
