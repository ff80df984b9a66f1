"""The gear: what people put on racks, each in its category. Some things have never been weighed by anybody."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL
from seed_demo.shapes import GearBody, Record
from seed_demo.writing import slug


def _gear(by: str, maker: str, model: str, series: str, first_year: int, category: str) -> Record[GearBody]:
    body: GearBody = {
        "maker": maker,
        "model": model,
        "series": series,
        "first_year": first_year,
        "category": category,
    }
    return Record(slug(f"{maker} {model} {series} {first_year}"), by, body)


_P, _O, _M = PIPISTREL, OXBOW, MARRAM

GEAR: tuple[Record[GearBody], ...] = (
    _gear(_P, "bivvenholt", "Dormelle", "D14", 2019, "rooftop_tent"),
    _gear(_P, "bivvenholt", "Dormelle", "D19", 2021, "rooftop_tent"),
    _gear(_P, "bivvenholt", "Clamnest", "CN", 2022, "rooftop_tent"),
    _gear(_P, "bivvenholt", "Snoozel", "S1", 2017, "rooftop_tent"),
    _gear(_P, "bivvenholt", "Vestibold", "V2", 2019, "awning"),
    _gear(_P, "bivvenholt", "Swaggle", "SG", 2020, "other"),
    _gear(_O, "aldwether", "Lappet", "L20", 2018, "awning"),
    _gear(_O, "aldwether", "Lappet", "L25", 2018, "awning"),
    _gear(_O, "aldwether", "Lappet Room", "LR", 2019, "awning_room"),
    _gear(_O, "aldwether", "Fanlapse", "FW270", 2020, "awning"),
    _gear(_O, "aldwether", "Showerel", "SH", 2021, "shower"),
    _gear(_O, "aldwether", "Glaremat", "GM", 2022, "solar_panel"),
    _gear(_O, "aldwether", "Lumbar", "LB40", 2019, "light_bar"),
    _gear(_M, "quoddle", "Wickerfin", "W94", 2016, "board"),
    _gear(_M, "quoddle", "Wickerfin", "W76", 2016, "board"),
    _gear(_M, "quoddle", "Paddelow", "P11", 2019, "board"),
    _gear(_M, "quoddle", "Snowlath", "SL", 2015, "skis"),
    _gear(_M, "quoddle", "Rodtuck", "RT", 2018, "other"),
    _gear(_M, "quoddle", "Cycleft", "CY1", 2017, "bicycle"),
    _gear(_M, "quoddle", "Cycleft", "CY2", 2023, "bicycle"),
    _gear(_P, "packlorn", "Coffrin", "C320", 2015, "roof_box"),
    _gear(_P, "packlorn", "Coffrin", "C450", 2018, "roof_box"),
    _gear(_P, "packlorn", "Sacketto", "SK", 2020, "other"),
    _gear(_P, "packlorn", "Jerribel", "J20", 2014, "fuel_can"),
    _gear(_P, "packlorn", "Watterel", "WT40", 2019, "water_can"),
    _gear(_P, "packlorn", "Gasket Cradle", "GC", 2018, "gas_bottle"),
    _gear(_P, "packlorn", "Sandwaddle", "ST2", 2017, "recovery_boards"),
    _gear(_P, "packlorn", "Spadrel", "SP", 2016, "shovel"),
    _gear(_P, "packlorn", "Wheelcup", "WC", 2019, "spare_wheel"),
    _gear(_P, "packlorn", "Heavelwick", "HL", 2017, "jack"),
    _gear(_P, "packlorn", "Rodrel", "RD", 2020, "pipe_tube"),
    _gear(_P, "packlorn", "Latchest", "LC", 2021, "storage_case"),
    _gear(_M, "oarwick", "Bobbinet", "K3", 2014, "canoe_or_kayak"),
    _gear(_M, "oarwick", "Bobbinet", "K5", 2020, "canoe_or_kayak"),
    _gear(_M, "oarwick", "Canodel", "CD16", 2012, "canoe_or_kayak"),
    _gear(_M, "oarwick", "Runglet", "RG3", 2018, "ladder"),
    _gear(_M, "oarwick", "Runglet", "RG5", 2018, "ladder"),
)
