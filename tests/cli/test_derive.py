"""`derive`: a table as people keep it, and the API's own answer."""

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import msgspec
import pytest

from app.services.inputs import NewDerivation
from app.services.previewing import derived
from tests.cli.conftest import Ran, Run
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

HEADER = "accessory,own mass,load on this vehicle,own rating,unit"
RACKS = f"{HEADER}\nSparlet bars,5,70,100,kg\nSlatten platform,25,50,,kg\n\nDeep tray,18.5,56.5,,\n"


@pytest.fixture
def kept(tmp_path: Path) -> Any:
    """Keeps a table in a file and gives its name."""

    def keep(table: str | bytes, name: str = "racks.csv") -> str:
        (tmp_path / name).write_bytes(table if isinstance(table, bytes) else table.encode())
        return name

    return keep


def said(ran: Ran) -> str:
    return " ".join(ran.out.split())


def mass(value: str, unit: str = "kg") -> dict[str, str]:
    return {"value": value, "unit": unit}


def rows() -> list[dict[str, Any]]:
    """The rows of RACKS, as the API takes them."""
    return [
        {"accessory": "Sparlet bars", "mass": mass("5"), "load": mass("70"), "rating": mass("100")},
        {"accessory": "Slatten platform", "mass": mass("25"), "load": mass("50")},
        {"accessory": "Deep tray", "mass": mass("18.5"), "load": mass("56.5")},
    ]


def asked(run: Run, *words: str) -> list[dict[str, Any]]:
    """The rows that a table comes to."""
    ran = run("derive", *words, "--json")
    assert (ran.code, ran.err) == (0, "")
    given: list[dict[str, Any]] = json.loads(ran.out)["claim"]["derivation"]["rows"]
    return [{name: value for name, value in row.items() if value is not None} for row in given]


def test_a_figure_reads_well_and_needs_no_registry(run: Run, kept: Any, tmp_path: Path) -> None:
    ran = run("--data-dir", str(tmp_path / "nowhere"), "derive", kept(RACKS))
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    heading, first, *_ = ran.out.splitlines()
    assert heading.split() == ["row", "accessory", "itself,", "kg", "load,", "kg", "together,", "kg", "part"]
    assert first.split() == ["1", "Sparlet", "bars", "4.5-5.5", "69.5-70.5", "74-76", "agrees"]
    assert "Rows 1, 2 and 3 agree on accessory and load together: 74.9 to 75.1 kg." in said(ran)
    figure = "Roof limit, carrier counted: 74.9 kg; it lies between 74.9 and 75.1 kg."
    assert ran.out.splitlines().count(figure) == 1
    assert ran.out.index("agree on") < ran.out.index(figure) < ran.out.index("Before you drive:")
    assert not (tmp_path / "nowhere").exists()


def test_a_figure_in_pounds(run: Run, kept: Any) -> None:
    ran = run("derive", kept(RACKS), "--unit", "lb")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "Roof limit, carrier counted: 165.126 lb; it lies between 165.126 and 165.568 lb." in said(ran)
    assert "together, lb" in ran.out


def test_every_part_has_its_word(run: Run, kept: Any) -> None:
    table = "accessory,mass,load,rating\na,5,70,\nb,25,50,\nc,10,20,20\nd,12,12,\n"
    parts = [line.split()[-1] for line in run("derive", kept(table)).out.splitlines()[1:5]]
    assert parts == ["agrees", "agrees", "self-limited", "outlier"]
    assert run("derive", kept("accessory,mass,load\na,5,70")).out.splitlines()[1].split()[-1] == "alone"


# Tables as people keep them


@pytest.mark.parametrize(
    "table",
    [
        RACKS,
        RACKS.replace("\n", "\r\n"),
        RACKS.replace("\n", "\r"),
        "\ufeff" + RACKS,
        "\n,,\n" + RACKS + ",,,,\n",
        RACKS.replace(",", ";"),
        RACKS.replace(",", "\t"),
        RACKS.replace(",", ";").replace(".", ","),
        RACKS.replace("18.5", '"18,5"').replace("56.5", ' "56,5"'),
        RACKS.replace(HEADER, "Accessory,Mass,LOAD,Own_Rating,Unit"),
        RACKS.replace(HEADER, '"accessory", "OWN  MASS", "load", "rating", "unit"'),
        RACKS.replace(HEADER, "accessory,own-mass,load_on_this_vehicle,ownrating,unit,,").replace(",kg", ",kg,,"),
        "unit,load,mass,rating,accessory\nKG,70,5,100,Sparlet\u00a0bars\nkg,50,25,,Slatten platform\n,56.5,18.5,,Deep tray",
    ],
)
def test_a_table_is_read_as_it_was_saved(table: str, run: Run, kept: Any) -> None:
    wanted = [{**row, "leaves_out": False} for row in rows()]
    assert asked(run, kept(table)) == wanted


def test_a_table_on_standard_input(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(RACKS.encode())))
    assert len(asked(run, "-")) == 3


