"""A letter set as a letter: its lines, which were broken for a typewriter's page, as paragraphs and lists again."""

import re
from collections.abc import Iterator
from typing import Final, NamedTuple

_NUMBERED: Final = re.compile(r"[0-9]+\. (.*)")
_CASE: Final = re.compile(r" {0,3}- (.*)")
_DEEPER: Final = " " * 5
_TO_WRITE: Final = re.compile(r"(.*?)\.{8,}")


class Question(NamedTuple):
    """One question: its words, its cases if it has any, and what it says after them."""

    text: str
    cases: list[str]
    after: str


class Block(NamedTuple):
    """Part of a letter: a paragraph, a paragraph with a list beneath it, numbered questions, the line to sign on, or one
    that is left to be written."""

    kind: str
    text: str
    cases: list[str]
    questions: list[Question]


def set_letter(text: str) -> list[Block]:
    """The parts of a letter in their order."""
    return [_block(block.split("\n")) for block in re.split(r"\n{2,}", text.strip("\n"))]


def _block(lines: list[str]) -> Block:
    if _NUMBERED.match(lines[0]):
        return Block("questions", "", [], list(_questions(lines)))
    left = _TO_WRITE.fullmatch(lines[0])
    if left:
        return Block("write", left[1], [], []) if left[1] else Block("sign", " ".join(lines[1:]), [], [])
    told = _told(lines)
    return Block("list" if told.cases else "paragraph", told.text, told.cases, [])


def _questions(lines: list[str]) -> Iterator[Question]:
    begun: list[str] = []
    for line in lines:
        numbered = _NUMBERED.match(line)
        if numbered and begun:
            yield _told(begun)
            begun = []
        begun.append(numbered[1] if numbered else line)
    yield _told(begun)


def _told(lines: list[str]) -> Question:
    """Lines joined again: first the words, then each case, then what follows the cases."""
    words: list[str] = []
    cases: list[str] = []
    after: list[str] = []
    for line in lines:
        case = _CASE.fullmatch(line)
        if case:
            cases.append(case[1])
        elif cases and (line.startswith(_DEEPER) or (line.startswith("  ") and not line.startswith("   "))):
            cases[-1] += f" {line.strip()}"
        else:
            (after if cases else words).append(line.strip())
    return Question(" ".join(words), cases, " ".join(after))
