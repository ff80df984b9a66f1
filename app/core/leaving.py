"""What to leave behind: the fewest pieces, of those the lightest, so that the rest may go up even if all of it is as heavy
as it may be.

Every piece counts with the most that it may weigh. How few will do is told by taking the heaviest first. Say that k are
the fewest, and that leaving the k heaviest would relieve the roof by so much more than is needed; that surplus is less
than the k-th heaviest weighs, for otherwise k - 1 would do. Lighter choices come from keeping some that are heavier than
the k-th and leaving as many that are lighter: each such piece takes its difference from the k-th off the surplus. So what
is looked for is the greatest sum of differences that the surplus has room for, with the numbers of pieces in balance. Every
pair of a balance and a sum that can be reached is one bit of a number, gone through weight by weight.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from itertools import islice
from math import gcd
from typing import Final

import msgspec

from app.core.budget import Item, Load, Stack

MOST_BITS: Final = 200_000_000
"""Weights times balances times sums: beyond so many, fewer exchanges are gone through and the lightest choice is not
proven. A hundred pieces stay under it to the gram where the k-th heaviest weighs no more than 20 kg, and where masses are
whole tenths of a kilogram, 2,000 kg. It is part of the method: an answer's digest depends on it."""

MOST_TIES: Final = 5


class Outcome(StrEnum):
    """Whether anything has to be left behind, and whether that helps."""

    NOTHING = "nothing"
    LEAVE = "leave"
    RACK_ALONE_EXCEEDS = "rack_alone_exceeds"
    WHAT_STAYS_EXCEEDS = "what_stays_exceeds"
    WHAT_STAYS_UNKNOWN = "what_stays_unknown"
    LIMIT_UNKNOWN = "limit_unknown"


class Thing(msgspec.Struct, frozen=True):
    """Something carried: its place among what was asked, how many, what all of them and what one of them weighs, and
    whether it must stay."""

    place: int
    quantity: int
    all: Item
    one: Item
    stays: bool = False


Choice = tuple[tuple[int, int], ...]
"""The place of each thing of which something is left behind, with how many pieces, in order."""


class Left(msgspec.Struct, frozen=True):
    """What to leave behind: `choices` are equally good, the first few; `more` says that there are others, or may be.
    `grams` is what the pieces of known mass weigh at most; `lightest`, that it is proven that none is lighter."""

    outcome: Outcome
    pieces: int = 0
    grams: int = 0
    choices: tuple[Choice, ...] = ()
    more: bool = False
    lightest: bool = True


def leave_behind(stack: Stack, load: Load, things: Sequence[Thing], people: Iterable[Item] = ()) -> Left:
    """What to leave behind of a load on a stack. Of a thing whose mass nobody knows, no piece can go up. People stay."""
    if stack.raw is None:
        return Left(Outcome.LIMIT_UNKNOWN)
    if stack.raw < 0:
        return Left(Outcome.RACK_ALONE_EXCEEDS)
    if not load.missing and load.worst <= stack.raw:
        return Left(Outcome.NOTHING)
    staying = [each.worst for each in (*people, *(thing.all for thing in things if thing.stays))]
    if None in staying:
        return Left(Outcome.WHAT_STAYS_UNKNOWN)
    room = stack.raw - sum(each for each in staying if each is not None)
    if room < 0:
        return Left(Outcome.WHAT_STAYS_EXCEEDS)
    loose = [thing for thing in things if not thing.stays]
    unknown = [(thing.place, thing.quantity) for thing in loose if thing.one.worst is None]
    found = fewest(
        [(thing.place, thing.one.worst, thing.quantity) for thing in loose if thing.one.worst is not None], room
    )
    return msgspec.structs.replace(
        found,
        pieces=found.pieces + sum(pieces for _, pieces in unknown),
        choices=tuple(tuple(sorted((*choice, *unknown))) for choice in found.choices),
    )


class _Weight(msgspec.Struct, frozen=True):
    """All pieces of one weight: the places of those things, with how many pieces each has."""

    grams: int
    things: tuple[tuple[int, int], ...]

    @property
    def count(self) -> int:
        return sum(pieces for _, pieces in self.things)


