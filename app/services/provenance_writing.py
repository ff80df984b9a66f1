"""A document in the words of W3C PROV that is being written: each ledger entry an activity under its number, what it
made and used entities, who made it an agent. Everything is in it once, and nobody's text or name."""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from app.core import account_entries, entries
from app.core.entries import Entry

if TYPE_CHECKING:
    from prov.model import ProvEntity, QualifiedName

PREFIX: Final = "cantrail"
NAMESPACE: Final = "urn:cantrail:"
ENTRY: Final = "entry/"

Said = Mapping[str, str | int | bool | None]
"""What is said of something: words from a list, numbers and hashes."""


class Writing:
    """The document. Times are those of entries; `adopted` is the method's stream, oldest first."""

    def __init__(self, adopted: Sequence[Entry]) -> None:
        # A quarter of a second that only those pay who ask for this.
        from prov.constants import PROV
        from prov.model import Namespace, ProvDocument

        self._document: ProvDocument = ProvDocument()
        self._standard = PROV
        self._own = Namespace(PREFIX, NAMESPACE)
        self._document.add_namespace(self._own)
        self._adopted = adopted
        self._adoptions = [entry.seq for entry in adopted]
        self._activities: set[int] = set()
        self._entities: dict[str, ProvEntity] = {}
        self._agents: set[str] = set()
        self._relations: set[tuple[str, ...]] = set()

    def text(self) -> str:
        """The document as PROV-JSON."""
        return str(self._document.serialize(format="json"))

    @property
    def entries(self) -> int:
        """How many entries are told."""
        return len(self._activities)

    def activity(self, entry: Entry) -> bool:
        """The activity of an entry, with the method that was in force before it as its plan; False where it is there
        already."""
        if entry.seq in self._activities:
            return False
        self._activities.add(entry.seq)
        said: dict[str, Any] = {"prov:type": self._own[entry.payload.type], _name("entry"): entry.seq}
        self._document.activity(_name(f"{ENTRY}{entry.seq}"), entry.at, entry.at, said)
        plan = self._method_before(entry)
        self._document.wasAssociatedWith(_name(f"{ENTRY}{entry.seq}"), self._account(entry.actor), plan)
        return True

    def made(self, entry: Entry, id: str, kind: str, said: Said) -> None:
        """An entity that an entry made."""
        made = self._entity(id, kind, said)
        if self._is_new("made", id):
            self._document.wasGeneratedBy(made, _name(f"{ENTRY}{entry.seq}"), entry.at)

    def used(self, entry: Entry, ids: Iterable[str], kind: str, said: Said | None = None) -> None:
        """Entities that an entry used; `said` is of that use."""
        for id in ids:
            used = self._entity(id, kind)
            if self._is_new("used", str(entry.seq), id):
                more = _told(said or {})
                self._document.used(_name(f"{ENTRY}{entry.seq}"), used, entry.at, other_attributes=more)

    def derived(self, id: str, sources: Iterable[str]) -> None:
        """An entity comes from others, all of which were named before."""
        for source in sources:
            if self._is_new("derived", id, source):
                self._document.wasDerivedFrom(_name(id), _name(source))

    def revised(self, id: str, earlier: str, kind: str) -> None:
        """An entity takes the place of an earlier one."""
        self._document.wasRevisionOf(_name(id), self._entity(earlier, kind))

    def special(self, id: str, general: str, kind: str) -> None:
        """An entity is another one, as it was at some time."""
        self._document.specializationOf(_name(id), self._entity(general, kind))

    def by_account(self, id: str, actor: str) -> None:
        """An entity is an account's."""
        self._document.wasAttributedTo(_name(id), self._account(actor))

    def by_publisher(self, id: str, slug: str, *, person: bool) -> None:
        """An entity is a publisher's."""
        kind = self._standard["Person" if person else "Organization"]
        self._document.wasAttributedTo(_name(id), self._agent(f"publisher/{slug}", kind))

    def _method_before(self, entry: Entry) -> str | None:
        place = bisect_left(self._adoptions, entry.seq)
        if place == 0:
            return None
        adoption = self._adopted[place - 1]
        id = f"method/{adoption.seq}"
        if id not in self._entities and isinstance(adoption.payload, entries.MethodAdopted):
            self.activity(adoption)
            self.made(adoption, id, "Method", {"version": adoption.payload.method})
        return _name(id)

    def _entity(self, id: str, kind: str, said: Said | None = None) -> str:
        """An entity; one that is only named, and whose own history is not told, has no more than its kind."""
        if id not in self._entities:
            self._entities[id] = self._document.entity(_name(id), {"prov:type": self._own[kind]})
        self._entities[id].add_attributes(_told(said or {}))
        return _name(id)

    def _account(self, actor: str) -> str:
        match actor:
            case entries.SYSTEM:
                return self._agent(actor, self._standard["SoftwareAgent"])
            case account_entries.OPERATOR:
                return self._agent(actor, self._own["Operator"])
            case _:
                return self._agent(f"account/{actor}", self._own["Account"])

    def _agent(self, id: str, kind: "QualifiedName") -> str:
        if id not in self._agents:
            self._agents.add(id)
            self._document.agent(_name(id), {"prov:type": kind})
        return _name(id)

    def _is_new(self, *relation: str) -> bool:
        if relation in self._relations:
            return False
        self._relations.add(relation)
        return True


def _name(id: str) -> str:
    return f"{PREFIX}:{id}"


def _told(said: Said) -> dict[str, Any]:
    """What is said of something; what is not known is left out."""
    return {
        _name(name): str(value) if isinstance(value, str) else value
        for name, value in said.items()
        if value is not None
    }
