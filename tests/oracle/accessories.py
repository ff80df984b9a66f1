"""A slow, plain second reading of section 2.5, what accessory pages tell, kept apart from the application.

Every mass is a whole number of tiny units, of which a kilogram has 10**15: half a digit in the sixth decimal of a pound
is still whole. Whether intervals share a point is found by trying every end of every one of them.
"""

import random
from functools import lru_cache
from itertools import combinations
from typing import Any

Row = dict[str, Any]
Table = dict[str, Any]
Span = tuple[int, int]

KILOGRAM = 10**15
TINY = {"kg": KILOGRAM, "lb": KILOGRAM * 45359237 // 10**8}
GRAM = KILOGRAM // 1000

# ---------------------------------------------------------------------------------------------- intervals


@lru_cache(maxsize=8192)
def read(text: str, unit: str) -> Span:
    """A stated figure, give or take half a unit in its last digit, but never below nothing."""
    whole, _, decimals = text.partition(".")
    digit = TINY[unit] // 10 ** len(decimals)
    centre = int(whole + decimals) * digit
    return max(0, centre - digit // 2), centre + digit // 2


def shared(spans: list[Span]) -> Span | None:
    """What all spans have in common, its ends included."""
    inside = []
    for point in [end for span in spans for end in span]:
        if all(low <= point <= high for low, high in spans):
            inside.append(point)
    return (min(inside), max(inside)) if inside else None


def mass_of(row: Row) -> Span:
    low, high = read(row["mass"], row["unit"])
    lighter = row.get("lighter")
    if lighter is not None and lighter * GRAM < low:
        return lighter * GRAM, lighter * GRAM
    return low, high


def load_of(row: Row) -> Span:
    return read(row["load"], row["unit"])


def sum_of(row: Row) -> Span:
    mass, load = mass_of(row), load_of(row)
    return mass[0] + load[0], mass[1] + load[1]


def limits_itself(row: Row) -> bool:
    return row["rating"] is not None and shared([load_of(row), read(row["rating"], row["unit"])]) is not None


def grams_down(tiny: int) -> int:
    return tiny // GRAM


def grams_up(tiny: int) -> int:
    whole = tiny // GRAM
    return whole if whole * GRAM == tiny else whole + 1


# ---------------------------------------------------------------------------------------------- agreement


def agreement(rows: list[Row]) -> tuple[str, Span] | None:
    """How all of these rows agree, and what they share."""
    sums = shared([sum_of(row) for row in rows])
    loads = shared([load_of(row) for row in rows])
    by_sums = by_loads = False
    for one, other in combinations(rows, 2):
        masses_differ = shared([mass_of(one), mass_of(other)]) is None
        loads_differ = shared([load_of(one), load_of(other)]) is None
        if masses_differ and loads_differ and sums is not None:
            by_sums = True
        if masses_differ and loads is not None:
            by_loads = True
    assert not (by_sums and by_loads)
    if by_sums and sums is not None:
        return "sums_agree", sums
    if by_loads and loads is not None:
        return "loads_agree", loads
    return None


def taking_part(rows: list[Row]) -> list[int]:
    """The rows that are heard: those not limited by themselves, or all rows where every one is."""
    others = [index for index, row in enumerate(rows) if not limits_itself(row)]
    return others or list(range(len(rows)))


def largest_agreeing(rows: list[Row]) -> list[tuple[str, list[int]]]:
    """For each way to agree, every largest set of heard rows that would agree so by themselves."""
    rows = rows_used(rows)
    heard = taking_part(rows)
    found: list[tuple[str, list[int]]] = []
    for way in ("sums_agree", "loads_agree"):
        agreeing = []
        for size in range(2, len(heard) + 1):
            for chosen in combinations(heard, size):
                together = agreement([rows[index] for index in chosen])
                if together is not None and together[0] == way:
                    agreeing.append((way, list(chosen)))
        found += [one for one in agreeing if len(one[1]) == max(len(other[1]) for other in agreeing)]
    return found


def tell(rows: list[Row]) -> dict[str, Any]:
    """What the rows tell together, by the lower approved masses wherever there are any, whatever that makes of it."""
    heard = [rows[index] for index in taking_part(rows)]
    agreed = agreement(heard)
    interval = None
    if agreed is None:
        kind, bound = "no_agreement", "at_least"
        low = min(sum_of(row)[0] if row["leaves_out"] else load_of(row)[0] for row in heard)
    else:
        kind, (low, high) = agreed
        bound = "exact" if kind == "sums_agree" else "at_least"
        interval = [grams_down(low), grams_up(high)]
    return {
        "kind": kind,
        "bound": bound,
        "figure_g": grams_down(low),
        "interval_g": interval,
        "self_limited": [index for index, row in enumerate(rows) if limits_itself(row)],
    }


def rows_used(rows: list[Row]) -> list[Row]:
    """The rows with the lower approved masses, or as printed where the lower masses would tell of more.

    Rows that agree only once a mass is lowered, or no longer do, may tell of more than the pages. A lower mass is
    approved to be careful, so then it is not used. Of equal figures, "exact" tells of more than "at least".
    """
    printed = [dict(row, lighter=None) for row in rows]
    by_pages, by_claims = tell(printed), tell(rows)
    if by_claims["figure_g"] > by_pages["figure_g"]:
        return printed
    if by_claims["figure_g"] == by_pages["figure_g"] and by_claims["bound"] == "exact" != by_pages["bound"]:
        return printed
    return rows


def told(rows: list[Row], cap: int | None = None) -> dict[str, Any]:
    """What the rows tell together, in the form of the worked cases. No part of it is above the cap, in grams."""
    result = tell(rows_used(rows))
    if cap is not None:
        result["figure_g"] = min(cap, result["figure_g"])
        if result["interval_g"] is not None:
            result["interval_g"] = [min(cap, end) for end in result["interval_g"]]
    return result


# ---------------------------------------------------------------------------------------------- random tables
# Sizes are millionths of the row's own unit until they are written with so many decimals.

WHOLE = 10**6
MASSES = [4_000_000, 5_200_000, 9_000_000, 17_500_000, 24_000_000, 25_200_000, 31_000_000]
LIMITS = [50_000_000, 75_000_000, 80_000_000, 100_000_000, 165_000_000, 165_347_000]
RATINGS = ["60", "75", "75.0", "100", "165", "165.35", "200"]
DECIMALS = [0, 0, 0, 1, 1, 2]


def written(size: int, decimals: int) -> str:
    """The nearest figure with so many decimals."""
    digit = WHOLE // 10**decimals
    digits = max(0, (size + digit // 2) // digit)
    if decimals == 0:
        return str(digits)
    whole, rest = divmod(digits, 10**decimals)
    return f"{whole}.{rest:0{decimals}d}"


def decimals_of(text: str) -> int:
    return len(text.partition(".")[2])


def digit_of(text: str) -> int:
    digit: int = WHOLE // 10 ** decimals_of(text)
    return digit


def size_of(text: str) -> int:
    return int(text.replace(".", "")) * digit_of(text)


def in_pounds(size: int) -> int:
    return size * 10**8 // 45359237


def a_row(rng: random.Random, mass: str, load: str, unit: str = "kg") -> Row:
    return {
        "mass": mass,
        "load": load,
        "rating": rng.choice(RATINGS) if rng.random() < 0.3 else None,
        "unit": unit,
        "leaves_out": rng.random() < 0.6,
        "lighter": None,
    }


def a_unit(rng: random.Random) -> str:
    return "lb" if rng.random() < 0.3 else "kg"


def sums_agree(rng: random.Random, unit: str | None = None, decimals: list[int] | None = None) -> list[Row]:
    limit = rng.choice(LIMITS)
    unit = unit or a_unit(rng)
    rows = []
    for _ in range(rng.randint(2, 5)):
        mass = written(rng.choice(MASSES) + rng.choice([0, 0, 30_000, 123_456]), rng.choice(decimals or DECIMALS))
        load = written(limit - size_of(mass), rng.choice(decimals or DECIMALS))
        rows.append(a_row(rng, mass, load, unit))
    return rows


def loads_agree(rng: random.Random, unit: str | None = None, decimals: list[int] | None = None) -> list[Row]:
    limit = rng.choice(LIMITS)
    unit = unit or a_unit(rng)
    rows = []
    for _ in range(rng.randint(2, 5)):
        mass = written(rng.choice(MASSES), rng.choice(decimals or DECIMALS))
        rows.append(a_row(rng, mass, written(limit, rng.choice(decimals or DECIMALS)), unit))
    return rows


def either(rng: random.Random) -> list[Row]:
    return sums_agree(rng) if rng.random() < 0.5 else loads_agree(rng)


def limit_by_rating(rng: random.Random, row: Row) -> None:
    """Give the row a rating that its load shares a point with, often only just, and now and then misses."""
    load, decimals = row["load"], rng.choice(DECIMALS)
    half_digits = (digit_of(load) + WHOLE // 10**decimals) // 2
    away = rng.choice([0, 0, 0, half_digits, -half_digits, half_digits + WHOLE // 10**decimals])
    row["rating"] = written(max(WHOLE, size_of(load) + away), decimals)


def some_limited(rng: random.Random) -> list[Row]:
    rows = either(rng)
    for _ in range(rng.randint(1, 2)):
        row = a_row(rng, written(rng.choice(MASSES), rng.choice(DECIMALS)), rng.choice(RATINGS), rows[0]["unit"])
        rows.insert(rng.randint(0, len(rows)), row)
        limit_by_rating(rng, row)
    return rows


def all_limited(rng: random.Random) -> list[Row]:
    rows = rng.choice([either, noise])(rng)
    for row in rows:
        row["rating"] = row["load"]
    if rng.random() < 0.3:
        limit_by_rating(rng, rng.choice(rows))
    return rows


def outlier(rng: random.Random) -> list[Row]:
    rows = either(rng)
    for _ in range(rng.choice([1, 1, 2])):
        away = rng.choice([-20, -3, -2, -1, 1, 2, 3, 20]) * rng.choice([100_000, WHOLE])
        model = rng.choice(rows)
        load = written(max(WHOLE, size_of(model["load"]) + away), decimals_of(model["load"]))
        mass = rng.choice([model["mass"], written(rng.choice(MASSES), rng.choice(DECIMALS))])
        rows.insert(rng.randint(0, len(rows)), a_row(rng, mass, load, model["unit"]))
    return rows


def one_page(rng: random.Random) -> list[Row]:
    return [rng.choice(either(rng))]


def pounds(rng: random.Random) -> list[Row]:
    return rng.choice([sums_agree, loads_agree])(rng, "lb")


def mixed_units(rng: random.Random) -> list[Row]:
    """The same limit printed in kilograms on one page and in pounds on the next."""
    limit, sums = rng.choice(LIMITS), rng.random() < 0.5
    rows = []
    for _ in range(rng.randint(2, 5)):
        unit, mass = rng.choice(["kg", "lb"]), rng.choice(MASSES)
        load = limit - mass if sums else limit
        if unit == "lb":
            mass, load = in_pounds(mass), in_pounds(load)
        decimals = rng.choice(DECIMALS)
        rows.append(a_row(rng, written(mass, decimals), written(load, rng.choice([decimals, 0, 1])), unit))
    return rows


def many_decimals(rng: random.Random) -> list[Row]:
    decimals = rng.choice([[2, 3], [3, 4, 5], [6], [0, 6]])
    return rng.choice([sums_agree, loads_agree])(rng, None, decimals)


def duplicates(rng: random.Random) -> list[Row]:
    """Pages that say the same twice, as printed or with other decimals; often nothing else."""
    rows = either(rng)
    if rng.random() < 0.5:
        rows = rows[:1]
    for row in list(rows):
        again = dict(row, leaves_out=rng.random() < 0.5)
        if rng.random() < 0.5:
            again["mass"] = written(size_of(row["mass"]), rng.choice(DECIMALS))
            again["load"] = written(size_of(row["load"]), rng.choice(DECIMALS))
        rows.append(again)
    rng.shuffle(rows)
    return rows[:6]


def touching(rng: random.Random) -> list[Row]:
    """Two or three rows whose sums, loads or masses just touch, overlap by a digit or miss by one."""
    what, unit = rng.choice(["sums", "loads", "masses"]), a_unit(rng)
    decimals = rng.choice([0, 1, 2])
    mass, load = written(rng.choice(MASSES), decimals), written(rng.choice(LIMITS), rng.choice([decimals, 0, 1]))
    rows = [a_row(rng, mass, load, unit)]
    for sign in rng.choice([[1], [-1], [1, -1], [1, 2]]):
        digits = rng.choice([0, 0, 0, 1, -1])
        if what == "sums":
            other_mass = written(rng.choice(MASSES), rng.choice([decimals, decimals_of(load)]))
            load_decimals = rng.choice([decimals, decimals_of(load)])
            digit = WHOLE // 10**load_decimals
            apart = (digit_of(mass) + digit_of(load) + digit_of(other_mass) + digit) // 2
            total = size_of(mass) + size_of(load) + sign * apart + digits * digit
            other_load = written(total - size_of(other_mass), load_decimals)
        elif what == "loads":
            other_mass = written(rng.choice(MASSES), rng.choice(DECIMALS))
            other_load = written(size_of(load) + (sign + digits) * digit_of(load), decimals_of(load))
        else:
            other_mass = written(size_of(mass) + (sign + digits) * digit_of(mass), decimals)
            fitting = size_of(mass) + size_of(load) - size_of(other_mass)
            other_load = written(rng.choice([size_of(load), fitting]), decimals_of(load))
        rows.append(a_row(rng, other_mass, other_load, unit))
    rng.shuffle(rows)
    return rows


def split_pairs(rng: random.Random) -> list[Row]:
    """Sums share a point, one pair differs in mass and another in load, but no pair in both; or nearly so."""
    unit, decimals = a_unit(rng), rng.choice([0, 1])
    digit = WHOLE // 10**decimals
    mass, load = rng.choice(MASSES), rng.choice(LIMITS)
    rows = []
    for more_mass, less_load in [(0, 0), (2, 1), (1, 2)]:
        wobble = rng.choice([0, 0, 0, 0, 0, 1, -1])
        heavier, lower = mass + more_mass * digit, load - (less_load + wobble) * digit
        rows.append(a_row(rng, written(heavier, decimals), written(lower, decimals), unit))
    rng.shuffle(rows)
    return rows


def lighter_claims(rng: random.Random) -> list[Row]:
    """Approved masses at, around and far from the low ends, and at the ends of other rows' masses."""
    rows = rng.choice([either, touching, split_pairs, outlier])(rng)
    for row in rows:
        if rng.random() < 0.6:
            low = grams_down(read(row["mass"], row["unit"])[0])
            far = rng.choice([-4000, -500, -50, -1, 0, 1, 50, 1000])
            other = rng.choice(rows)
            ends = [grams_down(end) for end in read(other["mass"], other["unit"])]
            row["lighter"] = max(0, rng.choice([low + far, low + far, *ends]))
    if rng.random() < 0.4:
        # Pages that took the approved mass away themselves: the sums agree by it alone.
        limit = rng.choice(LIMITS)
        for row in rows:
            own = row["lighter"] * 1000 if row["lighter"] is not None else size_of(row["mass"])
            row["unit"] = "kg"
            row["load"] = written(max(WHOLE, limit - own), rng.choice(DECIMALS))
    return rows


def zeros(rng: random.Random) -> list[Row]:
    """Nothing may be carried, and readings that end at nothing."""
    rows = []
    for _ in range(rng.randint(1, 4)):
        mass = rng.choice(["0", "0.0", "0.4", "1", "1.0", "24", "31"])
        row = a_row(rng, mass, rng.choice(["0", "0", "0.0", "0.5", "1"]), a_unit(rng))
        row["rating"] = rng.choice([None, None, "0", "1", "2"])
        rows.append(row)
    return rows


def noise(rng: random.Random) -> list[Row]:
    rows = []
    for _ in range(rng.randint(1, 6)):
        mass = written(rng.choice(MASSES), rng.choice(DECIMALS))
        load = written(rng.choice(LIMITS) - rng.choice([0, *MASSES]), rng.choice(DECIMALS))
        rows.append(a_row(rng, mass, load, a_unit(rng)))
    return rows


MAKERS = {
    "sums agree": sums_agree,
    "loads agree": loads_agree,
    "some limited": some_limited,
    "all limited": all_limited,
    "outlier": outlier,
    "one page": one_page,
    "pounds": pounds,
    "mixed units": mixed_units,
    "many decimals": many_decimals,
    "duplicates": duplicates,
    "touching": touching,
    "split pairs": split_pairs,
    "lighter claims": lighter_claims,
    "zeros": zeros,
    "noise": noise,
}


def tables(seed: int) -> Table:
    """One random table, every kind in turn: what kind it is, its rows, and a cap in grams or None."""
    rng = random.Random(f"accessory pages {seed}")
    kind = list(MAKERS)[seed % len(MAKERS)]
    rows = MAKERS[kind](rng)
    for row in rows:
        if row["lighter"] is None and rng.random() < 0.06:
            row["lighter"] = max(0, grams_down(read(row["mass"], row["unit"])[0]) + rng.choice([-2000, -100, -1, 0, 1]))
    cap = None
    if rng.random() < 0.3:
        figure = told(rows)["figure_g"]
        cap = max(0, figure + rng.choice([-20000, -1000, -1, 0, 1, 500, 50000]))
    return {"kind": kind, "rows": rows, "cap": cap}
