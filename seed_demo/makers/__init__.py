"""One file a maker: its papers, what importers and dealers say about its vehicles, and the claims made from them.
Beside them, figures that are worked back, and pages that only repeat others."""

from __future__ import annotations

from seed_demo.makers import (
    cobblewyn,
    echoes,
    gear_makers,
    grelmund,
    grelmund_papers,
    hanoriku,
    hanoriku_papers,
    orrin,
    orrin_papers,
    oulvier,
    ozqueda,
    pellwick,
    skaveld,
    straggmere,
    thrandle,
    trevanka,
    vasquell,
    vasquell_papers,
    worked_back,
    zimmelholt,
)
from seed_demo.shapes import Claim, Document

_PAPERS = (
    *(orrin_papers, vasquell_papers, grelmund_papers, oulvier, ozqueda, hanoriku_papers, thrandle, cobblewyn, skaveld),
    *(pellwick, straggmere, zimmelholt, trevanka, gear_makers, worked_back, echoes),
)
_CLAIMS = (
    *(orrin, vasquell, grelmund, oulvier, ozqueda, hanoriku, thrandle, cobblewyn, skaveld),
    *(pellwick, straggmere, zimmelholt, trevanka, gear_makers, worked_back, echoes),
)

DOCUMENTS: tuple[Document, ...] = tuple(document for each in _PAPERS for document in each.DOCUMENTS)
"""Every document of the scenario, makers of vehicles first."""

CLAIMS: tuple[Claim, ...] = tuple(
    sorted((claim for each in _CLAIMS for claim in each.CLAIMS), key=lambda claim: claim.on)
)
"""Every claim of the scenario, in the order of the days on which they are entered."""
