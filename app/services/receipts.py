"""The digest of an answer: over what was asked and the answer's numbers, ids and codes, in canonical JSON.

Everything digested is text, whole numbers, lists and objects with plain keys, for which msgspec's sorted output is
the canonical JSON of RFC 8785 to the byte; a test holds it to that.
"""

from collections.abc import Iterable
from hashlib import sha256
from typing import Any, Final

import msgspec

from app.core.asking import BudgetAnswer, StackAnswer
from app.core.conditions import Ruling
from app.core.limits import Figure
from app.core.refusal import Refusal, Unreviewed
from app.core.scope import Value, Years
from app.core.selection import Line
from app.services.views.answers import Receipt

_CANONICAL: Final = msgspec.json.Encoder(order="sorted")


def thousandths(confidence: float | None) -> int | None:
    """A confidence as a whole number, which canonical JSON writes in one way only."""
    return None if confidence is None else round(confidence * 1000)


def receipt(request: Any, answer: Any, as_of: int, method: str) -> Receipt:
    """A receipt for an answer. `request` leaves `as_of` out: asked again as of then, it is the same question."""
    digested = {"answer": answer, "as_of": as_of, "method": method, "request": request}
    return Receipt(f"sha256:{sha256(_CANONICAL.encode(digested)).hexdigest()}", as_of, method)


def limit_numbers(found: Figure) -> list[Any]:
    """A limit's numbers, ids and codes."""
    ruling = found.ruling
    return [
        found.condition,
        _ruling(ruling),
        [
            [asked.dimension, [[_value(each.value), _ruling(each.ruling)] for each in asked.answers]]
            for asked in found.open
        ],
        None if found.refusal is None else refusal_numbers(found.refusal),
        unreviewed_numbers(found.unreviewed_lower),
    ]


def stack_numbers(answer: StackAnswer) -> msgspec.Raw:
    """A stack's numbers, ids and codes, as canonical JSON already."""
    stack = answer.stack
    numbers = [
        [stack.raw, stack.ceiling, stack.mass, stack.vetted, stack.fixing_unsaid],
        [
            [each.name, each.by, each.factor_by, each.allowed, each.ceiling, _line(each.line)]
            for each in stack.constraints
        ],
        None if stack.trap is None else [stack.trap.carrier, stack.trap.carrier_rating],
        [
            [asked.dimension, [[_value(value), allowed] for value, allowed in asked.answers]]
            for asked in answer.questions
        ],
        [refusal_numbers(each) for each in answer.refusals],
        unreviewed_numbers(answer.unreviewed_lower),
        [[each.claims, each.low_grams, each.high_grams] for each in answer.conflicts],
        None
        if answer.estimate is None
        else [answer.estimate.multiple, answer.estimate.parked_limit, answer.estimate.cargo_allowed],
        answer.notes,
    ]
    return msgspec.Raw(_CANONICAL.encode(numbers))


def budget_numbers(answer: BudgetAnswer, stacked: msgspec.Raw) -> list[Any]:
    """A budget's numbers, ids and codes, over those of its stack."""
    worked = answer.budget
    load = worked.load
    return [
        stacked,
        worked.verdict,
        worked.reasons,
        [worked.raw, load.least, load.cargo, load.worst],
        load.missing,
        worked.vetted,
        thousandths(worked.confidence),
        None if worked.weakest is None else worked.weakest.claim,
    ]


def refusal_numbers(refused: Refusal) -> list[Any]:
    """A refusal's ids and codes; nothing stands for enquiries where there are none."""
    best = refused.best
    numbers: list[Any] = [
        refused.figure,
        refused.subject,
        refused.kind,
        best and [best.claim, thousandths(best.confidence)],
    ]
    if refused.enquiries:
        asked = [each.enquiry for each in refused.enquiries]
        numbers.append([[each.id, each.asked, each.outcome, each.asked_on, each.closed_on] for each in asked])
    return numbers


def unreviewed_numbers(found: Iterable[Unreviewed]) -> list[Any]:
    """Undecided claims' numbers and ids."""
    return [[each.claim, each.figure, each.grams] for each in found]


def _ruling(ruling: Ruling) -> list[Any]:
    return [
        [_line(line) for line in ruling.figure],
        [_line(line) for line in ruling.caps],
        [_line(line) for line in ruling.reduced],
        ruling.vetted,
        ruling.notes,
        [[each.claims, each.low_grams, each.high_grams] for each in ruling.conflicts],
    ]


def _line(line: Line) -> list[Any]:
    return [line.side, line.grams, line.firmness, line.claims, thousandths(line.confidence)]


def _value(value: Value) -> Any:
    return [value.first, value.last] if isinstance(value, Years) else value
