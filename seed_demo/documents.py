"""Every document of the scenario, makers of vehicles first."""

from __future__ import annotations

from seed_demo.makers import (
    cobblewyn,
    gear_makers,
    grelmund_papers,
    hanoriku_papers,
    orrin_papers,
    oulvier,
    ozqueda,
    pellwick,
    skaveld,
    straggmere,
    thrandle,
    trevanka,
    vasquell_papers,
    zimmelholt,
)
from seed_demo.shapes import Document

DOCUMENTS: tuple[Document, ...] = (
    *orrin_papers.DOCUMENTS,
    *vasquell_papers.DOCUMENTS,
    *grelmund_papers.DOCUMENTS,
    *oulvier.DOCUMENTS,
    *ozqueda.DOCUMENTS,
    *hanoriku_papers.DOCUMENTS,
    *thrandle.DOCUMENTS,
    *cobblewyn.DOCUMENTS,
    *skaveld.DOCUMENTS,
    *pellwick.DOCUMENTS,
    *straggmere.DOCUMENTS,
    *zimmelholt.DOCUMENTS,
    *trevanka.DOCUMENTS,
    *gear_makers.DOCUMENTS,
)
