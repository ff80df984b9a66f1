"""What people do over HTTP, in the fewest words: enter, file, claim, read, approve, ask."""

from itertools import count
from typing import Any

from tests.web.people import People
from tests.web.talking import Client

API = "/api/v1"
READING = ("stated", "per", "condition", "basis", "excluded_mass", "bound", "applies_to", "scope")

_papers = count(1)


def pdf(text: str = "") -> bytes:
    """A file that begins as a PDF does; each one is another document."""
    return f"%PDF-1.7\n% {text or f'paper {next(_papers)}'}\n%%EOF\n".encode()


class Story:
    """A registry that grows over HTTP. What goes wrong fails the test at once."""

    def __init__(self, client: Client, people: People) -> None:
        self.client = client
        self.people = people

    def get(self, path: str, **query: Any) -> Any:
        answer = self.client.get(API + path, params=query)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, path: str, body: Any, by: str = "contributor", status: int = 201) -> Any:
        answer = self.client.post(API + path, json=body, headers=self.people[by])
        assert answer.status_code == status, answer.text
        return answer.json()

    def publisher(self, name: str, kind: str) -> str:
        return str(self.post("/publishers", {"name": name, "kind": kind})["slug"])

    def document(self, publisher: str, kind: str = "handbook", **fields: str) -> str:
        answer = self.client.post(
            f"{API}/documents",
            data={"publisher": publisher, "kind": kind, **fields},
            files={"file": ("page.pdf", pdf())},
            headers=self.people["contributor"],
        )
        assert answer.status_code == 201, answer.text
        return str(answer.json()["id"])

    def add(self, plural: str, **body: Any) -> str:
        return str(self.post(f"/{plural}", body)["id"])

    def claim(self, kind: str, id: str, quantity: str, value: str, document: str, **more: Any) -> tuple[str, Any]:
        body = {
            "subject": {"kind": kind, "id": id},
            "quantity": quantity,
            "stated": {"value": value, "unit": "factor" if quantity == "off_road_factor" else "kg"},
            "source_type": "manual_page",
            "citations": [{"document": document, "page": "214", "quote": f"{value} as printed"}],
            **more,
        }
        return str(self.post("/claims", body)["id"]), body

    def enquiry(self, **body: Any) -> str:
        said = {
            "quantity": "roof_limit",
            "channel": "letter",
            "questions": "What may the roof carry?",
            "asked_on": "2026-01-05",
        }
        return str(self.post("/enquiries", {**said, **body})["id"])

    def read(self, claim: str, body: Any, by: str) -> Any:
        said = {field: body[field] for field in READING if field in body}
        return self.post(f"/claims/{claim}/readings", said, by)

    def approve(self, claim: str, body: Any, by: str, **more: Any) -> Any:
        reading = self.read(claim, body, by)
        decision = {"decision": "approve", "reading": reading["reading"], "reason": "As the page has it.", **more}
        return self.post(f"/claims/{claim}/decisions", decision, by)

    def vetted(self, kind: str, id: str, quantity: str, value: str, document: str, **more: Any) -> str:
        """A claim that two reviewers have read and approved."""
        claim, body = self.claim(kind, id, quantity, value, document, **more)
        for by in ("reviewer", "second reviewer"):
            self.approve(claim, body, by)
        return claim

    def confirmed(self, plural: str, id: str, document: str) -> None:
        """Two reviewers check a record."""
        for by in ("reviewer", "second reviewer"):
            self.post(f"/{plural}/{id}/confirmations", {"document": document}, by)

    def kept(self, **body: Any) -> str:
        """A budget's answer, kept. Gives its digest."""
        return str(self.post("/receipts", {"budget": body}, "anonymous")["receipt"]["digest"])

    def budget(self, **body: Any) -> Any:
        return self.post("/budget", body, "anonymous", 200)


class Trade(Story):
    """The worked example of the method: a roof of 75 kg, platforms of 25 kg, bars of 5 kg."""

    def __init__(self, client: Client, people: People) -> None:
        super().__init__(client, people)
        maker, racks = self.publisher("Orrin", "vehicle_maker"), self.publisher("Pellwick", "carrier_maker")
        handbook, sheet = self.document(maker), self.document(racks, "instruction_sheet")
        self.handbook, self.sheet = handbook, sheet
        said_everywhere = {"scope": {"years": "all", "bodies": "all", "roofs": "all", "markets": "all"}}
        self.tarn = self.add("vehicles", maker=maker, model="Tarn", series="T2", years={"from": 2019, "to": 2024})
        self.heron = self.add("vehicles", maker=maker, model="Heron", years={"from": 2015, "to": None})
        limit = {"condition": "on_road", **said_everywhere}
        self.roof = self.vetted("vehicle", self.tarn, "roof_limit", "75", handbook, basis="includes_carrier", **limit)
        self.vetted(
            "vehicle",
            self.heron,
            "roof_limit",
            "75",
            handbook,
            basis="excludes_carrier",
            excluded_mass={"value": "5", "unit": "kg"},
            **limit,
        )
        self.platform = self._carrier("Slatten", "platform", "25", "100", racks, sheet)
        self.rough = self._carrier("Gravel Deck", "platform", "25", "100", racks, sheet)
        self.vetted("carrier", self.rough, "off_road_factor", "2/3", sheet, applies_to="roof_limit")
        self.bars = self._carrier("Crossing", "crossbars", "5", "75", racks, sheet)

    def _carrier(self, model: str, kind: str, own: str, rated: str, maker: str, sheet: str) -> str:
        id = self.add("carriers", maker=maker, model=model, kind=kind, fixing="built_in")
        self.confirmed("carriers", id, sheet)
        self.vetted("carrier", id, "own_mass", own, sheet, basis="includes_fixing")
        self.vetted("carrier", id, "load_rating", rated, sheet, condition="on_road", basis="excludes_carrier")
        return id

    def cargo(self, vehicle: str, condition: str, *carriers: str, kg: float = 10) -> Any:
        return self.budget(
            vehicle=vehicle,
            condition=condition,
            carriers=[{"id": each} for each in carriers],
            gear=[{"name": "boxes", "mass": kg}],
        )