def test_what_a_row_does_not_say_the_option_says(run: Run, kept: Any) -> None:
    table = "accessory,mass,load,leaves out,unit\na,5,70,yes,lbs\nb,5,70,No,lb\nc,5,70,,lb\n"
    name = kept(table)
    assert [row["leaves_out"] for row in asked(run, name)] == [True, False, False]
    assert [row["leaves_out"] for row in asked(run, name, "--leaves-out")] == [True, False, True]
    assert [row["leaves_out"] for row in asked(run, name, "--not-said")] == [True, False, False]
    assert {row["mass"]["unit"] for row in asked(run, name)} == {"lb"}


def test_two_hundred_rows(run: Run, kept: Any) -> None:
    table = "accessory,mass,load\n" + "".join(f"rack {n},{n}.125,{300 - n}.875\n" for n in range(1, 201))
    ran = run("derive", kept(table))
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out.splitlines()[200].split()[:3] == ["200", "rack", "200"]
    refused = run("derive", kept(table + "one more,1,1\n"))
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.startswith("cantrail: line 202: This is row 201. Give at most 200")


def test_hostile_text_is_spelt_out(run: Run, kept: Any) -> None:
    name = "\x1b[31mred\x1b]0;owned\x07 \u202egnp.exe" + "\u2066" * 20
    table = f'accessory,mass,load\n"{name}\n=cmd()",5,70\nb,{name},1\n'
    refused = run("derive", kept(table))
    shown = run("derive", kept(table.replace(f"b,{name}", "b,25")))
    assert (refused.code, shown.code) == (2, 0)
    for text in (refused.err, shown.out):
        assert "\\x1b[31mred" in text
        assert all(each.isprintable() or each == "\n" for each in text)
    assert max(map(len, shown.out.splitlines())) <= 80
    named = run("derive", "no\x1bthing.csv")
    assert (named.code, "no\\x1bthing.csv cannot be read" in named.err) == (2, True)


# What is wrong


def test_every_fault_is_told_at_once_with_its_line_and_column(run: Run, kept: Any) -> None:
    long, text = "x" * 81, "x" * 201
    table = (
        "Accessory;Mass;load;rating;unit;leaves_out;document;page;locator;colour\n"
        "bars;5 kg;70;100;kg;yes;D1;1;;\n"
        f";5;;1.2.3;stone;maybe;1017;{'9' * 21};{text};red\n"
        f"{long};-5;70;;;;;;;;;more\n"
    )
    ran = run("derive", kept(table), "--vehicle", "No Such", "--condition", "on_road", "--unit", "stone")
    assert (ran.code, ran.out) == (2, "")
    first, *faults = ran.err.splitlines()
    assert first == "cantrail: 15 things are wrong."
    assert [re.split(r": ", each.strip())[0] for each in faults] == [
        "--vehicle",
        "--unit",
        "line 1, colour",
        "line 2, Mass",
        "line 3, document",
        "line 3, page",
        "line 3, locator",
        "line 3, Accessory",
        "line 3, unit",
        "line 3, leaves_out",
        "line 3, load",
        "line 3, rating",
        "line 4, Accessory",
        "line 4, cell 12",
        "line 4, Mass",
    ]
    assert "line 2, Mass: '5 kg' is no mass. Write digits as the page prints them" in ran.err
    assert "line 3, load: Give the load on this vehicle, as the page prints it." in ran.err


def test_more_than_a_hundred_faults_are_all_told(run: Run, kept: Any) -> None:
    ran = run("derive", kept("accessory,mass,load\n" + "a,heavy,much\n" * 80))
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 161
    assert "  line 81, load: 'much' is no mass." in ran.err


@pytest.mark.parametrize(
    ("table", "says"),
    [
        (b"", "racks.csv: There is nothing in this. Begin with a line that names the columns: accessory, own mass,"),
        (b"\n;;\n  \n", "racks.csv: There is nothing in this."),
        (b"accessory,mass,load\n\n", "racks.csv: There is no row below the header."),
        (b"bars,5,70\ntray,25,50\n", "line 1: This is no header. Begin with a line that names the columns:"),
        (b"accessory,mass\nbars,5\n", "line 1, load on this vehicle: There is no column 'load on this vehicle'."),
        (b"accessory,mass,lode\nbars,5,70\n", "line 1, lode: There is no such column. Did you mean 'load'?"),
        (b"accessory,mass,own mass,load\nbars,5,5,70\n", "line 1, own mass: Two columns are for the own mass."),
        (b"accessory,mass,load\nbars,5,5,70\n", "line 2, cell 4: This cell stands in no column of the header. Put"),
        (b"accessory,mass,load,\nbars,5,70,x\n", "line 2, cell 4: This cell stands in no column of the header."),
        (b'accessory,mass,load\na,5,70\n"bars,5,70\n', "line 3: This cannot be read from here on: unexpected end"),
        (b'accessory,mass,load\n"a\nb",5,\n', "line 2, load: Give the load on this vehicle"),
        (b"accessory,mass,load\nba\0rs,5,70\n", "line 2, accessory: This has a NUL character in it."),
        (b"accessory,mass,load\nb\xe4rs,5,70\n", "racks.csv, line 2: This line is not UTF-8. Save the table anew"),
        ("accessory,mass,load\na,1,1\n".encode("utf-16"), "racks.csv, line 1: This line is not UTF-8."),
        (b"x" * (1024 * 1024 + 1), "racks.csv: This has more than 1024 KiB."),
        (b"x" * (1024 * 1024), "line 1: This cannot be read from here on: field larger than field limit"),
        (b'accessory,mass,load\na,"1,234.5",1\n', "line 2, mass: '1,234.5' is no mass."),
    ],
)
def test_what_is_no_table_is_told_in_a_sentence(table: bytes, says: str, run: Run, kept: Any) -> None:
    ran = run("derive", kept(table))
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
    assert len(ran.err) < 500


