"""Categories of gear and the masses that such things usually have, for gear of which no figure is known.

Common practice of the trade, no source: wide on purpose, and never a figure of a claim.
"""

from collections.abc import Iterable

import msgspec

from app.core.budget import Item
from app.core.mass import Stated, ceil, parse_mass
from app.core.selection import Mass


class Category(msgspec.Struct, frozen=True):
    """A kind of gear and the usual range of its mass in grams."""

    id: str
    name: str
    low: int
    high: int


CATEGORIES: dict[str, Category] = {
    category.id: category
    for category in (
        Category("rooftop_tent", "Rooftop tent", 50_000, 100_000),
        Category("awning", "Awning", 8_000, 30_000),
        Category("awning_room", "Awning room or wall", 5_000, 20_000),
        Category("roof_box", "Roof box, empty", 10_000, 30_000),
        Category("canoe_or_kayak", "Canoe or kayak", 15_000, 40_000),
        Category("board", "Surfboard or paddle board", 3_000, 20_000),
        Category("skis", "Skis or snowboards, a pair", 3_000, 9_000),
        Category("bicycle", "Bicycle with its holder", 12_000, 35_000),
        Category("spare_wheel", "Spare wheel with tyre", 18_000, 45_000),
        Category("fuel_can", "Fuel can, full", 17_000, 25_000),
        Category("water_can", "Water container, full", 20_000, 30_000),
        Category("gas_bottle", "Gas bottle, full", 8_000, 30_000),
        Category("recovery_boards", "Recovery boards, a pair", 4_000, 12_000),
        Category("shovel", "Shovel or axe", 1_000, 4_000),
        Category("jack", "High-lift jack", 12_000, 20_000),
        Category("ladder", "Ladder", 8_000, 25_000),
        Category("pipe_tube", "Conduit tube with contents", 5_000, 30_000),
        Category("light_bar", "Light bar with brackets", 2_000, 12_000),
        Category("solar_panel", "Solar panel with brackets", 4_000, 20_000),
        Category("storage_case", "Storage case, loaded", 8_000, 35_000),
        Category("shower", "Shower or water tube, full", 10_000, 40_000),
        Category("other", "Anything else", 1_000, 50_000),
    )
}


def heaviest(ids: Iterable[str]) -> Category | None:
    """The category of a thing; where it may be of several, one that is no lighter than any of them. None where nothing is
    known of it."""
    known = [CATEGORIES[id] for id in ids if id in CATEGORIES]
    if not known:
        return None
    first = known[0]
    return Category(first.id, first.name, max(each.low for each in known), max(each.high for each in known))


def weighed(name: str, mass: Stated, tolerance: Stated | None, quantity: int) -> Item:
    """So many of a thing of stated mass, each as heavy as stated, more or less by its tolerance."""
    grams = ceil(parse_mass(mass), quantity)
    spread = ceil(parse_mass(tolerance), quantity) if tolerance else 0
    return Item(name, grams, grams, grams + spread)


def recorded(name: str, mass: Mass, quantity: int) -> Item:
    """So many of a thing whose own mass the registry has."""
    grams = mass.grams * quantity
    return Item(name, grams, grams, grams, mass)


def usual(name: str, category: Category | None, quantity: int, approved: Iterable[int] = ()) -> Item:
    """So many of a thing of which only the category is known, or nothing. The top of its range is no less than any
    mass that a reviewer approved: what is too weak to be its mass makes it no lighter."""
    if category is None:
        return Item(name, None, None, None)
    most = max((category.high, *approved)) * quantity
    return Item(name, category.low * quantity, most, most)
