"""The provenance of the demo's claims: of one in three, at night of all."""

from collections import Counter

from app.bootstrap import Registry
from app.core.dossier import Facts
from tests.night import share
from tests.provenance import checked


def test_claims_of_the_demo_tell_where_it_comes_from(registry: Registry, facts: Facts) -> None:
    kinds: Counter[str] = Counter()
    with registry.database.read() as session:
        for claim in share(sorted(facts.claims), 3):
            kinds += checked(session, claim).kinds()
    assert len(facts.claims) > 50
    assert {"Claim", "Citation", "Document", "BlindReading", "Decision", "Derivation", "Dispute"} <= kinds.keys()
