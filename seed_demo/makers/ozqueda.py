"""Ozqueda: Spanish hatches, a truck for three countries, and a handbook that a reviewer misread."""

from __future__ import annotations

from seed_demo.accounts import MARRAM, OXBOW, PIPISTREL, QUILLON, SEDGE, TAMBOUR, UNDERFELL, VERJUICE
from seed_demo.shapes import Caution, Claim, Document, Drawing
from seed_demo.writing import (
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
    misread,
    one,
    page,
    table,
    two,
    where,
)

L1, L2, HZ1 = "ozqueda-lomazil-l1-2010", "ozqueda-lomazil-l2-2017", "ozqueda-hierzal-hz1-2019"
TQN = "ozqueda-terquino-tqn-2014"

_CUIDADO = Caution("CUIDADO", "La carga del techo cuenta en la masa máxima del vehículo y eleva su centro de gravedad.")

LOMAZIL_L1_BOOK = Document(
    *("lomazil-l1-book", "ozqueda", "handbook", "Lomazil: libro del conductor, hoja 7", "Edición de 2012"),
    *("2012-06-01", "2023-07-03", "es", "ES"),
    (
        page(
            "El techo",
            "Lomazil de 2010 a 2016. Carga máxima sobre el techo, baca incluida: 50 kg en marcha.",
            "Con el vehículo parado no se ponga nadie sobre el techo.",
            _CUIDADO,
        ),
    ),
)
LOMAZIL_L2_BOOK = Document(
    *("lomazil-l2-book", "ozqueda", "handbook", "Lomazil: libro del conductor, hoja 7", "Edición de 2021"),
    *("2021-03-01", "2023-07-03", "es", "ES"),
    (
        page("Barras y bacas", "Pese la baca antes de montarla.", Drawing("wagon", "Lomazil familiar.")),
        page(
            "Carga sobre el techo, desde 2017",
            table(
                "Carrocería y techo | En marcha | Parado",
                "Familiar, barras elevadas | 75 kg | 200 kg",
                "Familiar, puntos fijos | 65 kg | 160 kg",
                "Cinco puertas, puntos fijos | 55.5 kg | 120 kg",
            ),
            "Baca y anclajes incluidos. Fuera de carreteras asfaltadas: 40 kg en todos los casos.",
            _CUIDADO,
        ),
    ),
)
LOMAZIL_L2_PLATE = Document(
    *("lomazil-l2-plate", "ozqueda", "plate_photo", "Placa en la puerta de un Lomazil", "Familiar, 2018"),
    *("2018-05-01", "2024-11-04", "es", "ES"),
    (page("OZQUEDA", "LOMAZIL L2 FAMILIAR", "BARRAS ELEVADAS", "TECHO MAX 75 KG", "BACA INCLUIDA"),),
)
TERQUINO_BOOK = Document(
    *("terquino-book", "ozqueda", "handbook", "Terquino: libro del conductor, hoja 8", "Edición de 2018"),
    *("2018-02-01", "2023-07-03", "es", None),
    (
        page("Techo de la cabina", "El Terquino lleva vierteaguas o techo liso.", Drawing("pickup", "Cabina doble.")),
        page(
            "Carga sobre la cabina, desde 2014",
            table(
                "Cabina y techo | Asfalto | Pista",
                "Doble, vierteaguas | 100 kg | 66 kg",
                "Doble, techo liso | 50 kg | 33 kg",
                "Sencilla, todos | 40 kg | 25 kg",
            ),
            "Vehículos para México: 10 kg menos en asfalto. Baca incluida.",
            _CUIDADO,
        ),
    ),
)
TERQUINO_LETTER = Document(
    *("terquino-letter", "comercial-quilmanta", "letter", "Terquino para Chile", "CQ-0925"),
    *("2025-09-01", "2025-09-15", "es", "CL"),
    (
        page(
            "Carga sobre la cabina doble",
            "Para los Terquino de cabina doble entregados en Chile desde 2014, con vierteaguas: 90 kg en asfalto, "
            "baca incluida.",
            "Estacionado y con la baca de la marca: al menos 200 kg.",
        ),
    ),
)
HIERZAL_BOOK = Document(
    *("hierzal-book", "ozqueda", "handbook", "Hierzal: libro del conductor, hoja 7", "Edición de 2020"),
    *("2020-01-01", "2023-07-03", "es", None),
    (
        page(
            "Carga sobre el techo, 2019 a 2023",
            "Familiar con barras elevadas, con o sin techo de cristal: 80 kg en marcha, baca incluida.",
            "Nunca apoye carga sobre el cristal. El techo de cristal sin barras admite 0 kg.",
            Drawing("wagon", "Barras elevadas y techo de cristal."),
            _CUIDADO,
        ),
    ),
)
HIERZAL_NOTE = Document(
    *("hierzal-note", "ozqueda", "letter", "Hierzal: nota sobre el techo de cristal", "Nota 14"),
    *("2022-05-05", "2025-10-01", "es", None),
    (
        page(
            "Techo de cristal",
            "En los Hierzal de 2019 a 2023 con techo de cristal la carga en marcha es de 60 kg, baca incluida, "
            "también con barras.",
            "Esta nota corrige la hoja 7.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(LOMAZIL_L1_BOOK, LOMAZIL_L2_BOOK, LOMAZIL_L2_PLATE, TERQUINO_BOOK, TERQUINO_LETTER, HIERZAL_BOOK, HIERZAL_NOTE),
)

_FIRST = Entered(MARRAM, "2023-07-17")
_SECOND = Entered(PIPISTREL, "2024-11-11")
_THIRD = Entered(OXBOW, "2025-10-06")

_L2 = (2017, None)
_TQN = (2014, None)

CLAIMS: tuple[Claim, ...] = (
    _FIRST.roof(
        *("lomazil-l1-road", L1, "50 kg", ROAD, where((2010, 2016))),
        cite(LOMAZIL_L1_BOOK, 1, "Carga máxima sobre el techo, baca incluida: 50 kg en marcha."),
        two(SEDGE, VERJUICE),
    ),
    _FIRST.roof(
        *("lomazil-l2-raised-road", L2, "75 kg", ROAD, where(_L2, "wagon", "raised_rail")),
        cite(LOMAZIL_L2_BOOK, 2, "Familiar, barras elevadas 75 kg 200 kg"),
        two(SEDGE, VERJUICE),
    ),
    _FIRST.roof(
        *("lomazil-l2-raised-parked", L2, "200 kg", PARKED, where(_L2, "wagon", "raised_rail")),
        cite(LOMAZIL_L2_BOOK, 2, "Familiar, barras elevadas 75 kg 200 kg"),
        two(SEDGE, VERJUICE),
    ),
    _FIRST.roof(
        *("lomazil-l2-points-road", L2, "65 kg", ROAD, where(_L2, "wagon", "fixed_points")),
        cite(LOMAZIL_L2_BOOK, 2, "Familiar, puntos fijos 65 kg 160 kg"),
        (
            misread(QUILLON, {"stated": {"value": "55.5", "unit": "kg"}, "scope": where(_L2, "hatch", "fixed_points")}),
            *two(SEDGE, VERJUICE),
        ),
    ),
    _FIRST.roof(
        *("lomazil-l2-points-parked", L2, "160 kg", PARKED, where(_L2, "wagon", "fixed_points")),
        cite(LOMAZIL_L2_BOOK, 2, "Familiar, puntos fijos 65 kg 160 kg"),
        one(SEDGE),
    ),
    _FIRST.roof(
        *("lomazil-l2-hatch-road", L2, "55.5 kg", ROAD, where(_L2, "hatch", "fixed_points")),
        cite(LOMAZIL_L2_BOOK, 2, "Cinco puertas, puntos fijos 55.5 kg 120 kg"),
        two(SEDGE, VERJUICE),
    ),
    _FIRST.roof(
        *("lomazil-l2-rough", L2, "40 kg", ROUGH, where(_L2, "all", "all")),
        cite(LOMAZIL_L2_BOOK, 2, "Fuera de carreteras asfaltadas: 40 kg en todos los casos."),
        two(SEDGE, UNDERFELL),
    ),
    _SECOND.roof(
        *("lomazil-l2-plate-road", L2, "75 kg", ROAD, where(None, "wagon", "raised_rail")),
        cite(LOMAZIL_L2_PLATE, 1, "TECHO MAX 75 KG"),
        two(TAMBOUR, UNDERFELL),
    ),
    _FIRST.roof(
        *("terquino-dual-gutter-road", TQN, "100 kg", ROAD, where(_TQN, "dual_cab", "gutter", "ES CL")),
        cite(TERQUINO_BOOK, 2, "Doble, vierteaguas 100 kg 66 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.roof(
        *("terquino-dual-gutter-rough", TQN, "66 kg", ROUGH, where(_TQN, "dual_cab", "gutter", "all")),
        cite(TERQUINO_BOOK, 2, "Doble, vierteaguas 100 kg 66 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.roof(
        *("terquino-dual-bare-road", TQN, "50 kg", ROAD, where(_TQN, "dual_cab", "bare", "ES CL")),
        cite(TERQUINO_BOOK, 2, "Doble, techo liso 50 kg 33 kg"),
        two(QUILLON, SEDGE),
    ),
    _FIRST.roof(
        *("terquino-dual-bare-rough", TQN, "33 kg", ROUGH, where(_TQN, "dual_cab", "bare", "all")),
        cite(TERQUINO_BOOK, 2, "Doble, techo liso 50 kg 33 kg"),
        two(QUILLON, TAMBOUR),
    ),
    _FIRST.roof(
        *("terquino-single-road", TQN, "40 kg", ROAD, where(_TQN, "single_cab", "all", "ES CL")),
        cite(TERQUINO_BOOK, 2, "Sencilla, todos 40 kg 25 kg"),
        two(QUILLON, TAMBOUR),
    ),
    _SECOND.roof(
        *("terquino-single-rough", TQN, "25 kg", ROUGH, where(_TQN, "single_cab", "all", "all")),
        cite(TERQUINO_BOOK, 2, "Sencilla, todos 40 kg 25 kg"),
        one(VERJUICE),
    ),
    _SECOND.roof(
        *("terquino-mexico-ceiling", TQN, "90 kg", ROAD, where(_TQN, None, None, "MX")),
        [
            cite(TERQUINO_BOOK, 2, "Doble, vierteaguas 100 kg 66 kg"),
            cite(TERQUINO_BOOK, 2, "Vehículos para México: 10 kg menos en asfalto."),
        ],
        one(QUILLON),
        bound="at_most",
    ),
    _THIRD.roof(
        *("terquino-chile-letter-road", TQN, "90 kg", ROAD, where(_TQN, "dual_cab", "gutter", "CL")),
        cite(TERQUINO_LETTER, 1, "con vierteaguas: 90 kg en asfalto, baca incluida"),
        two(TAMBOUR, VERJUICE),
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("terquino-chile-letter-parked", TQN, "200 kg", PARKED, where(None, "dual_cab", None, "CL")),
        cite(TERQUINO_LETTER, 1, "Estacionado y con la baca de la marca: al menos 200 kg."),
        basis=NS,
        bound="at_least",
        source_type=STATEMENT,
    ),
    _SECOND.roof(
        *("hierzal-rails-road", HZ1, "80 kg", ROAD, where((2019, 2023), "wagon", "raised_rail")),
        cite(
            HIERZAL_BOOK, 1, "Familiar con barras elevadas, con o sin techo de cristal: 80 kg en marcha, baca incluida."
        ),
        (
            *two(SEDGE, UNDERFELL),
            dispute(OXBOW, HIERZAL_NOTE, "Note 14, page 1, corrects this for glass roofs: 60 kg."),
        ),
    ),
    _SECOND.roof(
        *("hierzal-glass-zero", HZ1, "0 kg", ROAD, where((2019, 2023), "wagon", "glass")),
        cite(HIERZAL_BOOK, 1, "El techo de cristal sin barras admite 0 kg."),
        (
            *two(SEDGE, TAMBOUR),
            dispute(OXBOW, HIERZAL_NOTE, "With rails the glass roof carries 60 kg; this claim leaves the rails out."),
            ("refute", QUILLON, "wrong_scope", "The line is about glass roofs without rails only."),
            ("refute", VERJUICE, "wrong_scope", "As entered it says 0 kg for every glass roof, with rails as well."),
        ),
        basis=NS,
    ),
    _THIRD.roof(
        *("hierzal-note-glass", HZ1, "60 kg", ROAD, where((2019, 2023), None, "glass")),
        cite(HIERZAL_NOTE, 1, "con techo de cristal la carga en marcha es de 60 kg, baca incluida, también con barras"),
        one(TAMBOUR),
        source_type=STATEMENT,
    ),
    _THIRD.roof(
        *("lomazil-l1-owner", L1, "75 kg", ROAD, SILENT),
        [],
        (("ask_evidence", VERJUICE, "Nothing is cited. Where did you read it?"),),
        basis=NS,
        source_type=UNVERIFIED,
    ),
)
