"""The words of the letter that asks well, in each language that it is written in."""

from enum import StrEnum
from typing import Final

import msgspec

from app.core.claim import Condition


class Language(StrEnum):
    """A language that a letter is written in."""

    EN = "en"
    DE = "de"
    FR = "fr"
    ES = "es"


class Words(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that a letter says. `{…}` is filled in; `questions` follow the one about the conditions."""

    place_and_date: str
    to: str
    subject: str
    years: str
    one_year: str
    still_made: str
    greeting: str
    opening: str
    please: str
    how_much: str
    how_much_here: str
    when: dict[Condition, str]
    which_of_these: str
    questions: tuple[str, ...]
    known: str
    at_least: str
    gross: str
    net: str
    closing: str
    farewell: str
    sender: str
    decimal_point: str
    colon: str = ":"


_ENGLISH: Final = Words(
    place_and_date="Place, date:",
    to="To:",
    subject="Subject: roof load of the {vehicle} ({years})",
    years="model years {first} to {last}",
    one_year="model year {first}",
    still_made="model years from {first}",
    greeting="Dear Sir or Madam,",
    opening="I would like to know what the roof of this vehicle may carry. I ask for a registry of such figures, each kept "
    "with the document in which it stands. I ask about the roof itself: what a carrier that fits it is rated for does not "
    "tell what the roof allows.",
    please="Please answer these questions as far as you can:",
    how_much="What may the roof carry in each of these cases?",
    how_much_here="What may the roof carry in this case?",
    when={
        Condition.ON_ROAD: "driving on sealed roads",
        Condition.OFF_ROAD: "driving on unsealed roads or off road",
        Condition.PARKED: "parked",
    },
    which_of_these="If one figure is meant for several of these, please say for which.",
    questions=(
        (
            "Does each figure count the carrier (bars, platform, basket, tray) and its fittings? If not, how heavy is the "
            "carrier that it leaves out?"
        ),
        "For which bodies, roofs (bare, gutters, fixed points, rails, tracks, glass), model years and markets does it hold?",
        "Is it meant in total, or for each bar? If for each bar, for how many?",
        "With which fixings does it hold, and where on the roof do they take hold?",
        "Is it the limit of the vehicle's roof, or the rating of a carrier that you offer for it?",
        "Where is it published: in which document, which edition, on which page? May we keep a copy, or can you send one?",
        "If there is no figure, please say so. That is worth knowing too, and is recorded as your answer.",
    ),
    known="The registry has these figures already. Please say whether they are right:",
    at_least="at least {mass}",
    gross="counting the carrier",
    net="cargo alone",
    closing="An answer in writing helps most, because it can be kept and shown as the source. This letter promises nothing "
    "and asks no promise of you: please tell what you have published, or stand by. Your answer is recorded with its date "
    "as yours; a figure from it counts as vetted only once two people have checked it.",
    farewell="Yours faithfully,",
    sender="(name and address)",
    decimal_point=".",
)

_GERMAN: Final = Words(
    place_and_date="Ort, Datum:",
    to="An:",
    subject="Betreff: Dachlast {vehicle} ({years})",
    years="Modelljahre {first} bis {last}",
    one_year="Modelljahr {first}",
    still_made="Modelljahre ab {first}",
    greeting="Sehr geehrte Damen und Herren,",
    opening="ich möchte wissen, was das Dach dieses Fahrzeugs tragen darf. Ich frage für ein Register solcher Angaben, das "
    "jede zusammen mit dem Dokument festhält, in dem sie steht. Es geht um das Dach selbst: Was ein passender Träger "
    "tragen darf, sagt nicht, was das Dach zulässt.",
    please="Bitte beantworten Sie diese Fragen, soweit Sie können:",
    how_much="Wie viel darf das Dach in jedem dieser Fälle tragen?",
    how_much_here="Wie viel darf das Dach in diesem Fall tragen?",
    when={
        Condition.ON_ROAD: "während der Fahrt auf befestigten Straßen",
        Condition.OFF_ROAD: "während der Fahrt auf unbefestigten Wegen oder im Gelände",
        Condition.PARKED: "im Stand",
    },
    which_of_these="Gilt eine Angabe für mehrere dieser Fälle, nennen Sie bitte alle.",
    questions=(
        (
            "Ist in jeder Angabe der Träger (Querträger, Plattform, Korb, Wanne) mit seinen Befestigungen enthalten? Falls "
            "nicht: Wie schwer ist der Träger, der nicht mitgezählt wird?"
        ),
        (
            "Für welche Karosserien, Dächer (glatt, mit Regenrinne, mit Fixpunkten, mit Reling, mit Schienen, aus Glas), "
            "Modelljahre und Länder gilt sie?"
        ),
        "Gilt sie insgesamt oder je Querträger? Falls je Querträger: für wie viele?",
        "Mit welchen Befestigungen gilt sie, und wo am Dach greifen diese?",
        "Ist es die Grenze des Fahrzeugdachs oder die Traglast eines Trägers, den Sie dafür anbieten?",
        (
            "Wo ist sie veröffentlicht: in welchem Dokument, in welcher Ausgabe, auf welcher Seite? Dürfen wir eine Kopie "
            "aufbewahren, oder können Sie uns eine schicken?"
        ),
        (
            "Falls es keine Angabe gibt, schreiben Sie bitte auch das. Es ist ebenfalls wissenswert und wird als Ihre Antwort "
            "festgehalten."
        ),
    ),
    known="Diese Angaben hat das Register schon. Bitte schreiben Sie, ob sie stimmen:",
    at_least="mindestens {mass}",
    gross="einschließlich Träger",
    net="nur die Ladung",
    closing="Am meisten hilft eine schriftliche Antwort, denn sie kann aufbewahrt und als Quelle gezeigt werden. Dieser "
    "Brief verspricht nichts und verlangt auch von Ihnen kein Versprechen: Bitte nennen Sie, was Sie veröffentlicht haben "
    "oder wozu Sie stehen. Ihre Antwort wird mit ihrem Datum als Ihre Aussage festgehalten; eine Angabe daraus gilt erst "
    "als gesichert, wenn zwei Personen sie geprüft haben.",
    farewell="Mit freundlichen Grüßen",
    sender="(Name und Anschrift)",
    decimal_point=",",
)

_FRENCH: Final = Words(
    place_and_date="Lieu, date :",
    to="À :",
    subject="Objet : charge admise sur le toit, {vehicle} ({years})",
    years="années-modèles {first} à {last}",
    one_year="année-modèle {first}",
    still_made="années-modèles à partir de {first}",
    greeting="Madame, Monsieur,",
    opening="Je voudrais savoir quelle charge le toit de ce véhicule peut porter. Je le demande pour un registre de ces "
    "valeurs, qui conserve chacune avec le document où elle figure. Il s'agit du toit lui-même : la charge admise par un "
    "support qui s'y monte n'indique pas ce que le toit permet.",
    please="Merci de répondre à ces questions dans la mesure du possible :",
    how_much="Quelle charge le toit peut-il porter dans chacun de ces cas ?",
    how_much_here="Quelle charge le toit peut-il porter dans ce cas ?",
    when={
        Condition.ON_ROAD: "en roulant sur route revêtue",
        Condition.OFF_ROAD: "en roulant sur piste non revêtue ou hors route",
        Condition.PARKED: "à l'arrêt",
    },
    which_of_these="Si une valeur vaut pour plusieurs de ces cas, merci d'indiquer lesquels.",
    questions=(
        (
            "Chaque valeur comprend-elle le support (barres, plateforme, panier, galerie) et ses fixations ? Sinon, combien pèse "
            "le support qui n'est pas compté ?"
        ),
        (
            "Pour quelles carrosseries, quels toits (nu, à gouttières, à points de fixation, à barres longitudinales, à rails, "
            "vitré), quelles années-modèles et quels pays vaut-elle ?"
        ),
        "Est-ce un total ou une valeur par barre ? Si c'est par barre, pour combien de barres ?",
        "Avec quelles fixations vaut-elle, et où celles-ci prennent-elles appui sur le toit ?",
        "Est-ce la limite du toit du véhicule, ou la charge admise par un support que vous proposez ?",
        (
            "Où est-elle publiée : dans quel document, quelle édition, à quelle page ? Pouvons-nous en garder une copie, ou "
            "pouvez-vous nous en envoyer une ?"
        ),
        "S'il n'existe aucune valeur, merci de le dire : cela aussi est utile, et sera consigné comme votre réponse.",
    ),
    known="Le registre a déjà ces valeurs. Merci de dire si elles sont exactes :",
    at_least="au moins {mass}",
    gross="support compris",
    net="chargement seul",
    closing="Une réponse écrite est la plus utile, car elle peut être conservée et montrée comme source. Cette lettre ne "
    "promet rien et ne vous demande aucune promesse : merci d'indiquer ce que vous avez publié, ou ce que vous confirmez. "
    "Votre réponse est consignée avec sa date comme étant la vôtre ; une valeur qui en est tirée ne compte comme vérifiée "
    "qu'une fois contrôlée par deux personnes.",
    farewell="Veuillez agréer, Madame, Monsieur, mes salutations distinguées.",
    sender="(nom et adresse)",
    decimal_point=",",
    colon=" :",
)

_SPANISH: Final = Words(
    place_and_date="Lugar y fecha:",
    to="A:",
    subject="Asunto: carga admitida en el techo, {vehicle} ({years})",
    years="años de modelo {first} a {last}",
    one_year="año de modelo {first}",
    still_made="años de modelo desde {first}",
    greeting="A quien corresponda:",
    opening="Quisiera saber qué carga puede llevar el techo de este vehículo. Lo pregunto para un registro de estos datos, que "
    "guarda cada uno con el documento en que consta. Se trata del techo mismo: la carga que admite un portacargas que se le "
    "adapte no dice lo que el techo permite.",
    please="Les ruego que respondan a estas preguntas en la medida de lo posible:",
    how_much="¿Qué carga puede llevar el techo en cada uno de estos casos?",
    how_much_here="¿Qué carga puede llevar el techo en este caso?",
    when={
        Condition.ON_ROAD: "en marcha por vías pavimentadas",
        Condition.OFF_ROAD: "en marcha por caminos sin pavimentar o fuera de carretera",
        Condition.PARKED: "con el vehículo estacionado",
    },
    which_of_these="Si un dato vale para varios de estos casos, indiquen por favor para cuáles.",
    questions=(
        (
            "¿Incluye cada dato el portacargas (barras, plataforma, cesta, baca) con sus fijaciones? Si no, ¿cuánto pesa el "
            "portacargas que no se cuenta?"
        ),
        (
            "¿Para qué carrocerías, techos (liso, con vierteaguas, con puntos de fijación, con barras longitudinales, con rieles, "
            "de cristal), años de modelo y países vale?"
        ),
        "¿Es un total o un dato por barra? Si es por barra, ¿para cuántas barras?",
        "¿Con qué fijaciones vale, y en qué parte del techo se sujetan?",
        "¿Es el límite del techo del vehículo o la carga que admite un portacargas que ustedes ofrecen?",
        (
            "¿Dónde está publicado: en qué documento, en qué edición, en qué página? ¿Podemos guardar una copia, o pueden "
            "enviarnos una?"
        ),
        "Si no existe ningún dato, díganlo, por favor: saberlo también es útil, y se anotará como respuesta suya.",
    ),
    known="El registro ya tiene estos datos. Digan, por favor, si son correctos:",
    at_least="al menos {mass}",
    gross="portacargas incluido",
    net="solo la carga",
    closing="Lo más útil es una respuesta por escrito, porque se puede conservar y mostrar como fuente. Esta carta no promete "
    "nada ni les pide promesa alguna: indiquen, por favor, lo que han publicado o lo que confirman. Su respuesta se anota con "
    "su fecha como suya; un dato que salga de ella solo cuenta como comprobado cuando dos personas lo han revisado.",
    farewell="Atentamente,",
    sender="(nombre y dirección)",
    decimal_point=",",
)

WORDS: Final[dict[Language, Words]] = {
    Language.EN: _ENGLISH,
    Language.DE: _GERMAN,
    Language.FR: _FRENCH,
    Language.ES: _SPANISH,
}
