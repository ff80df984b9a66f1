"""The tables of operations, pages and roles as docs/security.md has them: `python -m tests.web.role_table` writes them there."""

from pathlib import Path
from typing import Final

from tests.web.pages import test_page_roles as pages
from tests.web.test_roles import ASKS_WHO, IN_SESSION, KNOWN, OPEN, REVIEW, STEWARD, SUBMIT, TABLE

DOC: Final = Path(__file__).parents[2] / "docs" / "security.md"
BEGINS: Final = "<!-- roles: written by `python -m tests.web.role_table` -->\n"
ENDS: Final = "<!-- end of roles -->\n"
WORDS: Final[dict[tuple[bool, ...], str]] = {
    OPEN: "anybody",
    KNOWN: "whoever is signed in, by token or session",
    SUBMIT: "contributor, reviewer, steward; a token needs the scope `submit`",
    REVIEW: "reviewer, steward; a token needs the scope `review`",
    STEWARD: "steward",
    IN_SESSION: "in a session only; the role as the call itself says",
}
ASKED: Final = "anybody, and refused for what they say"


PAGE_WORDS: Final[dict[tuple[bool, ...], str]] = {
    pages.OPEN: "anybody",
    pages.SIGNED_IN: "whoever is signed in",
    pages.REVIEW: "reviewer, steward",
    pages.STEWARD: "steward",
}


def as_markdown() -> str:
    """A row for each operation and then one for each page, in the order of their addresses."""
    return (
        f"{_operations()}\nPages are at addresses of their own, and asked for in a session or as nobody.\n\n{_pages()}"
    )


def _pages() -> str:
    rows = {**{each: PAGE_WORDS[row] for each, row in pages.TABLE.items()}, **dict.fromkeys(pages.ASKS_WHO, ASKED)}
    lines = [
        f"| `{page}` | {who} |"
        for page, who in sorted(rows.items(), key=lambda row: (row[0].partition(" ")[2], row[0]))
    ]
    return "\n".join(["| page | who may |", "| --- | --- |", *lines, ""])


def _operations() -> str:
    rows = {**{each: WORDS[row] for each, row in TABLE.items()}, **dict.fromkeys(ASKS_WHO, ASKED)}
    lines = [
        f"| `{method} {path.removeprefix('/api/v1')}` | {who} |"
        for (method, path), who in sorted(rows.items(), key=lambda row: (row[0][1], row[0][0]))
    ]
    return "\n".join(["| operation | who may |", "| --- | --- |", *lines, ""])


def written() -> str:
    """The table as the document has it now."""
    return DOC.read_text(encoding="utf-8").partition(BEGINS)[2].partition(ENDS)[0]


if __name__ == "__main__":
    before, _, rest = DOC.read_text(encoding="utf-8").partition(BEGINS)
    after = rest.partition(ENDS)[2]
    DOC.write_text(f"{before}{BEGINS}{as_markdown()}{ENDS}{after}", encoding="utf-8")