def test_what_cannot_be_opened_is_told(run: Run, kept: Any, tmp_path: Path) -> None:
    for words, says in (
        (["missing.csv"], "missing.csv cannot be read: No such file or directory."),
        ([str(tmp_path)], "cannot be read: Is a directory."),
        ([kept(RACKS), "--vehicle", "orrin-tarn"], "--condition: Say in which condition the loads hold"),
        ([kept(RACKS), "--condition", "offroad"], "--condition"),
        ([], "FILE"),
    ):
        ran = run("derive", *words)
        assert (ran.code, ran.out) == (2, "")
        assert says in ran.err


def test_help_says_what_a_table_has(run: Run) -> None:
    ran = run("derive", "--help")
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    for words in ("load on this vehicle", "leaves out", "decimal commas", "semicolons", "cantrail derive racks.csv"):
        assert words in ran.out


# With the registry


@pytest.mark.usefixtures("here")
def test_json_is_the_answer_of_the_api_to_the_byte(run: Run, client: Client, people: People, kept: Any) -> None:
    trade = Trade(client, people)
    paper = trade.document(trade.publisher("Pages", "shop"), "accessory_page")
    request = {"method": "accessory_pages", "rows": rows()}
    for words, more in (
        ([], {}),
        (["--unit", "lb", "--condition", "parked"], {"unit": "lb", "condition": "parked"}),
        (["--vehicle", trade.tarn, "--condition", "on_road"], {"vehicle": trade.tarn, "condition": "on_road"}),
    ):
        sent = client.post(f"{API}/derivations", json={**request, **more}, headers=people["contributor"])
        assert sent.status_code == 200
        assert run("derive", kept(RACKS), *words, "--json").out == sent.text + "\n"
    cited = [{**row, "document": paper, "page": "3", "locator": "table"} for row in rows()]
    lines = RACKS.replace("\n\n", "\n").splitlines()
    table = "\n".join([f"{HEADER},document,page,locator", *(f"{line},{paper},3,table" for line in lines[1:])])
    sent = client.post(f"{API}/derivations", json={**request, "rows": cited}, headers=people["contributor"])
    assert run("derive", kept(table), "--json").out == sent.text + "\n"
    ran = run("derive", kept(table.replace(f"{paper},3,table\nDeep", "D999,3,table\nDeep")))
    assert (ran.code, ran.err) == (2, "cantrail: line 3, document: There is no document D999.\n")


@pytest.mark.usefixtures("here")
def test_an_approved_limit_of_the_vehicle_caps_the_figure(run: Run, client: Client, people: People, kept: Any) -> None:
    trade = Trade(client, people)
    heavier = kept(RACKS.replace(",70,", ",80,").replace(",50,", ",60,").replace("56.5", "66.5"))
    assert "Roof limit, carrier counted: 84.9 kg; it lies between" in said(run("derive", heavier))
    ran = run("derive", heavier, "--vehicle", trade.tarn, "--condition", "on_road")
    assert ran.code == 0
    assert "The pages alone would give 84.9 kg; a lower limit of this vehicle stands at 75 kg." in said(ran)
    assert "Roof limit, carrier counted: 75 kg." in ran.out.splitlines()
    ran = run("derive", heavier, "--vehicle", f"{trade.tarn}0", "--condition", "on_road")
    assert (ran.code, ran.out) == (2, "")
    assert f"Did you mean {trade.tarn}" in ran.err


def test_without_a_registry_nothing_is_known() -> None:
    """The service says so itself; the command line opens one for whatever must be looked up."""
    new = msgspec.convert({"method": "accessory_pages", "rows": [{**rows()[0], "document": "D1017"}]}, NewDerivation)
    with pytest.raises(Exception, match="There is no document D1017"):
        derived(None, new)
    new = msgspec.convert({"method": "sister_vehicle", "takes": ["C1042"]}, NewDerivation)
    with pytest.raises(Exception, match="There is no claim C1042"):
        derived(None, new)
