"""What provenance tells of where a claim was placed and of the method in force; and that it is the same everywhere."""

import subprocess
import sys
from pathlib import Path

from app.core.claim import Subject, SubjectKind
from app.core.confidence import CURRENT
from app.services import provenance as service
from tests.provenance import Told, checked
from tests.services.outdoors import Outdoors
from tests.services.placed import ONE, Desk


def told(outdoors: Outdoors, claim: str) -> Told:
    with outdoors.database.read() as session:
        return checked(session, claim)


def test_where_a_claim_was_placed_is_told(outdoors: Outdoors) -> None:
    desk = Desk(outdoors)
    first, second = desk.another(), desk.another(model="Hesper", distinct_from=["orrin-mere-2019"])
    moved = outdoors.approve(outdoors.claim(subject={"kind": "vehicle", "id": first.id}))
    stays = outdoors.approve(outdoors.claim())
    merger = desk.merge(first, second)
    split = desk.split(second, ONE, moved)
    desk.propose(ONE, Subject(SubjectKind.VEHICLE, second.id))

    shown = told(outdoors, moved)

    onto = [each.get("cantrail:subject") for name, each in shown.json["entity"].items() if "/placed/" in name]
    assert onto == [second.stream, ONE.stream]
    assert {f"cantrail:{merger}", f"cantrail:{split}"} <= shown.json["entity"].keys()
    assert told(outdoors, stays).kinds()["Placement"] == 0
    undoing = desk.undo(split)
    assert f"cantrail:{undoing}" in told(outdoors, moved).json["entity"]


def test_the_method_in_force_is_the_plan_of_what_was_done(outdoors: Outdoors) -> None:
    shown = told(outdoors, outdoors.approve(outdoors.claim()))
    assert shown.json["entity"]["cantrail:method/1"]["cantrail:version"] == CURRENT.version
    plans = {each["prov:activity"]: each.get("prov:plan") for each in shown.json["wasAssociatedWith"].values()}
    assert plans.pop("cantrail:entry/1") is None
    assert set(plans.values()) == {"cantrail:method/1"}


def test_it_comes_out_the_same_in_another_process(outdoors: Outdoors) -> None:
    page = outdoors.written("The roof carries 75 kg.")
    outdoors.work()
    claim = outdoors.approve(outdoors.claim(paper=page))
    again = (
        "import sys; from app.persistence.session import Database; from app.services.provenance import provenance\n"
        "with Database(sys.argv[1]).read() as session: sys.stdout.write(provenance(session, sys.argv[2]))"
    )
    for seed in ("1", "2"):
        ran = subprocess.run(
            [sys.executable, "-c", again, outdoors.database.url, claim],
            env={"PYTHONHASHSEED": seed},
            cwd=Path(service.__file__).parents[2],
            capture_output=True,
            check=True,
            text=True,
        )
        assert ran.stdout == told(outdoors, claim).text
