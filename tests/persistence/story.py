"""A registry's whole life in a few entries: every type of entry once at least."""

from datetime import UTC, datetime, timedelta

from app.core import entries
from app.core.claim import Basis, Condition, Interest, Quantity, SourceType, Statement, Subject, SubjectKind
from app.core.derived import Accessory, Derivation, Method
from app.core.entries import Entry, Payload
from app.core.mass import Per, Stated, Unit
from app.core.pages import Box
from app.core.scope import ALL, Scope, Years
from app.persistence.projection import record
from app.persistence.session import Database

START = datetime(2026, 3, 1, 12, tzinfo=UTC)
VEHICLE = Subject(SubjectKind.VEHICLE, "orrin-tarn-2019")
TEXT = "a" * 64
FILE = "b" * 64


def roof_limit(kilograms: str) -> Statement:
    return Statement(
        quantity=Quantity.ROOF_LIMIT,
        stated=Stated(kilograms, Unit.KG),
        condition=Condition.ON_ROAD,
        per=Per.TOTAL,
        basis=Basis.INCLUDES_CARRIER,
        scope=Scope(years=Years(2019, 2024), bodies=("dual_cab",), roofs=ALL),
    )


class Story:
    """Appends entries a minute apart, each in a transaction of its own."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.minutes = 0

    def tell(self, actor: str, payload: Payload, *streams: str) -> Entry:
        self.minutes += 1
        now = START + timedelta(minutes=self.minutes)
        with self.database.write() as session:
            return record(session, actor=actor, now=now, streams=streams or ("some",), payload=payload)

    def publisher(self, slug: str = "orrin") -> Entry:
        added = entries.PublisherAdded(slug, "vehicle_maker", slug.title(), None, ("nordby",), ())
        return self.tell("writer", added, f"publisher:{slug}")

    def vehicle(self, slug: str = VEHICLE.id, maker: str = "orrin") -> Entry:
        added = entries.VehicleAdded(slug, maker, "Tarn", "T2", Years(2019, 2024), ("dual_cab",), None, None, ())
        return self.tell("writer", added, f"vehicle:{slug}")

    def document(self) -> str:
        added = entries.DocumentAdded(
            "orrin", "handbook", TEXT, "2", "2019-05", None, "en", "NZ", FILE, 1000, "application/pdf"
        )
        return entries.named(entries.DOCUMENT, self.tell("writer", added).seq)

    def claim(self, kilograms: str = "75", *, supersedes: str | None = None) -> str:
        submitted = entries.ClaimSubmitted(
            VEHICLE,
            roof_limit(kilograms),
            SourceType.MANUAL_PAGE,
            "orrin",
            Interest.NONE,
            supersedes,
            None,
            None,
        )
        id = entries.named(entries.CLAIM, self.database.probe() + 1)
        self.tell("writer", submitted, f"claim:{id}", VEHICLE.stream)
        return id

    def about(self, claim: str, actor: str, payload: Payload) -> Entry:
        return self.tell(actor, payload, f"claim:{claim}", VEHICLE.stream)

    def cite(self, claim: str, document: str, *, later: bool = False) -> Entry:
        return self.about(claim, "writer", entries.CitationAdded(claim, document, "214", None, TEXT, later))

    def approve(self, claim: str, reviewer: str) -> Entry:
        read = self.about(claim, reviewer, entries.ReadingKeyed(claim, roof_limit("75"), ()))
        reading = entries.named(entries.REVIEW, read.seq)
        decided = entries.ClaimDecided(claim, reading, "approve", None, TEXT, Interest.NONE)
        return self.about(claim, reviewer, decided)

    def approved(self, kilograms: str, document: str, *, supersedes: str | None = None) -> str:
        claim = self.claim(kilograms, supersedes=supersedes)
        self.cite(claim, document)
        self.approve(claim, "reviewer-1")
        self.approve(claim, "reviewer-2")
        return claim

    def decide(self, claim: str, decision: str, code: str | None = None) -> Entry:
        decided = entries.ClaimDecided(claim, None, decision, code, TEXT, Interest.NONE)
        return self.about(claim, "reviewer-1", decided)

    def dispute(self, claim: str, document: str | None) -> str:
        disputed = entries.ClaimDisputed(claim, document, None, TEXT, Interest.NONE)
        return entries.named(entries.DISPUTE, self.about(claim, "doubter", disputed).seq)

    def settle(self, claim: str, dispute: str, reviewer: str, settlement: str) -> Entry:
        code = "misread" if settlement == "refute" else None
        return self.about(claim, reviewer, entries.DisputeSettled(dispute, claim, settlement, code, TEXT))


def subjects(story: Story) -> None:
    """A publisher, one subject of each kind, and their confirmations."""
    story.tell("system", entries.MethodAdopted("m1"), entries.METHOD_STREAM)
    story.publisher()
    story.tell("writer", entries.PublisherAdded("a-person", "person", None, TEXT, (), ()))
    story.vehicle()
    story.tell(
        "writer",
        entries.CarrierAdded("orrin-deck", "orrin", "Deck", None, "platform", 2018, 3, "separate", ()),
        "carrier:orrin-deck",
    )
    story.tell(
        "writer",
        entries.FixingAdded("orrin-foot", "orrin", "Foot", None, None, 4, ("gutter", "track"), ()),
        "fixing:orrin-foot",
    )
    story.tell("writer", entries.GearAdded("orrin-box", "orrin", "Box", "B", 2020, "roof_box", ()), "gear:orrin-box")
    fitment = story.tell(
        "writer", entries.FitmentAdded(VEHICLE.id, "orrin-deck", "orrin-foot", ("gutter",), ()), VEHICLE.stream
    )
    for kind, id in (
        (SubjectKind.CARRIER, "orrin-deck"),
        (SubjectKind.FITMENT, entries.named(entries.FITMENT, fitment.seq)),
    ):
        for reviewer in ("reviewer-1", "reviewer-2"):
            story.tell(reviewer, entries.RecordConfirmed(Subject(kind, id), None), f"{kind}:{id}")


def enquiries(story: Story, document: str) -> None:
    """One that is answered late, after its day, and one that is still open."""
    asked = entries.EnquiryOpened(
        VEHICLE,
        "orrin",
        Quantity.ROOF_LIMIT,
        (Condition.OFF_ROAD, Condition.PARKED),
        "letter",
        TEXT,
        "2026-01-05",
        "2026-02-02",
        "en",
    )
    id = entries.named(entries.ENQUIRY, story.database.probe() + 1)
    streams = (f"enquiry:{id}", VEHICLE.stream, "publisher:orrin/enquiries")
    story.tell("writer", asked, *streams)
    story.tell("system", entries.EnquiryLapsed(id), *streams)
    story.tell("writer", entries.EnquiryClosed(id, "answered", document, TEXT, "2026-02-27", "2027-02-27"), *streams)
    later = entries.named(entries.ENQUIRY, story.database.probe() + 1)
    story.tell("writer", asked, f"enquiry:{later}", *streams[1:])


def documents(story: Story, document: str, claim: str) -> None:
    """An address that is fetched twice and asked in vain, pages that are read, a citation looked at, a derivation, two
    documents judged to be copies, and one taken down."""
    addressed = entries.DocumentAddressed("orrin", "maker_page", None, None, None, None, "en", None, TEXT)
    page = entries.named(entries.DOCUMENT, story.tell("writer", addressed).seq)
    story.tell("system", entries.AddressChecked(page, "fetch_timed_out"), f"document:{page}")
    for file in ("c" * 64, "d" * 64):
        story.tell("system", entries.SnapshotKept(page, file, 2000, "text/html"), f"document:{page}")
    story.tell("system", entries.AddressChecked(page, "same"), f"document:{page}")
    read = entries.PagesRead(document, FILE, 12, "layer", "e" * 64, ("form",), (3, 5, 2**47), None)
    story.tell("system", read, f"document:{document}")
    story.tell("system", entries.PagesRead(page, "c" * 64, 0, "none", None, (), (), "file_bomb"), f"document:{page}")
    citation = entries.named(entries.CITATION, story.cite(claim, document, later=True).seq)
    found = entries.CitationRead(claim, citation, FILE, "found", 7, Box(100, 200, 300, 400))
    story.about(claim, "system", found)
    story.about(claim, "system", entries.EvidenceChanged(claim, document, "d" * 64, "not_found"))
    carrier = Subject(SubjectKind.CARRIER, "orrin-deck")
    row = Accessory("Deck", Stated("24", Unit.KG), Stated("76", Unit.KG), leaves_out=True, subject=carrier)
    derivation = Derivation(Method.ACCESSORY_PAGES, rows=(row,))
    derived = story.claim("60")
    story.about(derived, "writer", entries.ClaimDerived(derived, derivation))
    judged = entries.CopyJudged(page, document, copied=True, reviewer=False)
    story.tell("writer", judged, f"document:{page}", f"document:{document}")
    taken = entries.DocumentTakenDown(page, ("c" * 64, "d" * 64), "rights", TEXT)
    story.tell("steward", taken, f"document:{page}")


def placements(story: Story) -> None:
    """A vehicle that was entered twice, merged, and parted again; claims of one that are another's; a record corrected;
    and proposals that come to nothing."""
    twice, once, other = (Subject(SubjectKind.VEHICLE, f"orrin-{name}-2019") for name in ("mere", "meer", "loch"))
    for subject in (twice, once, other):
        story.vehicle(subject.id)
    fitment = entries.FitmentAdded(twice.id, "orrin-deck", None, None, ())
    id = entries.named(entries.FITMENT, story.database.probe() + 1)
    story.tell("writer", fitment, f"fitment:{id}", twice.stream)
    claims = []
    for _ in range(2):
        submitted = entries.ClaimSubmitted(
            twice, roof_limit("60"), SourceType.UNVERIFIED, None, Interest.NONE, None, None, None
        )
        claims.append(entries.named(entries.CLAIM, story.database.probe() + 1))
        story.tell("writer", submitted, f"claim:{claims[-1]}", twice.stream)
    said = entries.VehicleSaid("Mere", None, Years(2019, 2023), ("dual_cab",), None, None)
    story.tell("steward", entries.RecordCorrected(twice, said, (), TEXT), twice.stream)

    def proposed(payload: Payload) -> str:
        placement = entries.named(entries.PLACEMENT, story.database.probe() + 1)
        story.tell("steward", payload, f"placement:{placement}")
        return placement

    dropped = proposed(entries.MergerProposed(other, once, TEXT))
    story.tell("other", entries.PlacementDropped(dropped, True, TEXT), f"placement:{dropped}")
    merger = proposed(entries.MergerProposed(twice, once, TEXT))
    merged = entries.SubjectsMerged(merger, twice, once, ())
    story.tell("other", merged, f"placement:{merger}", twice.stream, once.stream)
    split = proposed(entries.SplitProposed(once, other, (claims[0],), (id,), TEXT))
    placed = entries.ClaimsPlaced(split, once, other, (claims[0],), (id,))
    streams = (f"claim:{claims[0]}", f"fitment:{id}", once.stream, other.stream)
    story.tell("other", placed, f"placement:{split}", *streams)
    undoing = proposed(entries.UndoingProposed(merger, TEXT))
    undone = entries.PlacementUndone(undoing, merger, twice, once)
    story.tell("other", undone, f"placement:{undoing}", twice.stream, once.stream)


def accounts(story: Story) -> None:
    """Somebody is trusted with more, disabled, and let in again."""
    for payload in (
        entries.RoleGiven("a-somebody", "reviewer", TEXT),
        entries.AccountDisabled("a-somebody"),
        entries.AccountEnabled("a-somebody"),
        entries.AccountReset("a-somebody"),
    ):
        story.tell("steward", payload, "account:a-somebody")


def second_looks(story: Story, document: str) -> None:
    """A mismatch that a steward judged, and a claim that was read anew after its review-by date."""
    claim = story.claim("82")
    story.cite(claim, document)
    keyed = story.about(claim, "reviewer-1", entries.ReadingKeyed(claim, roof_limit("75"), ("stated",)))
    reading = entries.named(entries.REVIEW, keyed.seq)
    story.about(claim, "steward", entries.MismatchJudged(claim, reading, "claim_goes_beyond", TEXT))
    renewed = story.approved("74", document)
    story.about(renewed, "system", entries.ClaimAged(renewed, 0))
    story.approve(renewed, "reviewer-3")
    story.approve(renewed, "reviewer-4")
    story.about(renewed, "system", entries.ClaimRenewed(renewed))


def whole_life(database: Database) -> Story:
    """Every type of entry, and every state that a claim can be in."""
    story = common_life(database)
    accounts(story)
    second_looks(story, story.document())
    placements(story)
    return story


def common_life(database: Database) -> Story:
    """What happens with one vehicle: everything but what stewards put right."""
    story = Story(database)
    subjects(story)
    document = story.document()
    for reviewer in ("reviewer-1", "reviewer-1", "reviewer-2"):
        story.tell(reviewer, entries.RecordConfirmed(VEHICLE, document), VEHICLE.stream)
    old = story.approved("75", document)
    new = story.approved("70", document, supersedes=old)
    story.about(old, "system", entries.ClaimSuperseded(old, new))
    first = story.dispute(new, document)
    story.settle(new, first, "reviewer-3", "refute")
    story.settle(new, first, "reviewer-4", "refute")
    story.about(old, "system", entries.ClaimRevived(old, new))
    story.about(old, "system", entries.ClaimAged(old, 0))
    upheld = story.dispute(old, document)
    story.settle(old, upheld, "reviewer-3", "uphold")
    lapsing = story.dispute(old, None)
    story.about(old, "system", entries.DisputeLapsed(lapsing, old))
    asked = story.claim("80")
    story.decide(asked, "ask_evidence")
    story.cite(asked, document, later=True)
    withdrawn = story.claim("81")
    story.about(withdrawn, "writer", entries.ClaimWithdrawn(withdrawn))
    rejected = story.claim("500")
    story.cite(rejected, document)
    story.decide(rejected, "reject", "carrier_rating_quoted")
    enquiries(story, document)
    documents(story, document, asked)
    return story
