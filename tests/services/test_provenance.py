"""Provenance is PROV: it is read back by the standard's own library, and holds what PROV-CONSTRAINTS ask for."""

import json
import random
import subprocess
import sys
from collections import defaultdict
from typing import Any

import msgspec
import pytest
from prov.model import ProvDocument

from app.core.errors import CantrailError
from app.persistence import ledger
from app.services import provenance as service
from app.services import subjects
from app.services.inputs import NewPublisher
from app.services.provenance import provenance
from tests.services.histories import BusyLife, Region
from tests.services.outdoors import Outdoors
from tests.services.test_derived_claims import agreeing, approve_derived, derived, sister
from tests.services.trade import VEHICLE

RELATIONS = ("wasGeneratedBy", "used", "wasAssociatedWith", "wasAttributedTo", "wasDerivedFrom", "specializationOf")
KNOWN = {"prefix", "entity", "activity", "agent", *RELATIONS}


def written(outdoors: Outdoors, claim: str) -> dict[str, Any]:
    """A claim's provenance, read back by the standard's library and found to be the same."""
    with outdoors.database.read() as session:
        text = provenance(session, claim)
    read = ProvDocument.deserialize(content=text, format="json")
    assert ProvDocument.deserialize(content=read.serialize(format="json"), format="json") == read
    said: dict[str, Any] = json.loads(text)
    return said


def number(value: Any) -> int:
    return int(value["$"]) if isinstance(value, dict) else int(value)


class Checked:
    """What is declared and related, once it was found to hold together."""

    def __init__(self, said: dict[str, Any]) -> None:
        assert said.keys() <= KNOWN
        self.said = said
        self.entities = said.get("entity", {})
        self.activities = said["activity"]
        self.agents = said["agent"]
        self.seqs = {id: number(each["cantrail:entry"]) for id, each in self.activities.items()}
        self.made = self._made()
        self._hold_apart()
        self._are_declared()
        self._are_in_order()
        self._have_no_cycle()

    def relations(self, kind: str) -> list[dict[str, str]]:
        return list(self.said.get(kind, {}).values())

    def _made(self) -> dict[str, int]:
        """When each entity was made: once at most (unique-generation)."""
        found: dict[str, int] = {}
        for each in self.relations("wasGeneratedBy"):
            assert each["prov:entity"] not in found, each
            found[each["prov:entity"]] = self.seqs[each["prov:activity"]]
            times = self.activities[each["prov:activity"]]
            assert times["prov:startTime"] == each["prov:time"] == times["prov:endTime"]
        return found

    def _hold_apart(self) -> None:
        """Nothing is both an entity and an activity (entity-activity-disjoint), and no entry has two activities."""
        assert not self.entities.keys() & self.activities.keys()
        assert len(set(self.seqs.values())) == len(self.seqs)
        assert all(id == f"cantrail:entry/{seq}" for id, seq in self.seqs.items())
        acted = [each["prov:activity"] for each in self.relations("wasAssociatedWith")]
        assert sorted(acted) == sorted(self.activities)

    def _are_declared(self) -> None:
        declared = {
            "entity": self.entities,
            "generatedEntity": self.entities,
            "usedEntity": self.entities,
            "specificEntity": self.entities,
            "generalEntity": self.entities,
            "activity": self.activities,
            "agent": self.agents,
        }
        for kind in RELATIONS:
            for each in self.relations(kind):
                for role, among in declared.items():
                    assert f"prov:{role}" not in each or each[f"prov:{role}"] in among, (kind, each)

    def _are_in_order(self) -> None:
        """generation-precedes-usage, derivation-generation-generation-ordering, specialization-generation-ordering. The
        numbers of the entries are the clock: times of two entries may be equal."""
        for each in self.relations("used"):
            assert self.made.get(each["prov:entity"], 0) < self.seqs[each["prov:activity"]], each
        for each in self.relations("wasDerivedFrom"):
            assert self.made.get(each["prov:usedEntity"], 0) < self.made[each["prov:generatedEntity"]], each
        for each in self.relations("specializationOf"):
            assert each["prov:specificEntity"] != each["prov:generalEntity"]
            assert self.made[each["prov:generalEntity"]] <= self.made[each["prov:specificEntity"]], each
        ordered = sorted(self.seqs, key=self.seqs.__getitem__)
        times = [self.activities[id]["prov:startTime"] for id in ordered]
        assert times == sorted(times)

    def _have_no_cycle(self) -> None:
        sources = defaultdict(set)
        for each in self.relations("wasDerivedFrom"):
            sources[each["prov:generatedEntity"]].add(each["prov:usedEntity"])
        for start in list(sources):
            seen: set[str] = set()
            wanted = set(sources[start])
            while wanted:
                seen |= wanted
                wanted = {further for each in wanted for further in sources.get(each, ())} - seen
            assert start not in seen

    def sources(self, entity: str) -> set[str]:
        return {
            each["prov:usedEntity"]
            for each in self.relations("wasDerivedFrom")
            if each["prov:generatedEntity"] == entity
        }

    def kinds(self) -> set[str]:
        return {each["prov:type"]["$"].removeprefix("cantrail:") for each in self.entities.values()}


