"""Readings from a CSV file in a copy of the workbook: what is written, what is refused, and what
stays.
"""

import re
import shutil
from datetime import datetime

import openpyxl
import pytest
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as examples
from hypothesis import strategies as st

from tests.workbook_template.travelling import (
    formulas,
    fresh,
    parts,
    plan,
    rewritten,
    stored,
    values,
)
from udfs import call
from workbook_template.cli import main as cli
from workbook_template.template import scenario
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import liquor_plan, log, settings, water
from workbook_template.travel import log_readings
from workbook_template.travel.fresh_values import Fresh
from workbook_template.travel.ooxml.package import Package
from workbook_template.travel.ooxml.stored_book import StoredBook
from workbook_template.travel.recalc import recalculate
from workbook_template.travel.share import shared
from workbook_template.user_errors import BookError

HEADER = (
    "date,batch,water,acid,volume,target_ph,ph_before,dose,ph_after,last_runnings_ph,kettle_ph,"
    "beer_ph\n"
)
GOOD = "2026-01-12,0206,town MAIN,Phosphoric 75 drum,11.2,5.7,7.5,238,5.72,5.6,5.3,4.2\n"
#: First empty row of the demo's log, as addresses count.
EMPTY = log.FIRST + 1 + len(scenario.LOG)


def column(key: str) -> int:
    return log.COLUMN[key] + 1


@pytest.fixture(autouse=True)
def only_this(monkeypatch):
    monkeypatch.setattr(cli, "COMMANDS", ("log",))


@pytest.fixture(scope="module")
def settled(tmp_path_factory):
    """The template with fresh values, not to be changed."""
    path = tmp_path_factory.mktemp("settled") / "brewery.xlsx"
    shutil.copy(TEMPLATE, path)
    recalculate(path)
    return path


@pytest.fixture(scope="module")
def log_part(settled):
    return StoredBook(Package.read(settled)).sheet(log.NAME).part


@pytest.fixture(scope="module")
def added(settled, tmp_path_factory):
    """A copy with two rows more, the second of a batch of the plan; two other lines are refused."""
    folder = tmp_path_factory.mktemp("added")
    text = (
        HEADER
        + GOOD
        + "2026-02-02,0207 pale,,,,,7.48,240,5.71,,,\n"
        + GOOD
        + "2026-01-13,0206,town,,,,,,,,,\n"
    )
    file, out = folder / "meter.csv", folder / "out.xlsx"
    file.write_text(text, encoding="utf-8")
    before = settled.read_bytes()
    result = log_readings.add(Package.read(settled), file)
    assert settled.read_bytes() == before
    out.write_bytes(result.data)
    return out, result


def run(capsys, *arguments):
    code = cli.main(["log", "add", *map(str, arguments)])
    said = capsys.readouterr()
    assert "Traceback" not in said.err
    return code, said.out, said.err


def csv_file(folder, text: str, encoding: str = "utf-8"):
    path = folder / "meter.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.fixture(scope="module")
def held(added):
    """What openpyxl reads in the copy."""
    return stored(added[0])


def batch(path, row: int):
    return StoredBook(Package.read(path)).sheet(log.NAME).value(row, column("batch"))


def test_the_rows_stand_in_the_first_empty_rows(added, held):
    def inputs(row):
        return [held.get((log.NAME, row, column(key))) for key in log.INPUTS]

    assert added[1].rows == [EMPTY, EMPTY + 1]
    assert inputs(EMPTY) == [
        datetime(2026, 1, 12),
        "0206",
        "Town main",
        "Phosphoric 75 drum",
        11.2,
        5.7,
        7.5,
        238,
        5.72,
        5.6,
        5.3,
        4.2,
        *[None] * 4,
    ]
    assert inputs(EMPTY + 1) == [
        datetime(2026, 2, 2),
        "0207 Pale",
        None,
        None,
        None,
        None,
        7.48,
        240,
        5.71,
        *[None] * 7,
    ]
    assert inputs(EMPTY + 2) == [None] * len(log.INPUTS)


