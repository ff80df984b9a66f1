"""The provenance of every claim of the demo."""

from collections import Counter

from app.bootstrap import Registry
from app.core.dossier import Facts
from tests.provenance import checked


def test_every_claim_of_the_demo_tells_where_it_comes_from(registry: Registry, facts: Facts) -> None:
    kinds: Counter[str] = Counter()
    with registry.database.read() as session:
        for claim in facts.claims:
            kinds += checked(session, claim).kinds()
    assert len(facts.claims) > 50
    assert {"Claim", "Citation", "Document", "BlindReading", "Decision", "Derivation", "Dispute"} <= kinds.keys()
