"""The words by which a figure is known on a page, in the languages of handbooks, and how text is folded to find them.

A word of a list is written as its language writes it, and matched without case, accents and width. `dach*` is a word's
beginning, `*last` its end, `*gewicht*` any part of it, `roof` the whole word. What has a space in it is a phrase, whose
words may be joined or hyphenated; Japanese, which sets no spaces, is looked for anywhere.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import Final

import msgspec


class Group(StrEnum):
    """What a word near a figure tells: where the load is, that it is one, what a thing weighs, which roads."""

    ROOF = "roof"
    LOAD = "load"
    MASS = "mass"
    ROUGH = "rough"


WORDS: Final[dict[str, dict[Group, str]]] = {
    "en": {
        Group.ROOF: "roof*",
        Group.LOAD: "load*, payload*, capacit*, carry, carries, carried, carrying, bear, bears, takes, holds, supports, "
        "withstands, rating*, rated, max, maxi*, limit*, permi*, allowable, allowed",
        Group.MASS: "weigh*, mass, masses",
        Group.ROUGH: "off road, unsealed, unpaved, gravel, dirt, rough, corrugated, corrugations, track, tracks",
    },
    "de": {
        Group.ROOF: "dach*, *dach, *daches",
        Group.LOAD: "last, lasten, *last, *lasten, dachlast*, nutzlast*, traglast*, *belastung*, belast*, *beladung*, "
        "*zuladung*, *tragfähig*, *tragkraft*, tragen, trägt, hält, zulässig*, max, maxi*, höchst*",
        Group.MASS: "*gewicht*, masse, massen, *masse, wiegt, wiegen",
        Group.ROUGH: "gelände*, off road*, unbefestigt*, schotter*, piste, pisten, abseits, feldweg*",
    },
    "fr": {
        Group.ROOF: "toit*, pavillon",
        Group.LOAD: "charg*, capacité*, max, maxi*, limite*, autorisé*, admissible*, portance, porter, porte, portent, "
        "supporte, supportent, supporter, admet, admettent",
        Group.MASS: "poids, masse, masses, pèse, pèsent",
        Group.ROUGH: "tout terrain, hors route, hors piste, piste, pistes, gravier*, chemin, chemins, non goudronné, "
        "non goudronnée, non goudronnées, non revêtue, non revêtues, non asphaltée, non asphaltées",
    },
    "es": {
        Group.ROOF: "techo*, tejadillo*",
        Group.LOAD: "carga*, capacidad*, max, maxi*, máxim*, límite*, admisible*, permitid*, soporta, soportan, soportar, "
        "aguanta, aguantan, admite, admiten, lleva, llevan, llevar",
        Group.MASS: "peso*, pesa, pesan, masa, masas",
        Group.ROUGH: "todo terreno, fuera de carretera, fuera de la carretera, sin asfaltar, no asfaltad*, "
        "no pavimentad*, grava, ripio, tierra, pista, pistas",
    },
    "it": {
        Group.ROOF: "tetto, tetti",
        Group.LOAD: "caric*, portata, capacità, max, massim*, limite*, ammess*, ammissibil*, consentit*",
        Group.MASS: "peso, pesi, pesa, pesano, massa, masse",
        Group.ROUGH: "fuoristrada, fuori strada, sterrat*, ghiaia, non asfaltat*",
    },
    "pt": {
        Group.ROOF: "teto*, tejadilho*",
        Group.LOAD: "carga*, capacidade*, max, máxim*, limite*, admissíve*, permitid*",
        Group.MASS: "peso*, pesa, pesam, massa, massas",
        Group.ROUGH: "fora de estrada, todo o terreno, todo terreno, cascalho, terra, não pavimentad*, não asfaltad*",
    },
    "nl": {
        Group.ROOF: "dak*, *dak",
        Group.LOAD: "last, *last, belast*, *belasting*, lading, *laadvermogen*, *draagvermogen*, max, maxi*, toegestaan*, "
        "toelaatba*",
        Group.MASS: "*gewicht*, massa, weegt, wegen",
        Group.ROUGH: "onverhard*, terrein*, off road, grind, gravel",
    },
    "sv": {
        Group.ROOF: "tak*, biltak*",
        Group.LOAD: "last, *last, *lasten, last*, belast*, *belastning*, bärförmåga*, max, maxi*, tillåt*",
        Group.MASS: "vikt*, *vikt, *vikten, massa, väger",
        Group.ROUGH: "terräng*, grus*, oasfalterad*, off road",
    },
    "ja": {
        Group.ROOF: "ルーフ, 屋根",
        Group.LOAD: "積載, 荷重, 載荷, 載せ, 最大, 許容, 上限",
        Group.MASS: "重量, 質量, 重さ, 自重",
        Group.ROUGH: "オフロード, 未舗装, 悪路, 不整地, 砂利, ダート, ラフロード",
    },
}

NO_LOAD: Final[dict[str, str]] = {
    "en": "no load, no loads, no roof load, not permitted, not be permitted, not allowed, not permissible, prohibited, "
    "do not load, must not be loaded, never load, do not place, do not carry, not designed to carry",
    "de": "nicht zulässig, nicht zugelassen, nicht erlaubt, nicht gestattet, unzulässig, verboten, keine dachlast, "
    "keine last, keine lasten, nicht belasten, nicht beladen",
    "fr": "non autorisé, non autorisée, pas autorisé, pas autorisée, pas admis, pas admise, non admis, interdit, interdite, "
    "aucune charge, ne pas charger, pas de charge",
    "es": "no permitido, no permitida, no se permite, no está permitido, no está permitida, no admisible, prohibido, "
    "prohibida, ninguna carga, sin carga, no cargar, no cargue",
    "it": "non consentito, non consentita, non ammesso, non ammessa, non è consentito, non è ammesso, vietato, vietata, "
    "nessun carico",
    "pt": "não permitido, não permitida, não é permitido, não é permitida, não admissível, proibido, proibida, "
    "nenhuma carga, sem carga",
    "nl": "niet toegestaan, niet toegelaten, verboden, geen last, geen daklast, geen lading",
    "sv": "ej tillåten, ej tillåtet, inte tillåten, inte tillåtet, förbjuden, förbjudet, ingen last",
    "ja": "禁止, 積載不可, 積載できません, 積まないで, 載せないで, 積載しないで",
}

SPELLED: Final[dict[str, dict[Fraction, str]]] = {
    "en": {
        Fraction(1, 2): "one half, half",
        Fraction(1, 3): "one third, a third",
        Fraction(2, 3): "two thirds",
        Fraction(3, 4): "three quarters",
    },
    "de": {
        Fraction(1, 2): "hälfte, ein halb, halbe, halben",
        Fraction(1, 3): "ein drittel",
        Fraction(2, 3): "zwei drittel, zwei dritteln",
        Fraction(3, 4): "drei viertel, drei vierteln",
    },
    "fr": {
        Fraction(1, 2): "moitié",
        Fraction(1, 3): "un tiers",
        Fraction(2, 3): "deux tiers",
        Fraction(3, 4): "trois quarts",
    },
    "es": {
        Fraction(1, 2): "mitad",
        Fraction(1, 3): "un tercio",
        Fraction(2, 3): "dos tercios, dos terceras partes",
        Fraction(3, 4): "tres cuartos, tres cuartas partes",
    },
    "it": {
        Fraction(1, 2): "metà",
        Fraction(1, 3): "un terzo",
        Fraction(2, 3): "due terzi",
        Fraction(3, 4): "tre quarti",
    },
    "pt": {
        Fraction(1, 2): "metade",
        Fraction(1, 3): "um terço",
        Fraction(2, 3): "dois terços",
        Fraction(3, 4): "três quartos",
    },
    "nl": {
        Fraction(1, 2): "helft",
        Fraction(1, 3): "een derde",
        Fraction(2, 3): "twee derde",
        Fraction(3, 4): "drie kwart",
    },
    "sv": {
        Fraction(1, 2): "hälften",
        Fraction(1, 3): "en tredjedel",
        Fraction(2, 3): "två tredjedelar",
        Fraction(3, 4): "tre fjärdedelar",
    },
    "ja": {
        Fraction(1, 2): "半分, 二分の一",
        Fraction(1, 3): "三分の一",
        Fraction(2, 3): "三分の二",
        Fraction(3, 4): "四分の三",
    },
}

REDUCING: Final = (
    "reduc*, lower*, decreas*, derat*, less, redu*, rédu*, verringer*, vermind*, minder*, abzüglich, diminu*, baiss*, "
    "disminu*, ridu*, riduz*, verlaag*, verlag*, minsk*, sänk*"
)
"""Words for taking a share off, in all the languages."""
BY: Final = "by, um, de, d, en, in, del, di, do, em, met, med"
"""What then stands before the share that is taken off, and not before the share that is left."""
MULTIPLYING: Final = "multipl*, faktor*, factor*, facteur*, fattore, fator"
PERCENT: Final = "%|per ?cent|prozent|pour ?cent|por ?ciento|por ?cento|per ?cento|procent|パーセント"

DECIMAL_POINT: Final = frozenset({"en", "ja"})
DECIMAL_COMMA: Final = frozenset({"de", "fr", "it", "nl", "pt", "sv"})
"""Where 1.100 is eleven hundred. Spanish has both, as has a page whose language is not known."""

KILOGRAMS: Final = (
    "kg|kgs|kilo|kilos|kilogram|kilograms|kilogramm|kilogramme|kilogrammes|kilogramo|kilogramos|quilo|quilos|quilograma|"
    "quilogramas|chilo|chili|chilogrammo|chilogrammi|キログラム|キロ(?![メワリ])"
)
POUNDS: Final = "lb|lbs|pound|pounds|livre|livres|libra|libras|libbra|libbre|ポンド"
"""Not what is also half a kilogram: Pfund, pond, pund."""
NO_MASS: Final = (
    "mm|cm|dm|m|km|kmh|kph|mph|kw|ps|hp|bhp|cv|ch|pk|nm|bar|bars|psi|kpa|mpa|pa|n|kn|v|w|ah|l|cc|ccm|cl|ml|g|t|"
    "ton|tons|tonne|tonnes|oz|mg|inch|inches|ft|feet|zoll|s|sec|h|min|rpm|upm|hz|db|c|f|"
    "hours|days|weeks|months|years|stunden|tage|jahre|liter|litre|litres|litros|"
    "メートル|ミリ|円|年|月|日|時|分|ページ|頁|個|本|台|人|名|枚|度"
)
"""Units and counters that make a number something else than a mass, where they follow it directly."""
SMALL_WORDS: Final = "x|in|a|am|pm"
"""Words that may be one."""
NAMING: Final = (
    "page, pages, p, pp, seite, seiten, s, página, páginas, pág, pagina, pag, pagine, bladzijde, sida, sidan, no, nr, num, "
    "number, nummer, numéro, número, numero, fig, figure, figur, figura, abb, abbildung, bild, art, artikel, article, part, "
    "teil, teile, réf, ref, chapter, kapitel, tel, tél, phone, telephone, telefon, téléphone, teléfono, telefone, telefono, "
    "telefoon, fax, model, modell, modèle, modelo, item, step, x"
)
"""Words after which a number without a unit is a name or a size: a page, a part, a telephone."""

WORD: Final = re.compile(r"[^\W\d_]+")
"""A word in folded text: letters without a digit or a mark among them."""
_DIVIDED: Final = re.compile(r"(?<=[^\W\d_])[-‐\u00ad]\r?\n(?=[^\W\d_])")
_HIDDEN: Final = frozenset({"Mn", "Me", "Cf"})
_JOINING_SPACES: Final = frozenset("\u00a0\u2006\u2007\u2008\u2009\u202f\u205f")
JOINT: Final = "\u00a0"
"""What a space that joins the groups of a number becomes when folded."""


@lru_cache(maxsize=8192)
def fold_character(character: str) -> str:
    """A character without case, accents and width. Digits of all scripts are 0 to 9; a mark of a footnote is a space,
    a fraction of one character stays; what is not seen is nothing."""
    if character.isdecimal():
        return str(unicodedata.decimal(character))
    if character in _JOINING_SPACES:
        return JOINT
    category = unicodedata.category(character)
    if category in _HIDDEN:
        return ""
    if category == "No":
        return " " if unicodedata.numeric(character).is_integer() else character
    if category == "Cc":
        return "\n" if character in "\n\r\v\f\x85" else " "
    parts = unicodedata.normalize("NFKD", character)
    return "".join(
        part for part in parts if unicodedata.category(part) not in _HIDDEN and not part.isdigit()
    ).casefold()


def fold_characters(text: str) -> list[str]:
    """What each character of a text is when folded. A word divided at the end of a line is put together."""
    pieces = list(map(fold_character, text))
    for divided in _DIVIDED.finditer(text):
        if text[divided.end()].islower():
            pieces[divided.start() : divided.end()] = [""] * (divided.end() - divided.start())
    return pieces


def fold(text: str) -> str:
    """Text as it is compared."""
    return "".join(fold_characters(text))


class Stems(msgspec.Struct, frozen=True):
    """Some words, folded, by how they are matched."""

    whole: frozenset[str]
    beginnings: tuple[str, ...]
    ends: tuple[str, ...]
    parts: tuple[str, ...]

    def match(self, word: str) -> bool:
        """Whether a folded word is one of them."""
        return (
            word in self.whole
            or word.startswith(self.beginnings)
            or word.endswith(self.ends)
            or any(part in word for part in self.parts)
        )


class Phrases(msgspec.Struct, frozen=True):
    """Some phrases, folded: the first word of each, by which it is soon seen that a text has none, and its pattern."""

    patterns: tuple[tuple[str, re.Pattern[str]], ...]

    def places(self, text: str) -> Iterator[tuple[int, int]]:
        """Where they stand in folded text."""
        for first, pattern in self.patterns:
            if first not in text:
                continue
            for found in pattern.finditer(text):
                if not (first.isascii() and text[max(0, found.start() - 1) : found.start()].isalpha()):
                    yield found.span()


class Vocabulary(msgspec.Struct, frozen=True):
    """The words of one language, or of all: single words and phrases of each group, phrases for "no load", and spelled
    fractions."""

    words: dict[Group, Stems]
    phrases: dict[Group, Phrases]
    no_load: Phrases
    spelled: dict[Fraction, Phrases]


def _entries(lists: Iterable[str]) -> list[str]:
    return [fold(entry.strip()) for each in lists for entry in each.split(",") if entry]


def _is_phrase(entry: str) -> bool:
    return " " in entry or not re.match(r"[*a-z]", entry)


def stems(*lists: str) -> Stems:
    """The single words of some lists."""
    entries = [entry for entry in _entries(lists) if not _is_phrase(entry)]
    return Stems(
        whole=frozenset(entry for entry in entries if "*" not in entry),
        beginnings=tuple(entry[:-1] for entry in entries if entry.endswith("*") and not entry.startswith("*")),
        ends=tuple(entry[1:] for entry in entries if entry.startswith("*") and not entry.endswith("*")),
        parts=tuple(entry.strip("*") for entry in entries if entry.startswith("*") and entry.endswith("*")),
    )


def _phrases(entries: Iterable[str]) -> Phrases:
    patterns = {}
    for entry in sorted(set(entries)):
        words = entry.rstrip("*").split()
        end = "(?![a-z])" if words[0].isascii() and not entry.endswith("*") else ""
        patterns[entry] = words[0], re.compile(r"[\s-]{0,3}".join(map(re.escape, words)) + end)
    return Phrases(tuple(patterns.values()))


@lru_cache(maxsize=16)
def _vocabulary(languages: tuple[str, ...]) -> Vocabulary:
    lists = {group: [WORDS[language][group] for language in languages] for group in Group}
    fractions = {fraction for language in languages for fraction in SPELLED[language]}
    return Vocabulary(
        words={group: stems(*lists[group]) for group in Group},
        phrases={group: _phrases(filter(_is_phrase, _entries(lists[group]))) for group in Group},
        no_load=_phrases(_entries(NO_LOAD[language] for language in languages)),
        spelled={
            each: _phrases(_entries(SPELLED[language].get(each, "") for language in languages))
            for each in sorted(fractions)
        },
    )


def vocabulary(language: str | None) -> Vocabulary:
    """The words of a language (two letters, ISO 639-1), or of all where it is not given or not one of them."""
    return _vocabulary((language,) if language in WORDS else tuple(WORDS))