def test_all_else_stays_byte_for_byte(added, settled, log_part):
    path, _ = added
    before, after = parts(settled), parts(path)
    assert list(before) == list(after)
    page = (
        StoredBook(Package.read(settled)).sheet(liquor_plan.NAME).part
    )  # of the batch that is logged
    assert {name for name in before if before[name] != after[name]} == {log_part, page}
    assert formulas(settled.read_bytes()) == formulas(path.read_bytes())
    old, new = values(settled.read_bytes()), values(path.read_bytes())
    typed = {(row, column(key)) for row in (EMPTY, EMPTY + 1) for key in log.INPUTS}
    worked_out = {
        (row, place) for sheet, row, place in formulas(path.read_bytes()) if sheet == log.NAME
    }
    assert {
        place[1:] for place in old.keys() | new.keys() if old.get(place) != new.get(place)
    } <= typed | worked_out


def test_cells_keep_their_style_and_stay_unlocked(added, settled):
    old, new = (openpyxl.load_workbook(path)[log.NAME] for path in (settled, added[0]))
    for row in (EMPTY, EMPTY + 1):
        for key in log.INPUTS:
            cells = [sheet.cell(row, column(key)) for sheet in (old, new)]
            assert cells[0]._style == cells[1]._style and not cells[1].protection.locked
    assert (
        new.cell(EMPTY, column("date")).number_format
        == old.cell(EMPTY - 1, column("date")).number_format
    )


def test_the_figures_of_the_new_rows_are_the_functions(held):
    row = next(
        row
        for row in range(water.FIRST + 1, water.LAST + 2)
        if held[water.NAME, row, 1] == "Town main"
    )
    ions = [[held.get((water.NAME, row, place)) for place in range(3, 8)]]
    temperature, lost = (
        held[water.NAME, row, water.SOURCES.at["temp"] + 1],
        held[settings.NAME, settings.TANK.last + 1, 2],
    )
    shelf = scenario.ACIDS[0]
    more = (1120.0, shelf.acid, shelf.strength, ions, temperature, lost)
    implied = call("ALKALINITY_FROM_DOSE", 7.5, 5.72, 238.0, *more)
    assert held[log.NAME, EMPTY, column("implied")] == pytest.approx(implied, rel=1e-9)
    expected = call("PH_AFTER_ACID", held[log.NAME, EMPTY, column("report")], 7.5, 238.0, *more)
    assert held[log.NAME, EMPTY, column("expected")] == pytest.approx(expected, rel=1e-9)
    assert isinstance(
        held[log.NAME, EMPTY + 1, column("implied")], float
    )  # water, acid and liquor from the plan
    assert held[log.NAME, 6, 4] == len(scenario.LOG) + 2


#: What makes a line unusable, by the cell that it is written into.
BROKEN = [
    ("date", "12.1.2026"),
    ("batch", ""),
    ("water", "town"),
    ("acid", "none such"),
    ("volume", "-1"),
    ("ph_before", "75"),
    ("dose", "1e3"),
    ("ph_after", "x"),
    ("beer_ph", "4.2,4"),
]
LINE = st.tuples(
    st.none() | st.sampled_from(BROKEN),
    st.integers(700, 800),
    st.integers(540, 600),
    st.integers(50, 400),
    st.integers(50, 200),
)


@pytest.mark.slow
@examples(
    max_examples=2,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.lists(LINE, min_size=4, max_size=12))
def test_every_line_is_in_the_log_with_its_figures_or_is_named(settled, tmp_path, lines):
    names, text, good = HEADER.strip().split(","), HEADER, []
    for number, (broken, before, after, dose, volume) in enumerate(lines):
        cells = dict(zip(names, GOOD.strip().split(",")))
        cells |= {"batch": f"R{number}", "ph_before": f"{before / 100}", "dose": f"{dose}"}
        cells |= {"ph_after": f"{after / 100}", "volume": f"{volume / 10}"}
        if broken:
            cells[broken[0]] = broken[1]
        else:
            good.append((f"R{number}", before / 100, after / 100, float(dose), volume * 10.0))
        text += ",".join(cells.values()) + "\n"
    result = log_readings.add(Package.read(settled), csv_file(tmp_path, text))
    bad = [line for line, (broken, *_) in enumerate(lines, 2) if broken]
    assert [refused.line for refused in result.refused] == bad
    assert len(result.rows) == len(good) and (result.data is None) == (not good)
    found = values(result.data) if good else {}
    row = (
        next(row for row in range(1, 99) if found.get((water.NAME, row, 1)) == "Town main")
        if good
        else 0
    )
    ions = [[found.get((water.NAME, row, place)) for place in range(3, 8)]]
    more = (
        found.get((water.NAME, row, water.SOURCES.at["temp"] + 1)),
        found.get((settings.NAME, settings.TANK.last + 1, 2)),
    )
    shelf = scenario.ACIDS[0]
    for at, (name, before, after, dose, litres) in zip(result.rows, good):
        liquor = (litres, shelf.acid, shelf.strength, ions, *more)
        assert found[log.NAME, at, column("batch")] == name
        report = found[log.NAME, at, column("report")]
        for key, true in (
            ("implied", call("ALKALINITY_FROM_DOSE", before, after, dose, *liquor)),
            ("expected", call("PH_AFTER_ACID", report, before, dose, *liquor)),
        ):
            shown = found.get((log.NAME, at, column(key)))
            if isinstance(true, float):
                assert shown == pytest.approx(true, rel=1e-9)
            else:
                assert not isinstance(shown, float)