def fewest(pieces: Iterable[tuple[int, int, int]], room: int) -> Left:
    """Of so many pieces of so many grams at each place, the fewest and then lightest whose absence makes the rest fit."""
    weights = _weights(pieces)
    need = sum(each.grams * each.count for each in weights) - room
    if need <= 0:
        return Left(Outcome.LEAVE, choices=((),))
    last, some = _heaviest(weights, need)
    heavier = weights[:last]
    total = sum(each.grams * each.count for each in heavier) + some * weights[last].grams
    exchange = _Exchange(weights, last, some, surplus=total - need)
    relieved, choices = exchange.best()
    found = tuple(islice(choices, MOST_TIES + 1))
    return Left(
        Outcome.LEAVE,
        pieces=sum(each.count for each in heavier) + some,
        grams=total - relieved,
        choices=found[:MOST_TIES],
        more=len(found) > MOST_TIES or not exchange.whole,
        lightest=exchange.whole or relieved == exchange.most,
    )


def _heaviest(weights: Sequence[_Weight], need: int) -> tuple[int, int]:
    """The weight of the last piece, and how many of that weight, when the heaviest are left until it is enough."""
    last = 0
    while weights[last].grams * weights[last].count < need:
        need -= weights[last].grams * weights[last].count
        last += 1
    return last, -(-need // weights[last].grams)


def _weights(pieces: Iterable[tuple[int, int, int]]) -> list[_Weight]:
    """The pieces by weight, the heaviest first."""
    by_weight: dict[int, list[tuple[int, int]]] = {}
    for place, grams, count in pieces:
        by_weight.setdefault(grams, []).append((place, count))
    return [_Weight(grams, tuple(by_weight[grams])) for grams in sorted(by_weight, reverse=True)]


class _Step(msgspec.Struct, frozen=True):
    """A weight other than the k-th: whether it is kept for once (+1) or left instead (-1), by how much each piece of it
    takes off the surplus, and how many there is room for."""

    weight: int
    sign: int
    relief: int
    most: int


class _Exchange:
    """The exchanges between the heaviest pieces and lighter ones: `some` pieces of the weight `last` are left, and all that
    are heavier."""

    def __init__(self, weights: Sequence[_Weight], last: int, some: int, *, surplus: int) -> None:
        self._weights, self._last, self._some = weights, last, some
        steps = [
            _Step(place, 1 if place < last else -1, difference, min(weight.count, surplus // difference))
            for place, weight in enumerate(weights)
            if place != last and (difference := abs(weight.grams - weights[last].grams)) <= surplus
        ]
        self._unit = gcd(*(step.relief for step in steps)) or 1
        self._steps = [msgspec.structs.replace(step, relief=step.relief // self._unit) for step in steps]
        self._sums = surplus // self._unit + 1
        self.most = (self._sums - 1) * self._unit
        up, down = self._reach(1), self._reach(-1)
        self.whole = True
        bundles = sum(len(tuple(_bundles(step.most))) for step in self._steps)
        while bundles * (up + down + 1) * self._sums > MOST_BITS and up + down:
            up, down, self.whole = up // 2, down // 2, False
        if not up + down:
            self._steps, self._sums = [], 1
        self._down, self._balances = down, up + down + 1

    def _reach(self, sign: int) -> int:
        """How many pieces of one kind the surplus has room for at most, those first that take least."""
        room, found = self._sums - 1, 0
        for step in sorted((step for step in self._steps if step.sign == sign), key=lambda step: step.relief):
            some = min(step.most, room // step.relief)
            room -= some * step.relief
            found += some
        return found

    def best(self) -> tuple[int, Iterator[Choice]]:
        """The most that exchanges take off the surplus, and the choices that do."""
        before: list[bytes] = []
        reached = 1 << (self._down * self._sums)
        size = (self._balances * self._sums + 7) // 8
        every = _repeated(self._balances, self._sums)
        for step in self._steps:
            before.append(reached.to_bytes(size, "little"))
            for bundle in _bundles(step.most):
                reached |= self._moved(reached, step, bundle, every)
        after = reached.to_bytes(size, "little")
        sums = {balance: self._highest(after, balance) for balance in self._allowed()}
        most = max(sums.values())
        ends = [balance for balance, sum_ in sums.items() if sum_ == most]
        return most * self._unit, (
            choice for balance in ends for left in self._ways(before, balance, most) for choice in self._shared(left)
        )

    def _allowed(self) -> Iterator[int]:
        """The balances for which there are as many pieces of the k-th weight to leave."""
        count = self._weights[self._last].count
        lowest, highest = -self._down, self._balances - 1 - self._down
        # No exchange at all is first: of choices as good as others, the heaviest things go.
        return iter(sorted(range(max(-self._some, lowest), min(count - self._some, highest) + 1), key=abs))

    def _moved(self, reached: int, step: _Step, bundle: int, every: int) -> int:
        """What a bundle of pieces makes of all that was reached, but for what it would take out of range."""
        room = self._sums - bundle * step.relief
        if room <= 0 or bundle >= self._balances:
            return 0
        edge = bundle * self._sums
        if step.sign > 0:
            within = every & ((1 << (self._balances * self._sums - edge)) - 1)
        else:
            within = every >> edge << edge
        kept = reached & ((within << room) - within)
        shift = step.sign * edge + bundle * step.relief
        return kept << shift if shift >= 0 else kept >> -shift

    def _highest(self, reached: bytes, balance: int) -> int:
        """The greatest sum that was reached with a balance; below nothing where none was."""
        first = (balance + self._down) * self._sums
        around = int.from_bytes(reached[first // 8 : (first + self._sums + 7) // 8], "little")
        return ((around >> first % 8) & ((1 << self._sums) - 1)).bit_length() - 1

    def _ways(self, before: list[bytes], balance: int, sum_: int) -> Iterator[dict[int, int]]:
        """How many pieces of each weight are left behind, for each way that ends with a balance and a sum."""
        moved: dict[int, int] = {}

        def back(place: int, at: int, left: int) -> Iterator[dict[int, int]]:
            if place < 0:
                yield self._counts(moved, balance)
                return
            step = self._steps[place]
            for some in range(min(step.most, left // step.relief) + 1):
                earlier = at - step.sign * some
                if self._was_reached(before[place], earlier, left - some * step.relief):
                    moved[step.weight] = step.sign * some
                    yield from back(place - 1, earlier, left - some * step.relief)

        return back(len(self._steps) - 1, balance, sum_)

    def _was_reached(self, before: bytes, balance: int, sum_: int) -> bool:
        if not 0 <= balance + self._down < self._balances:
            return False
        bit = (balance + self._down) * self._sums + sum_
        return bool(before[bit // 8] >> (bit % 8) & 1)

    def _counts(self, moved: dict[int, int], balance: int) -> dict[int, int]:
        counts = {place: weight.count for place, weight in enumerate(self._weights[: self._last])}
        counts[self._last] = self._some + balance
        for place, some in moved.items():
            counts[place] = counts.get(place, 0) - some
        return counts

    def _shared(self, counts: dict[int, int]) -> Iterator[Choice]:
        """Every way to take so many pieces of each weight from the things that have it; those named last first."""

        def share(weights: Sequence[int]) -> Iterator[tuple[tuple[int, int], ...]]:
            if not weights:
                yield ()
                return
            for some in _taken(self._weights[weights[0]].things, counts[weights[0]]):
                for rest in share(weights[1:]):
                    yield (*some, *rest)

        wanted = [place for place, some in counts.items() if some]
        return (tuple(sorted(choice)) for choice in share(wanted))


def _taken(things: Sequence[tuple[int, int]], some: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Every way to take so many pieces from some things, as many as can be from the last."""
    if not some:
        yield ()
        return
    if not things:
        return
    *others, (place, count) = things
    elsewhere = sum(pieces for _, pieces in others)
    for here in range(min(count, some), max(0, some - elsewhere) - 1, -1):
        for rest in _taken(others, some - here):
            yield (*rest, (place, here)) if here else rest


def _bundles(most: int) -> Iterator[int]:
    """Bundles of pieces of which some make up every number from none to the most."""
    size = 1
    while most:
        bundle = min(size, most)
        yield bundle
        most -= bundle
        size *= 2


def _repeated(times: int, apart: int) -> int:
    """A number with so many bits set, so far apart, from the lowest."""
    found, have = 1, 1
    while have < times:
        found |= found << (have * apart)
        have *= 2
    return found & ((1 << (times * apart)) - 1)