def history(outdoors: Outdoors, claim: str) -> set[int]:
    with outdoors.database.read() as session:
        return {each.seq for each in ledger.entries_of(session, streams=[f"claim:{claim}"], up_to=None)}


def test_a_whole_story_is_told_from_the_claim_back(outdoors: Outdoors) -> None:
    page = outdoors.address("https://orrin.example/tarn", "The roof may carry 75 kg.")
    outdoors.work()
    there = {"kind": "vehicle", "id": outdoors.vehicle(model="Fellwater", distinct_from=[VEHICLE])}
    origin = outdoors.claim(paper=page, source_type="maker_statement", subject=there)
    outdoors.work()
    outdoors.approve(origin)
    derivation = {"method": "sister_vehicle", "takes": [origin]}
    claim = approve_derived(outdoors, derived(outdoors, derivation), derivation)
    dispute = outdoors.dispute("other writer", origin, document=outdoors.paper())
    outdoors.settle("third", dispute, "uphold")

    told = Checked(written(outdoors, claim))

    assert history(outdoors, claim) | history(outdoors, origin) <= set(told.seqs.values())
    assert told.kinds() >= {
        *("Claim", "Standing", "Derivation", "Citation", "Document", "Snapshot", "Text"),
        *("PageReading", "BlindReading", "Decision", "Dispute", "Settlement"),
    }
    assert told.sources(f"cantrail:{claim}") == {f"cantrail:{origin}"}
    (citation,) = outdoors.view(origin).citations
    assert told.sources(f"cantrail:{citation.id}") == {f"cantrail:{page}"}
    attributed = {(each["prov:entity"], each["prov:agent"]) for each in told.relations("wasAttributedTo")}
    assert (f"cantrail:{page}", "cantrail:publisher/orrin") in attributed
    assert (f"cantrail:{origin}", f"cantrail:account/{outdoors.account('writer')}") in attributed
    assert told.agents["cantrail:system"]["prov:type"]["$"] == "prov:SoftwareAgent"


def test_every_claim_of_a_random_history_has_a_sound_provenance(outdoors: Outdoors) -> None:
    region = Region(outdoors, random.Random("whence"), ["Aldous"], BusyLife)
    region.live(220)
    (life,) = region.lives
    entries = 0
    for claim in life.claims:
        told = Checked(written(outdoors, claim))
        assert history(outdoors, claim) <= set(told.seqs.values())
        entries += len(told.seqs)
    assert entries > 100


def test_no_text_and_no_name_is_in_it(outdoors: Outdoors) -> None:
    someone = NewPublisher("Wilhelmina Ottershaw", "person")  # type: ignore[arg-type]
    slug = outdoors.do("writer", lambda work: subjects.add_publisher(work, someone))
    page = outdoors.written("Some words of a page", title="A title of a page")
    letter = outdoors.paper(slug, "letter")
    citations = [
        {"document": page, "page": "7", "locator": "the third row from below", "quote": "Words that were quoted"},
        {"document": letter},
    ]
    claim = outdoors.approve(outdoors.claim(citations=citations))
    outdoors.dispute("other writer", claim, document=page, reason="A reason that somebody wrote")
    row = derived(outdoors, agreeing(page))

    for each in (claim, row):
        text = msgspec.json.encode(written(outdoors, each)).decode()
        for hidden in ("Ottershaw", "Some words", "A title", "Words that", "third row", "A reason", "Deck", "writer"):
            assert hidden not in text
    told = Checked(written(outdoors, claim))
    assert told.agents[f"cantrail:publisher/{slug}"]["prov:type"]["$"] == "prov:Person"


def test_what_is_not_there_has_no_provenance(outdoors: Outdoors) -> None:
    with outdoors.database.read() as session, pytest.raises(CantrailError) as refused:
        provenance(session, "C999")
    assert refused.value.code == "no_such_claim"


def test_what_would_be_too_large_is_refused(outdoors: Outdoors, monkeypatch: pytest.MonkeyPatch) -> None:
    _, claim = sister(outdoors)
    monkeypatch.setattr(service, "MOST_ENTRIES", 3)
    with outdoors.database.read() as session, pytest.raises(CantrailError) as refused:
        provenance(session, claim)
    assert refused.value.code == "provenance_too_large"


def test_nobody_else_pays_for_the_library() -> None:
    asked = "import sys, app.cli.main, app.web.main; sys.exit('prov' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", asked], check=False).returncode == 0