def test_every_stored_value_is_fresh(added):
    held = values(added[0].read_bytes())
    for place, value in fresh(added[0]).items():
        if isinstance(value, float):
            assert held[place] == pytest.approx(value, rel=1e-11, abs=1e-300), (
                place
            )  # twelve digits are stored


def test_refused_lines_are_all_there(added):
    assert [refused.line for refused in added[1].refused] == [4, 5]
    assert added[1].refused[0].reason == "the batch 0206 of 2026-01-12 stands in line 2 already"
    assert (
        "water is 'town', which the workbook does not have; it has Town main, Yard well"
        in added[1].refused[1].reason
    )
    assert "volume is empty, and the batch is not on the plan" in added[1].refused[1].reason


def test_the_command_writes_the_good_and_lists_the_bad(settled, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(
        log_readings, "refreshed", lambda *_, **__: (0, Fresh({}))
    )  # evaluated above
    file, before = (
        csv_file(tmp_path, HEADER + GOOD + "12.1.2026,0300\n" + GOOD.replace("7.5,", "75,")),
        settled.read_bytes(),
    )
    for outs in ((tmp_path / "a.xlsx", "--csv", file), ("--csv", file, tmp_path / "b.xlsx")):
        code, out, err = run(capsys, settled, *outs)
        assert code == 1 and "1 row added to the log, volume in hL; 2 refused" in out
        assert (
            err == "meter.csv, line 3: it has 2 cells and the header 12\n"
            "meter.csv, line 4: ph_before is '75': a pH reading is a number from 1 to 11\n"
        )
    assert batch(tmp_path / "a.xlsx", EMPTY) == batch(tmp_path / "b.xlsx", EMPTY) == "0206"
    code, out, err = run(
        capsys, settled, "--csv", csv_file(tmp_path, HEADER + GOOD), tmp_path / "c.xlsx"
    )
    assert (code, err) == (0, "") and "refused" not in out
    assert settled.read_bytes() == before


def test_with_no_good_line_nothing_is_written(settled, tmp_path, capsys):
    code, out, err = run(
        capsys,
        settled,
        "--csv",
        csv_file(tmp_path, HEADER + GOOD.replace("0206", "")),
        tmp_path / "out.xlsx",
    )
    assert code == 1 and not out and not (tmp_path / "out.xlsx").exists()
    assert err == "meter.csv, line 2: batch is empty\nNo line can be used; nothing was written.\n"


def test_what_stands_in_the_log_is_not_added_again(settled, tmp_path):
    first = scenario.LOG[0]
    file = csv_file(
        tmp_path, HEADER + GOOD.replace("2026-01-12,0206", f"{first.date:%Y-%m-%d},{first.batch}")
    )
    result = log_readings.add(Package.read(settled), file)
    assert result.data is None and result.refused == [
        (
            2,
            (
                f"the batch {first.batch} of {first.date:%Y-%m-%d} stands in row {log.FIRST + 1} of"
                " the log already"
            ),
        )
    ]


def test_an_existing_copy_is_kept_unless_forced_and_the_book_always(
    settled, tmp_path, capsys, monkeypatch
):
    monkeypatch.setattr(log_readings, "refreshed", lambda *_, **__: (0, Fresh({})))
    book, out, file = (
        tmp_path / "book.xlsx",
        tmp_path / "book-logged.xlsx",
        csv_file(tmp_path, HEADER + GOOD),
    )
    shutil.copy(settled, book)
    out.write_bytes(b"mine")
    code, _, err = run(capsys, book, "--csv", file)
    assert code == 2 and "exists already" in err and out.read_bytes() == b"mine"
    assert run(capsys, book, "--csv", file, "--force")[0] == 0 and batch(out, EMPTY) == "0206"
    code, _, err = run(capsys, book, book, "--csv", file, "--force")
    assert code == 2 and "is the input itself" in err and book.read_bytes() == settled.read_bytes()


def test_texts_that_look_like_formulas_stay_texts(settled, tmp_path, monkeypatch):
    monkeypatch.setattr(log_readings, "refreshed", lambda *_, **__: (0, Fresh({})))
    texts = ["=1+1", "+1", "-1", "@SUM(A1)", "0206"]
    file = csv_file(tmp_path, HEADER + "".join(GOOD.replace("0206", text) for text in texts))
    out = tmp_path / "out.xlsx"
    out.write_bytes(log_readings.add(Package.read(settled), file).data)
    sheet = openpyxl.load_workbook(out)[log.NAME]
    raw = parts(out)[StoredBook(Package.read(out)).sheet(log.NAME).part]
    for row, text in enumerate(texts, EMPTY):
        assert sheet.cell(row, column("batch")).value == text
        assert f"<t>{text}</t></is></c>".encode() in raw
    assert formulas(out.read_bytes()) == formulas(settled.read_bytes())


def test_a_gap_is_filled_first_and_a_full_log_is_said(settled, tmp_path, log_part, monkeypatch):
    monkeypatch.setattr(log_readings, "refreshed", lambda *_, **__: (0, Fresh({})))
    lines = [GOOD.replace("0206", f"03{n:02}") for n in range(log.ROWS)]
    room = log.ROWS - len(scenario.LOG)
    with pytest.raises(
        BookError, match=f"has {room} empty rows and {room + 1} are needed; nothing was written"
    ):
        log_readings.add(
            Package.read(settled), csv_file(tmp_path, HEADER + "".join(lines[: room + 1]))
        )
    full = tmp_path / "full.xlsx"
    full.write_bytes(
        log_readings.add(
            Package.read(settled), csv_file(tmp_path, HEADER + "".join(lines[:room]))
        ).data
    )
    with pytest.raises(BookError, match="has no empty rows and 1 is needed"):
        log_readings.add(Package.read(full), csv_file(tmp_path, HEADER + lines[-1]))
    emptied = StoredBook(Package.read(full)).sheet(log.NAME)
    data = emptied.book.package[log_part]
    for key in log.INPUTS:
        cell = emptied.cells.cells[EMPTY + 3, column(key)]
        whole = data_of(emptied, cell)
        data = data.replace(whole, whole[: whole.index(b">")].rstrip(b"/") + b"/>", 1)
    rewritten(full, {log_part: data})
    assert log_readings.add(Package.read(full), csv_file(tmp_path, HEADER + lines[-1])).rows == [
        EMPTY + 3
    ]


def data_of(sheet, cell) -> bytes:
    return sheet.book.package[sheet.part][cell.start : cell.end]


def test_other_workbooks_are_refused(settled, tmp_path, capsys):
    file, other = csv_file(tmp_path, HEADER + GOOD), tmp_path / "other.xlsx"
    book = openpyxl.Workbook()
    book.active.title = "Log"
    book.save(other)
    code, _, err = run(capsys, other, "--csv", file)
    assert code == 2 and err.count("\n") == 1 and "was not written by this version" in err
    other.write_bytes(b"no workbook")
    assert run(capsys, other, "--csv", file)[0] == 2
    assert "none of them" in run(capsys, tmp_path / "book.csv", "--csv", file)[2]
    assert "does not exist" in run(capsys, tmp_path / "none.xlsx", "--csv", file)[2]
    assert "must end in .xlsx" in run(capsys, settled, "--csv", file, tmp_path / "second.csv")[2]
    assert not list(tmp_path.glob("*-logged*"))


def test_a_shared_copy_is_refused(tmp_path):
    copy = Package(shared(Package.read(plan(tmp_path / "plan.xlsx", 1))).data, "copy.xlsx")
    with pytest.raises(BookError, match="is a shared copy"):
        log_readings.add(copy, csv_file(tmp_path, HEADER + GOOD))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_decimal_commas_in_a_file_with_semicolons(tmp_path, encoding, end):
    text = end.join(
        (
            "Date; Batch;ph_before;volume;dose",
            "2026-01-12;Märzen; 7,5;11.25;238",
            "",
            ";;;;",
            '2026-01-13;"a;b";7,5;1.234,5;1e3',
            "",
        )
    )
    readings, refused, ignored = log_readings.read(csv_file(tmp_path, text, encoding))
    assert [reading.line for reading in readings] == [2]
    assert readings[0].values == {
        "date": datetime(2026, 1, 12).date(),
        "batch": "Märzen",
        "ph_before": 7.5,
        "volume": 11.25,
        "dose": 238,
    }
    assert refused == [
        (5, "volume is '1.234,5': this is not a number; dose is '1e3': this is not a number")
    ]


@pytest.mark.parametrize(
    "cells, reason",
    [
        (
            "2026-01-12,A,7,5",
            "4 cells and the header 3 .a decimal comma needs a file with semicolons",
        ),
        ('2026-01-12,A,"7,5"', "ph_after is '7,5': a decimal comma needs a file with semicolons"),
        ("2026-02-30,A,7", "date is '2026-02-30': a date is written as 2026-02-28"),
        ("20260228,A,7", "a date is written as"),
        ("9999-12-31,A,7", "date is '9999-12-31': a date is written as 2026-02-28"),
        ("1899-01-01,A,7", "from 1904-01-02 to 2099-12-31"),
        (",A,7", "date is empty"),
        ("2026-01-12, ,7", "batch is empty"),
        ("2026-01-12,A,nan", "not a number"),
        ("2026-01-12,A,-1", "from 1 to 11"),
        ("2026-01-12,A,٧", "not a number"),
        ('2026-01-12,"A\nB",7', "line break"),
        (f"2026-01-12,{'A' * 256},7", "255 characters"),
    ],
)
def test_lines_that_cannot_be_read(tmp_path, cells, reason):
    readings, refused, ignored = log_readings.read(
        csv_file(tmp_path, f"date,batch,ph_after\n{cells}\n2026-01-12,B,11\n")
    )
    assert [reading.values["batch"] for reading in readings] == ["B"]
    assert len(refused) == 1 and refused[0].line == 2
    assert re.search(reason, refused[0].reason)


@pytest.mark.parametrize(
    "data, reason",
    [
        (b"", "holds no readings"),
        (b"date,batch\n\n", "holds no readings"),
        (b"batch,litres\n", "has no column date; the log knows date, batch, water, acid, volume"),
        (b"date,batch,dose,Dose\n", "has the column dose twice"),
        (b"batch,dose\n", "has no column date"),
        (b"date,batch\n2026-01-12,M\xe4rz\n", "not text in UTF-8"),
        (b'date,batch\n2026-01-12,"a\n', "line 2: this is not CSV"),
        (b"date,batch\n" + b"x" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_files_that_cannot_be_read(tmp_path, data, reason):
    path = tmp_path / "meter.csv"
    path.write_bytes(data)
    with pytest.raises(BookError, match=reason):
        log_readings.read(path)


def test_columns_that_the_log_does_not_know_are_named_and_left_out(settled, tmp_path, capsys):
    text = "Meter no.,date,batch,litres,,ph_after,litres\n7,2026-01-12,0206,1120,x,5.7,9\n"
    file, out = csv_file(tmp_path, text), tmp_path / "out.xlsx"
    code, said, err = run(capsys, settled, "--csv", file, out)
    # the batch is not on the plan, so that what the log would take from there is missing
    assert code == 1 and "water is empty" in err
    assert "not taken: Meter no., litres, one without a title, litres" in err
    readings, refused, ignored = log_readings.read(file)
    assert refused == [] and readings[0].values.keys() == {"date", "batch", "ph_after"}
    assert ignored == ["Meter no.", "litres", "one without a title", "litres"]


def test_the_plans_cells_that_may_stay_empty_are_columns_of_the_file():
    assert set(log_readings.COLUMNS.values()) == set(log.INPUTS)
    assert set(log.FROM_PLAN) <= set(log.INPUTS)
