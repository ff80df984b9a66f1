"""Zimmelholt: bars, platforms and baskets with German sheets; and Ondurel's galleries, French ones."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing
from seed_demo.writing import (
    INC,
    NS,
    PARKED,
    ROAD,
    ROUGH,
    STATEMENT,
    UNVERIFIED,
    Entered,
    cite,
    one,
    page,
    table,
    two,
    where,
)

TRAGNITZ, PLATTNIK = "zimmelholt-tragnitz-tn1-2014", "zimmelholt-plattnik-pn2-2019"
KORBNITZ = "zimmelholt-korbnitz-kn-2016"
RING_G, RING_P = "zimmelholt-fusselring-fs1-2014", "zimmelholt-fusselring-fs2-2019"
GALERIANE, BARQUELLE = "ondurel-galeriane-g1-2012", "ondurel-barquelle-bq-2018"
PATINELLE = "ondurel-patinelle-pt1-2012"

TRAGNITZ_SHEET = Document(
    *(
        "tragnitz-sheet",
        "zimmelholt",
        "instruction_sheet",
        "Tragnitz, Plattnik, Fusselring: Anbau",
        "Blatt 7, Stand 2020",
    ),
    *("2020-02-01", "2023-12-04", "de", None),
    (
        page(
            "Teile",
            "Bügel Tragnitz mit angebautem Fuß. Plattform Plattnik auf Fusselringen.",
            Drawing("bars", "Tragnitz."),
        ),
        page(
            "Massen und Lasten",
            table(
                "Teil | Eigenmasse | Last",
                "Tragnitz, das Paar mit Füßen | 6.4 kg | 90 kg",
                "Plattnik, ohne Füße | 31.5 kg | 120 kg",
                "Fusselring FS1, je Fuß | 0.9 kg | 37.5 kg",
                "Fusselring FS2, je Fuß | 0.7 kg | 45 kg",
            ),
            "Last der Träger: was darauf liegt. Last der Füße: alles darüber.",
            "Plattnik auf Schotter: 80 kg. Im Stand: 300 kg.",
            Caution("ACHTUNG", "Die Dachlast des Fahrzeugs geht immer vor."),
        ),
    ),
)
ZIMMEL_LIST = Document(
    *("zimmelholt-fit-list", "zimmelholt", "catalogue", "Zimmelholt: welcher Träger wohin", "Liste 2024"),
    *("2024-02-01", "2024-02-20", "de", None),
    (
        page(
            "Welcher Träger wohin",
            table(
                "Träger | Fahrzeug | Last hier",
                "Tragnitz | Halmwig H40, Reling | 80 kg",
                "Tragnitz | Uvenn U2, hohe Reling | 90 kg",
                "Plattnik, FS2 | Zettlow Z2, Fixpunkte | 110 kg",
                "Korbnitz | Halmwig H50 | auf Anfrage",
            ),
            "Korbnitz: 14 kg, trägt 60 kg.",
        ),
    ),
)
DACHKRAM_PAGE = Document(
    *("dachkram-page", "dachkrambude", "accessory_page", "Gebrauchte Träger", "Angebot 118"),
    *("2025-12-01", "2025-12-15", "de", "DE"),
    (page("Korbnitz, wenig benutzt", "Ein Korb, 14 kg, trägt 75 kg, war auf einem Halmwig H50."),),
)
GALERIANE_SHEET = Document(
    *("galeriane-sheet", "ondurel", "instruction_sheet", "Galeriane et Patinelle: montage", "Notice 3, 2016"),
    *("2016-03-01", "2023-12-04", "fr", None),
    (
        page(
            "Masses et charges",
            table(
                "Pièce | Masse | Charge",
                "Galeriane, sans pieds | 19.5 kg | 100 kg",
                "Patinelle, chaque pied | 1.05 kg | 32 kg",
            ),
            "La charge de la galerie est ce qu'on y pose. La charge d'un pied est tout ce qu'il porte.",
            "Sur piste, la Galeriane ne porte plus que 3/5 de sa charge.",
            "Sur le Toquart à gouttière, la Galeriane porte 70 kg.",
            Drawing("bars", "Galeriane sur gouttière."),
            Caution("ATTENTION", "Consultez la notice du véhicule avant la nôtre."),
        ),
    ),
)
BARQUELLE_PAGE = Document(
    *("barquelle-page", "ondurel", "maker_page", "Barquelle, la barre", "Vue en 2025"),
    *("2025-02-01", "2025-03-10", "fr", "FR"),
    (page("Barquelle", "Chaque barre pèse 2.3 kg et porte 40 kg. Le nombre de barres dépend du toit."),),
    address="https://www.ondurel.example/barquelle",
)
GALERIE_LIST = Document(
    *("galerie-list", "galerie-et-compagnie", "accessory_page", "Arrivages", "Mai 2026"),
    *("2026-05-01", "2026-05-18", "fr", "FR"),
    (page("Barquelle", "Deux barres Barquelle, 75 kg la paire, pour Mirelange et Lomazil."),),
)

DOCUMENTS: tuple[Document, ...] = (
    TRAGNITZ_SHEET,
    ZIMMEL_LIST,
    DACHKRAM_PAGE,
    GALERIANE_SHEET,
    BARQUELLE_PAGE,
    GALERIE_LIST,
)

_FIRST = Entered(OXBOW, "2023-12-11")
_SECOND = Entered(MARRAM, "2024-02-28")
_THIRD = Entered(PIPISTREL, "2025-03-17")
_LAST = Entered(OXBOW, "2026-05-25")

CLAIMS: tuple[Claim, ...] = (
    _FIRST.mass(
        *("tragnitz-mass", "carrier", TRAGNITZ, "6.4 kg"),
        cite(TRAGNITZ_SHEET, 2, "Tragnitz, das Paar mit Füßen 6.4 kg 90 kg"),
        two(VERJUICE, TAMBOUR),
        per="pair",
        basis="includes_fixing",
    ),
    _FIRST.rating(
        *("tragnitz-road", "carrier", TRAGNITZ, "90 kg", ROAD),
        cite(TRAGNITZ_SHEET, 2, "Tragnitz, das Paar mit Füßen 6.4 kg 90 kg"),
        two(VERJUICE, TAMBOUR),
        per="pair",
    ),
    _FIRST.mass(
        *("plattnik-mass", "carrier", PLATTNIK, "31.5 kg"),
        cite(TRAGNITZ_SHEET, 2, "Plattnik, ohne Füße 31.5 kg 120 kg"),
        two(VERJUICE, TAMBOUR),
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("plattnik-road", "carrier", PLATTNIK, "120 kg", ROAD),
        cite(TRAGNITZ_SHEET, 2, "Plattnik, ohne Füße 31.5 kg 120 kg"),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.rating(
        *("plattnik-rough", "carrier", PLATTNIK, "80 kg", ROUGH),
        cite(TRAGNITZ_SHEET, 2, "Plattnik auf Schotter: 80 kg."),
        two(VERJUICE, TAMBOUR),
    ),
    _FIRST.rating(
        *("plattnik-parked", "carrier", PLATTNIK, "300 kg", PARKED),
        cite(TRAGNITZ_SHEET, 2, "Im Stand: 300 kg."),
        one(VERJUICE),
    ),
    _FIRST.mass(
        *("ring-gutter-mass", "fixing", RING_G, "0.9 kg"),
        cite(TRAGNITZ_SHEET, 2, "Fusselring FS1, je Fuß 0.9 kg 37.5 kg"),
        two(VERJUICE, UNDERFELL),
        per="foot",
    ),
    _FIRST.rating(
        *("ring-gutter-road", "fixing", RING_G, "37.5 kg", ROAD),
        cite(TRAGNITZ_SHEET, 2, "Fusselring FS1, je Fuß 0.9 kg 37.5 kg"),
        two(VERJUICE, UNDERFELL),
        per="foot",
        basis=INC,
    ),
    _FIRST.mass(
        *("ring-points-mass", "fixing", RING_P, "0.7 kg"),
        cite(TRAGNITZ_SHEET, 2, "Fusselring FS2, je Fuß 0.7 kg 45 kg"),
        two(VERJUICE, UNDERFELL),
        per="foot",
    ),
    _FIRST.rating(
        *("ring-points-road", "fixing", RING_P, "45 kg", ROAD),
        cite(TRAGNITZ_SHEET, 2, "Fusselring FS2, je Fuß 0.7 kg 45 kg"),
        two(VERJUICE, UNDERFELL),
        per="foot",
        basis=INC,
    ),
    _SECOND.rating(
        *("tragnitz-on-halmwig-h40-road", "fitment", "tragnitz-on-halmwig-h40", "80 kg", ROAD),
        cite(ZIMMEL_LIST, 1, "Tragnitz Halmwig H40, Reling 80 kg"),
        two(VERJUICE, TAMBOUR),
        basis=NS,
        scope=where(None, None, "raised_rail"),
        source_type=STATEMENT,
    ),
    _SECOND.rating(
        *("tragnitz-on-uvenn-u2-road", "fitment", "tragnitz-on-uvenn-u2", "90 kg", ROAD),
        cite(ZIMMEL_LIST, 1, "Tragnitz Uvenn U2, hohe Reling 90 kg"),
        two(VERJUICE, TAMBOUR),
        basis=NS,
        scope=where(None, None, "raised_rail"),
        source_type=STATEMENT,
    ),
    _SECOND.rating(
        *("plattnik-on-zettlow-z2-road", "fitment", "plattnik-on-zettlow-z2", "110 kg", ROAD),
        cite(ZIMMEL_LIST, 1, "Plattnik, FS2 Zettlow Z2, Fixpunkte 110 kg"),
        one(TAMBOUR),
        basis=NS,
        scope=where(None, None, "fixed_points"),
        source_type=STATEMENT,
    ),
    _SECOND.mass(
        *("korbnitz-mass", "carrier", KORBNITZ, "14 kg"),
        cite(ZIMMEL_LIST, 1, "Korbnitz: 14 kg, trägt 60 kg."),
        two(QUILLON, SEDGE),
        basis=NS,
        source_type=STATEMENT,
    ),
    _SECOND.rating(
        *("korbnitz-road", "carrier", KORBNITZ, "60 kg", ROAD),
        cite(ZIMMEL_LIST, 1, "Korbnitz: 14 kg, trägt 60 kg."),
        two(QUILLON, SEDGE),
        basis=NS,
        source_type=STATEMENT,
    ),
    _FIRST.mass(
        *("galeriane-mass", "carrier", GALERIANE, "19.5 kg"),
        cite(GALERIANE_SHEET, 1, "Galeriane, sans pieds 19.5 kg 100 kg"),
        two(QUILLON, VERJUICE),
        basis="excludes_fixing",
    ),
    _FIRST.rating(
        *("galeriane-road", "carrier", GALERIANE, "100 kg", ROAD),
        cite(GALERIANE_SHEET, 1, "Galeriane, sans pieds 19.5 kg 100 kg"),
        two(QUILLON, VERJUICE),
    ),
    _FIRST.factor(
        *("galeriane-factor", "carrier", GALERIANE, "3/5", "own_rating"),
        cite(GALERIANE_SHEET, 1, "Sur piste, la Galeriane ne porte plus que 3/5 de sa charge."),
        two(QUILLON, VERJUICE),
    ),
    _FIRST.mass(
        *("patinelle-mass", "fixing", PATINELLE, "1.05 kg"),
        cite(GALERIANE_SHEET, 1, "Patinelle, chaque pied 1.05 kg 32 kg"),
        two(QUILLON, VERJUICE),
        per="foot",
    ),
    _FIRST.rating(
        *("patinelle-road", "fixing", PATINELLE, "32 kg", ROAD),
        cite(GALERIANE_SHEET, 1, "Patinelle, chaque pied 1.05 kg 32 kg"),
        two(QUILLON, VERJUICE),
        per="foot",
        basis=INC,
    ),
    _FIRST.rating(
        *("galeriane-on-toquart-road", "fitment", "galeriane-on-toquart", "70 kg", ROAD),
        cite(GALERIANE_SHEET, 1, "Sur le Toquart à gouttière, la Galeriane porte 70 kg."),
        two(UNDERFELL, VERJUICE),
        scope=where(None, None, "gutter"),
    ),
    _THIRD.mass(
        *("barquelle-mass", "carrier", BARQUELLE, "2.3 kg"),
        cite(BARQUELLE_PAGE, 1, "Chaque barre pèse 2.3 kg et porte 40 kg."),
        two(UNDERFELL, SEDGE),
        per="bar",
        basis=NS,
        source_type=STATEMENT,
    ),
    _THIRD.rating(
        *("barquelle-road", "carrier", BARQUELLE, "40 kg", ROAD),
        cite(BARQUELLE_PAGE, 1, "Chaque barre pèse 2.3 kg et porte 40 kg."),
        one(UNDERFELL),
        per="bar",
        basis=NS,
        source_type=STATEMENT,
    ),
    _LAST.rating(
        *("korbnitz-second-hand-road", "carrier", KORBNITZ, "75 kg", ROAD),
        cite(DACHKRAM_PAGE, 1, "Ein Korb, 14 kg, trägt 75 kg, war auf einem Halmwig H50."),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.rating(
        *("barquelle-shop-road", "carrier", BARQUELLE, "75 kg", ROAD),
        cite(GALERIE_LIST, 1, "Deux barres Barquelle, 75 kg la paire, pour Mirelange et Lomazil."),
        per="pair",
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
