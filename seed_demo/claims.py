"""Every claim of the scenario, in the order of the days on which they are entered."""

from __future__ import annotations

from seed_demo.makers import (
    cobblewyn,
    gear_makers,
    grelmund,
    hanoriku,
    orrin,
    oulvier,
    ozqueda,
    pellwick,
    skaveld,
    straggmere,
    thrandle,
    trevanka,
    vasquell,
    zimmelholt,
)
from seed_demo.shapes import Claim

_BY_MAKER: tuple[Claim, ...] = (
    *orrin.CLAIMS,
    *vasquell.CLAIMS,
    *grelmund.CLAIMS,
    *oulvier.CLAIMS,
    *ozqueda.CLAIMS,
    *hanoriku.CLAIMS,
    *thrandle.CLAIMS,
    *cobblewyn.CLAIMS,
    *skaveld.CLAIMS,
    *pellwick.CLAIMS,
    *straggmere.CLAIMS,
    *zimmelholt.CLAIMS,
    *trevanka.CLAIMS,
    *gear_makers.CLAIMS,
)

CLAIMS: tuple[Claim, ...] = tuple(sorted(_BY_MAKER, key=lambda claim: claim.on))
