"""Papers about Grelmund's vehicles."""

from __future__ import annotations

from seed_demo.shapes import Caution, Document, Drawing, Steps
from seed_demo.writing import (
    page,
    table,
)

_ACHTUNG = Caution(
    "ACHTUNG",
    "Die Dachlast zählt zum zulässigen Gesamtgewicht. Mit Dachlast ändern sich Bremsweg, Kurven- und Windverhalten.",
)
_PRUEFEN = Steps(
    (
        "Träger und Ladung wiegen und zusammenzählen.",
        "Ladung gleichmäßig verteilen, Schweres nach unten.",
        "Nach kurzer Fahrt alle Verschraubungen prüfen.",
    )
)

HALMWIG_H40_BOOK = Document(
    *("halmwig-h40-book", "grelmund", "handbook", "Halmwig H40 Betriebsanleitung, Kapitel 4", "Ausgabe 11/2015"),
    *("2015-11-01", "2023-04-03", "de", "DE"),
    (
        page(
            "4.1 Dachträger",
            "Verwenden Sie nur Träger, die für Ihr Dach bestimmt sind.",
            Drawing("wagon", "Kombi mit Dachreling."),
            _PRUEFEN,
        ),
        page(
            "4.2 Dachlast, Modelljahre 2011 bis 2018",
            table(
                "Aufbau und Dach | Dachlast in Fahrt",
                "Kombi mit Dachreling | 100 kg",
                "Kombi ohne Dachreling | 75 kg",
                "Limousine mit Fixpunkten | 75 kg",
                "Schrägheck, alle Dächer | 50 kg",
            ),
            "Die Dachlast umfasst den Träger, seine Befestigung und die Ladung.",
            "Abseits befestigter Straßen: höchstens 50 kg, bei jedem Aufbau und jedem Dach.",
            _ACHTUNG,
        ),
    ),
)
HALMWIG_H50_FIRST = Document(
    *("halmwig-h50-first", "grelmund", "handbook", "Halmwig H50 Betriebsanleitung, Kapitel 4", "Ausgabe 05/2019"),
    *("2019-05-01", "2023-04-03", "de", None),
    (page("4.2 Dachlast", "Kombi, Modelljahr 2019 und 2020, anliegende Reling: 90 kg samt Träger.", _ACHTUNG),),
)
HALMWIG_H50_BOOK = Document(
    *("halmwig-h50-book", "grelmund", "handbook", "Halmwig H50 Betriebsanleitung, Kapitel 4", "Ausgabe 09/2022"),
    *("2022-09-01", "2023-04-03", "de", None),
    (
        page(
            "4.1 Dachträger",
            "Das Panoramadach trägt weniger als das Blechdach.",
            Drawing("wagon", "Kombi mit Panoramadach."),
            _PRUEFEN,
        ),
        page(
            "4.2 Dachlast, ab Modelljahr 2019",
            table(
                "Aufbau und Dach | In Fahrt | Im Stand",
                "Kombi, anliegende Reling | 80 kg | 240 kg",
                "Kombi, Panoramadach | 60 kg | 180 kg",
                "Limousine, glattes Dach | 75.5 kg | 150 kg",
            ),
            "Alle Werte samt Träger und Befestigung.",
            "Auf unbefestigten Wegen gelten 0.75 der Werte in Fahrt.",
            _ACHTUNG,
        ),
    ),
)
HALMWIG_H50_PLATE = Document(
    *("halmwig-h50-plate", "grelmund", "plate_photo", "Schild in der Tankklappe eines Halmwig H50", "Kombi, 2021"),
    *("2021-02-01", "2024-03-08", "de", "DE"),
    (page("GRELMUND", "HALMWIG H50 KOMBI", "RELING ANLIEGEND", "DACHLAST 80 KG", "SAMT TRAEGER"),),
)
HALMWIG_LETTER = Document(
    *("halmwig-letter", "grelmund-import-overzande", "letter", "Daklast Halmwig H40, seen in a letter", "GIO 24-311"),
    *("2024-10-02", "2024-10-11", "en", "NL"),
    (
        page(
            "Halmwig H40, wagon with raised rails",
            "For the wagon with raised rails of 2011 to 2018 the works gave us 100 kg including the carrier, on made "
            "roads.",
            "We pass this on as we have it.",
        ),
    ),
)
ZETTLOW_Z2_BOOK = Document(
    *("zettlow-z2-book", "grelmund", "handbook", "Zettlow Z2 Betriebsanleitung, Kapitel 6", "Ausgabe 03/2018"),
    *("2018-03-01", "2023-04-03", "de", "DE"),
    (
        page(
            "6.1 Der Kasten von oben",
            "Fixpunkte sind serienmäßig, Schienen auf Wunsch.",
            Drawing("van", "Zettlow mit sechs Fixpunkten."),
        ),
        page(
            "6.2 Dachlast des Kastenwagens, 2015 bis 2021",
            "Mit Fixpunkten: 150 kg, gleichmäßig auf alle sechs verteilt, Träger eingerechnet.",
            "Mit Schienen: 120 kg, Träger eingerechnet.",
            "Auf unbefestigten Wegen, bei jedem Dach: 90 kg, Träger eingerechnet.",
            "Im Stand, bei jedem Dach: mindestens 250 kg.",
            _ACHTUNG,
        ),
    ),
)
ZETTLOW_Z3_PAGE = Document(
    *("zettlow-z3-page", "grelmund", "catalogue", "Zettlow: Preise und Maße", "Januar 2025"),
    *("2025-01-02", "2025-02-03", "de", "DE"),
    (
        page(
            "Technische Daten",
            table("Zettlow ab 2022 | Wert", "Höhe | 1.98 m", "Dachlast, Kastenwagen | 150 kg", "Anhängelast | 2000 kg"),
            "Angaben ohne Gewähr, Änderungen vorbehalten.",
        ),
    ),
)
PFUNDT_BOOK = Document(
    *("pfundt-book", "grelmund", "handbook", "Pfundt Betriebsanleitung, Kapitel 4", "Ausgabe 04/2018"),
    *("2018-04-01", "2023-04-03", "de", None),
    (
        page(
            "4.1 Verdeck",
            "Auf dem Verdeck und auf dem Windlauf darf bei keinem Pfundt, gleich welchen Baujahrs, etwas befördert "
            "werden: Dachlast 0 kg.",
            "Das gilt in Fahrt wie im Stand.",
            _ACHTUNG,
        ),
    ),
)
NEBELGRUND_LIST = Document(
    *("nebelgrund-list", "autohaus-nebelgrund", "catalogue", "Zubehör und Träger", "Winter 2025"),
    *("2025-11-01", "2025-11-20", "de", "DE"),
    (
        page(
            "Träger für Grelmund",
            table("Für | Dachlast laut uns", "Halmwig H50 Limousine | 100 kg", "Halmwig H40 Schrägheck | 75 kg"),
            "Tragkraft der Bügel Tragnitz 90 kg.",
        ),
    ),
)

DOCUMENTS: tuple[Document, ...] = (
    *(HALMWIG_H40_BOOK, HALMWIG_H50_FIRST, HALMWIG_H50_BOOK, HALMWIG_H50_PLATE, HALMWIG_LETTER),
    *(ZETTLOW_Z2_BOOK, ZETTLOW_Z3_PAGE, PFUNDT_BOOK, NEBELGRUND_LIST),
)
