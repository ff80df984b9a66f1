"""Oulvier: French wagons and a van with a gutter."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing
from seed_demo.writing import (
    EXC,
    NS,
    PARKED,
    ROAD,
    ROUGH,
    SILENT,
    STATEMENT,
    UNVERIFIED,
    Entered,
    cite,
    dispute,
    one,
    page,
    table,
    two,
    where,
)

ML1, ML2, ML3 = "oulvier-mirelange-ml1-2008", "oulvier-mirelange-ml2-2015", "oulvier-mirelange-ml3-2022"
TQ = "oulvier-toquart-tq-2016"

_ATTENTION = Caution(
    "ATTENTION", "Une charge sur le toit change la tenue de route. Roulez moins vite, freinez plus tôt."
)

MIRELANGE_ML1_BOOK = Document(
    *("mirelange-ml1-book", "oulvier", "handbook", "Mirelange: notice d'emploi, fiche 12", "Édition 2011"),
    *("2011-02-01", "2023-06-06", "fr", "FR"),
    (
        page(
            "Charge sur le toit",
            "Mirelange fabriquées de 2008 à 2014. Charge maximale sur le toit, barres comprises: break 80 kg, "
            "berline cinq portes 60 kg.",
            Drawing("wagon", "Le break."),
            _ATTENTION,
        ),
    ),
)
MIRELANGE_ML2_BOOK = Document(
    *("mirelange-ml2-book", "oulvier", "handbook", "Mirelange: notice d'emploi, fiche 12", "Édition 2019"),
    *("2019-01-15", "2023-06-06", "fr", "FR"),
    (
        page(
            "Avant de charger",
            "Pesez les barres, le coffre et ce que vous y mettez.",
            Drawing("wagon", "Barres longitudinales."),
        ),
        page(
            "Charge sur le toit, 2015 à 2021",
            table(
                "Carrosserie et toit | En roulant | À l'arrêt",
                "Break, barres longitudinales | 85 kg | 255 kg",
                "Break, toit vitré | 45 kg | 135 kg",
                "Break, toit nu | 75 kg | 225 kg",
                "Berline, tous les toits | 60.5 kg | 180 kg",
            ),
            "Les barres transversales sont comprises dans la charge.",
            "Hors des routes revêtues, réduisez la charge du break à 50 kg, quel que soit le toit.",
            _ATTENTION,
        ),
    ),
)
MIRELANGE_ML3_PAGE = Document(
    *("mirelange-ml3-page", "oulvier", "maker_page", "La nouvelle Mirelange", "Vue en mars 2024"),
    *("2024-02-20", "2024-03-11", "fr", "FR"),
    (
        page(
            "Sur le toit",
            "Le break de 2022 et des années suivantes porte 80 kg sur ses barres, en plus du poids des barres (5.5 "
            "kg).",
        ),
    ),
    address="https://www.oulvier.example/mirelange/toit",
)
MIRELANGE_ML3_LETTER = Document(
    *("mirelange-ml3-letter", "oulvier", "letter", "Charge sur le toit de la Mirelange 2022", "Dossier 7731"),
    *("2025-06-12", "2025-06-30", "fr", "FR"),
    (
        page(
            "Votre question du 2 juin",
            "Pour le break, à partir de 2022, la charge sur le toit est de 85.5 kg barres comprises, sur route.",
            "À l'arrêt, elle est de 250 kg barres comprises.",
            "Nous ne donnons pas de valeur pour les pistes.",
        ),
    ),
)
TOQUART_BOOK = Document(
    *("toquart-book", "oulvier", "handbook", "Toquart: notice d'emploi, fiche 9", "Édition 2020"),
    *("2020-05-01", "2023-06-06", "fr", None),
    (
        page(
            "Un toit pour travailler",
            "Le fourgon a des points d'ancrage. La fourgonnette vitrée a une gouttière.",
            Drawing("van", "Le fourgon."),
        ),
        page(
            "Charge sur le toit, à partir de 2016",
            table(
                "Toit | En roulant, galerie non comprise",
                "Fourgon, points d'ancrage | 100 kg",
                "Fourgonnette, gouttière | 75 kg",
            ),
            "Ces charges s'entendent sans la galerie Oulvier, qui pèse 18 kg.",
            "Sur piste, ne dépassez pas 4/5 de ces charges.",
            _ATTENTION,
        ),
    ),
)
VRILLON_PAGE = Document(
    *("vrillon-page", "garage-du-pont-vrillon", "accessory_page", "Coffres et barres", "Été 2025"),
    *("2025-06-01", "2025-07-01", "fr", "FR"),
    (
        page(
            "Nos poses",
            "Break Mirelange avec toit vitré: pas de souci, 75 kg.",
            "Toquart, toutes versions: 100 kg, galerie en plus.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(MIRELANGE_ML1_BOOK, MIRELANGE_ML2_BOOK, MIRELANGE_ML3_PAGE, MIRELANGE_ML3_LETTER, TOQUART_BOOK, VRILLON_PAGE),
)

_FIRST = Entered(PIPISTREL, "2023-06-19")
_SECOND = Entered(OXBOW, "2024-03-25")
_THIRD = Entered(MARRAM, "2025-07-07")
_LAST = Entered(PIPISTREL, "2026-05-04")

_1, _2, _3 = (2008, 2014), (2015, 2021), (2022, None)

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("mirelange-ml1-wagon-road", ML1, "80 kg", ROAD, where(_1, "wagon")),
        cite(
            MIRELANGE_ML1_BOOK,
            1,
            "Charge maximale sur le toit, barres comprises: break 80 kg, berline cinq portes 60 kg.",
        ),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml1-hatch-road", ML1, "60 kg", ROAD, where(_1, "hatch")),
        cite(
            MIRELANGE_ML1_BOOK,
            1,
            "Charge maximale sur le toit, barres comprises: break 80 kg, berline cinq portes 60 kg.",
        ),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-rails-road", ML2, "85 kg", ROAD, where(_2, "wagon", "raised_rail")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, barres longitudinales 85 kg 255 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-rails-parked", ML2, "255 kg", PARKED, where(_2, "wagon", "raised_rail")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, barres longitudinales 85 kg 255 kg"),
        two(UNDERFELL, QUILLON),
    ),
    _FIRST.roof(
        *("mirelange-ml2-glass-road", ML2, "45 kg", ROAD, where(_2, "wagon", "glass")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, toit vitré 45 kg 135 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-glass-parked", ML2, "135 kg", PARKED, where(_2, "wagon", "glass")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, toit vitré 45 kg 135 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-bare-road", ML2, "75 kg", ROAD, where(_2, "wagon", "bare")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, toit nu 75 kg 225 kg"),
        two(UNDERFELL, SEDGE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-bare-parked", ML2, "225 kg", PARKED, where(_2, "wagon", "bare")),
        cite(MIRELANGE_ML2_BOOK, 2, "Break, toit nu 75 kg 225 kg"),
        one(UNDERFELL),
    ),
    _FIRST.roof(
        *("mirelange-ml2-hatch-road", ML2, "60.5 kg", ROAD, where(_2, "hatch", "all")),
        cite(MIRELANGE_ML2_BOOK, 2, "Berline, tous les toits 60.5 kg 180 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-hatch-parked", ML2, "180 kg", PARKED, where(_2, "hatch", "all")),
        cite(MIRELANGE_ML2_BOOK, 2, "Berline, tous les toits 60.5 kg 180 kg"),
        two(UNDERFELL, VERJUICE),
    ),
    _FIRST.roof(
        *("mirelange-ml2-rough", ML2, "50 kg", ROUGH, where(_2, "wagon", "all")),
        cite(MIRELANGE_ML2_BOOK, 2, "réduisez la charge du break à 50 kg, quel que soit le toit"),
        (
            *two(TAMBOUR, SEDGE),
            dispute(
                MARRAM, None, "Higher than the glass roof's 45 kg on the road, so it cannot be meant for glass roofs."
            ),
        ),
    ),
    _SECOND.roof(
        *("mirelange-ml3-page-road", ML3, "80 kg", ROAD, where(_3, "wagon")),
        cite(MIRELANGE_ML3_PAGE, 1, "porte 80 kg sur ses barres, en plus du poids des barres (5.5 kg)"),
        two(QUILLON, TAMBOUR),
        basis=EXC,
        excluded_mass="5.5 kg",
        source_type=STATEMENT,
    ),
    _SECOND.roof(
        *("toquart-points-road", TQ, "100 kg", ROAD, where((2016, None), "van", "fixed_points")),
        [
            cite(TOQUART_BOOK, 2, "Fourgon, points d'ancrage 100 kg"),
            cite(TOQUART_BOOK, 2, "Ces charges s'entendent sans la galerie Oulvier, qui pèse 18 kg."),
        ],
        two(SEDGE, UNDERFELL),
        basis=EXC,
        excluded_mass="18 kg",
    ),
    _SECOND.roof(
        *("toquart-gutter-road", TQ, "75 kg", ROAD, where((2016, None), "other", "gutter")),
        [
            cite(TOQUART_BOOK, 2, "Fourgonnette, gouttière 75 kg"),
            cite(TOQUART_BOOK, 2, "Ces charges s'entendent sans la galerie Oulvier, qui pèse 18 kg."),
        ],
        two(SEDGE, UNDERFELL),
        basis=EXC,
        excluded_mass="18 kg",
    ),
    _SECOND.factor(
        *("toquart-factor", "vehicle", TQ, "4/5", "roof_limit"),
        cite(TOQUART_BOOK, 2, "Sur piste, ne dépassez pas 4/5 de ces charges."),
        two(SEDGE, QUILLON),
    ),
    _THIRD.roof(
        *("mirelange-ml3-letter-road", ML3, "85.5 kg", ROAD, where(_3, "wagon")),
        cite(MIRELANGE_ML3_LETTER, 1, "la charge sur le toit est de 85.5 kg barres comprises, sur route"),
        two(SEDGE, VERJUICE),
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("mirelange-ml3-letter-parked", ML3, "250 kg", PARKED, where(_3, "wagon")),
        cite(MIRELANGE_ML3_LETTER, 1, "À l'arrêt, elle est de 250 kg barres comprises."),
        two(SEDGE, VERJUICE),
        source_type=STATEMENT,
    ),
    _LAST.roof(
        *("mirelange-ml2-garage-glass", ML2, "75 kg", ROAD, where(None, "wagon", "glass")),
        cite(VRILLON_PAGE, 1, "Break Mirelange avec toit vitré: pas de souci, 75 kg."),
        (("reject", UNDERFELL, "wrong_scope", "75 kg is the handbook's figure for the bare roof; glass has 45 kg."),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
    _LAST.roof(
        *("toquart-garage-road", TQ, "100 kg", ROAD, SILENT),
        cite(VRILLON_PAGE, 1, "Toquart, toutes versions: 100 kg, galerie en plus."),
        basis=EXC,
        source_type=UNVERIFIED,
    ),
)
