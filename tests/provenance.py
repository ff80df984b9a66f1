"""What must hold of any provenance: that package `prov` reads it, what of PROV-CONSTRAINTS can be checked, and that it
tells a claim's whole history."""

import json
from collections import Counter, defaultdict
from datetime import datetime
from itertools import chain
from typing import Any

from prov.model import (
    ProvActivity,
    ProvAgent,
    ProvAssociation,
    ProvAttribution,
    ProvDerivation,
    ProvDocument,
    ProvEntity,
    ProvGeneration,
    ProvRecord,
    ProvRelation,
    ProvSpecialization,
    ProvUsage,
)

from app.services import looking
from app.services.provenance import provenance
from app.services.provenance_writing import ENTRY, NAMESPACE, PREFIX

MANY = 100_000
ENDS = {
    "prov:activity": ProvActivity,
    "prov:agent": ProvAgent,
    "prov:entity": ProvEntity,
    "prov:plan": ProvEntity,
    "prov:generatedEntity": ProvEntity,
    "prov:usedEntity": ProvEntity,
    "prov:specificEntity": ProvEntity,
    "prov:generalEntity": ProvEntity,
}
"""What each end of a relation has to be."""
TIMES = {"prov:startTime", "prov:endTime", "prov:time"}


class Told:
    """A provenance, read back."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.json: dict[str, Any] = json.loads(text)
        self.document = ProvDocument.deserialize(content=text, format="json")
        self.records: dict[str, ProvRecord] = {}
        for record in self.document.records:
            if not isinstance(record, ProvRelation):
                assert str(record.identifier) not in self.records, f"{record.identifier} is told twice"
                self.records[str(record.identifier)] = record

    def relations(self, kind: type[ProvRelation]) -> list[dict[str, Any]]:
        """The ends and times of the relations of one kind."""
        found = [record for record in self.document.records if type(record) is kind]
        return [{str(name): value for name, value in record.formal_attributes} for record in found]

    def entries(self) -> list[int]:
        """The numbers of the ledger entries that are told."""
        found = [each for each in self.records.values() if isinstance(each, ProvActivity)]
        return sorted(_number(str(each.identifier)) for each in found)

    def kinds(self) -> Counter[str]:
        """How many entities of each type there are."""
        return Counter(
            str(kind).removeprefix(f"{PREFIX}:")
            for record in self.records.values()
            if isinstance(record, ProvEntity)
            for kind in record.get_attribute("prov:type")
        )


def check_constraints(told: Told) -> None:
    """The numbers are those of PROV-CONSTRAINTS (W3C Recommendation, 30 April 2013)."""
    assert told.document == ProvDocument.deserialize(content=told.document.serialize(format="json"), format="json")
    assert told.json["prefix"] == {PREFIX: NAMESPACE}
    _check_ends(told)
    generated = _generations(told)
    _check_order(told, generated)
    _check_times(told)


def _check_ends(told: Told) -> None:
    """Everything that is named is there, and is what it is used as (50, 54, 55)."""
    for record in told.document.records:
        if isinstance(record, ProvRelation):
            for name, value in record.formal_attributes:
                if value is not None and str(name) not in TIMES:
                    assert isinstance(told.records.get(str(value)), ENDS[str(name)]), f"{record}: {name} {value}"
    for kind, ends in (
        (ProvGeneration, ("prov:entity", "prov:activity")),
        (ProvUsage, ("prov:activity", "prov:entity")),
        (ProvAssociation, ("prov:activity", "prov:agent")),
        (ProvAttribution, ("prov:entity", "prov:agent")),
    ):
        assert all(each.get(end) is not None for each in told.relations(kind) for end in ends)
    associated = Counter(str(each["prov:activity"]) for each in told.relations(ProvAssociation))
    assert associated == Counter(
        str(each.identifier) for each in told.records.values() if isinstance(each, ProvActivity)
    )


def _generations(told: Told) -> dict[str, int]:
    """The entry that made each entity: one (24)."""
    found: dict[str, int] = {}
    for each in told.relations(ProvGeneration):
        made = str(each["prov:entity"])
        assert made not in found, f"{made} is made twice"
        found[made] = _number(str(each["prov:activity"]))
    return found


def _check_order(told: Told, generated: dict[str, int]) -> None:
    """Events in the order of the ledger: made before used (37), what is derived strictly after its source (42) and after
    its source's making (41), and what is more special no sooner (46). So nothing comes from itself (52)."""
    for each in told.relations(ProvUsage):
        assert generated.get(str(each["prov:entity"]), 0) <= _number(str(each["prov:activity"])), each
    for each in told.relations(ProvDerivation):
        source, made = str(each["prov:usedEntity"]), str(each["prov:generatedEntity"])
        assert made in generated
        assert generated.get(source, 0) < generated[made], f"{made} from {source}"
    for each in told.relations(ProvSpecialization):
        general, special = str(each["prov:generalEntity"]), str(each["prov:specificEntity"])
        assert general != special
        assert generated.get(general, 0) <= generated.get(special, MANY), f"{special} of {general}"


def _check_times(told: Told) -> None:
    """An activity begins before it ends (30), and makes and uses things in between (33, 34)."""
    spans: dict[str, tuple[Any, Any]] = {}
    for record in told.records.values():
        if isinstance(record, ProvActivity):
            begun, ended = record.get_startTime(), record.get_endTime()
            assert begun is not None
            assert ended is not None
            assert begun <= ended
            spans[str(record.identifier)] = (begun, ended)
    for each in chain(told.relations(ProvGeneration), told.relations(ProvUsage)):
        begun, ended = spans[str(each["prov:activity"])]
        assert begun <= each["prov:time"] <= ended
    order = sorted(spans, key=_number)
    times = [spans[name][0] for name in order]
    assert times == sorted(times)


def check_history(told: Told, session: Any, claim: str) -> None:
    """Every entry of the claim's history is told exactly once, at its time, by whoever made it."""
    history = looking.history(session, claim, after=0, limit=MANY).items
    activities = told.json["activity"]
    agents: defaultdict[str, list[str]] = defaultdict(list)
    for each in told.json["wasAssociatedWith"].values():
        agents[each["prov:activity"]].append(each["prov:agent"])
    for entry in history:
        name = f"{PREFIX}:{ENTRY}{entry.seq}"
        activity = activities[name]
        assert isinstance(activity, dict), f"{name} is told more than once"
        assert datetime.fromisoformat(activity["prov:startTime"]) == datetime.fromisoformat(entry.at)
        assert int(activity[f"{PREFIX}:entry"]["$"]) == entry.seq
        assert activity["prov:type"]["$"] == f"{PREFIX}:{entry.type}"
        (agent,) = agents[name]
        assert agent.removeprefix(f"{PREFIX}:").removeprefix("account/") == entry.actor


def checked(session: Any, claim: str) -> Told:
    """A claim's provenance, after everything that must hold of it was found to hold."""
    told = Told(provenance(session, claim))
    assert provenance(session, claim) == told.text
    check_constraints(told)
    check_history(told, session, claim)
    return told


def _number(name: str) -> int:
    return int(name.removeprefix(f"{PREFIX}:{ENTRY}"))
