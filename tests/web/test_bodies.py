"""Reading what is sent: every rule of every type has words for a person, and queries become what bodies would."""

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import inspect

from app.core.claim import Condition
from app.core.errors import CantrailError
from app.core.scope import Roof
from app.services import inputs
from app.services.asked import BudgetIn, ContextIn, LimitIn
from app.services.faults import PATTERNS, faults_in
from app.services.inputs import Input, NewClaim
from app.web.bodies import BodyDecoder, query
from app.web.errors import ProblemError
from app.web.examples import EXAMPLES

INPUTS = [each for each in vars(inputs).values() if isinstance(each, type) and issubclass(each, Input)]


def patterns(of: inspect.Type) -> Iterator[str]:
    match of:
        case inspect.Metadata():
            yield from patterns(of.type)
        case inspect.UnionType():
            for each in of.types:
                yield from patterns(each)
        case inspect.ListType():
            yield from patterns(of.item_type)
        case inspect.StructType():
            for field in of.fields:
                yield from patterns(field.type)
        case inspect.StrType() if of.pattern is not None:
            yield of.pattern
        case _:
            return


@pytest.mark.parametrize("of", INPUTS, ids=lambda each: each.__name__)
def test_every_pattern_has_words(of: type[Input]) -> None:
    assert set(patterns(inspect.type_info(of))) <= PATTERNS.keys()


json_values: Any = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**40), 2**40)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
    max_leaves=8,
)
paths: Any = st.lists(st.integers(0, 5), max_size=4)


def altered(value: Any, path: list[int], put: Any) -> Any:
    """A JSON value with something else at one place in it."""
    if not path or not isinstance(value, dict | list) or not value:
        return put
    step = path[0] % len(value)
    if isinstance(value, list):
        return [altered(item, path[1:], put) if place == step else item for place, item in enumerate(value)]
    name = list(value)[step]
    return {**value, name: altered(value[name], path[1:], put)}


@pytest.mark.parametrize("of", EXAMPLES, ids=lambda each: each.__name__)
@given(path=paths, put=json_values)
def test_the_faults_of_a_body_agree_with_its_decoder(of: type[Input], path: list[int], put: Any) -> None:
    plain = altered(EXAMPLES[of], path, put)
    raw = msgspec.json.encode(plain)
    try:
        msgspec.json.decode(raw, type=of)
    except msgspec.ValidationError:
        assert faults_in(msgspec.json.decode(raw), of) != []
    else:
        assert faults_in(msgspec.json.decode(raw), of) == []


@given(raw=st.binary(max_size=60) | json_values.map(msgspec.json.encode))
def test_whatever_is_sent_is_decoded_or_refused(raw: bytes) -> None:
    # Anything else that is raised fails the test.
    with suppress(CantrailError, ProblemError):
        BodyDecoder(NewClaim).decode(raw)


def test_a_number_is_read_to_the_last_digit() -> None:
    raw = b'{"condition":"on_road","given_roof":{"limit":75.1},"min_confidence":0.85}'
    asked = BodyDecoder(BudgetIn).decode(raw)
    assert asked.given_roof is not None
    assert (str(asked.given_roof.limit), str(asked.min_confidence)) == ("75.1", "0.85")


def test_a_query_is_read_as_a_body_would_be() -> None:
    asked = query(
        b"condition=on_road&year=2021&roofs=glass,raised_rail&market=NZ&min_confidence=0.9&as_of=1187", LimitIn
    )
    context = ContextIn(year=2021, roofs=[Roof.GLASS, Roof.RAISED_RAIL], market="NZ")
    assert (asked.condition, asked.context, str(asked.min_confidence)) == (Condition.ON_ROAD, context, "0.9")
    assert asked.as_of == 1187
    assert query(b"as_of=2026-01-01T00%3A00%3A00Z", LimitIn).as_of == "2026-01-01T00:00:00Z"
    assert query(b"body=&year=", LimitIn) == LimitIn()


@pytest.mark.parametrize("raw", [b"\xff", b"year=%FF", b"year=%00", b"&".join(b"a=1" for _ in range(300)), b"a" * 5000])
def test_a_query_that_cannot_be_read(raw: bytes) -> None:
    with pytest.raises(CantrailError):
        query(raw, LimitIn)
