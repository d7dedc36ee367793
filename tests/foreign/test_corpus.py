"""Commands over a folder of books: ``SPARGESHEET_CORPUS`` names one; without it, the books made
here.
"""

import os
import re
import shutil
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook

from tests.foreign import corpus_books as books
from tests.foreign.package_comparison import refreshed_differences, shared_differences
from tests.workbook_template.travel_fixtures import libreoffice, quick_engine  # noqa: F401
from tests.workbook_template.travelling import stored
from workbook_template.cli.main import main
from workbook_template.template.build import TEMPLATE

#: Sentences by which a book of somebody else's may be refused; anything else is a failure.
_REFUSALS = re.compile(
    "protected by a password|digitally signed|Strict Open XML|macro sheets|data model|reads other"
    " workbooks"
    r"|\.xlsb workbook|shared copy already|a part that must not travel|needs a fresh value|the most"
    r" that is read"
    "|are read$|pictures from the web"
)


class Commands:
    """Runs commands and keeps what they say; a refusal that is not expected is a failure."""

    def __init__(self, capsys, name: str, expected: re.Pattern):
        self.capsys, self.name, self.expected = capsys, name, expected
        self.said, self.wrong = "", []

    def run(self, *arguments: object) -> bool:
        """Whether a command did its work."""
        self.capsys.readouterr()
        words = [str(argument) for argument in arguments]
        code = main(words)
        out, error = self.capsys.readouterr()
        self.said = out
        if code == 2 and not self.expected.search(error.strip()):
            self.wrong.append(f"{self.name}: {words[0]} failed: {error.strip()}")
        return code != 2

    def blame(self, what: str, faults: list[str]) -> None:
        """Add faults that a command made."""
        self.wrong += [f"{self.name}: {what}: {fault}" for fault in faults]


@pytest.fixture
def corpus(tmp_path):
    """The books, and what the refusals of each may say."""
    named = os.environ.get("SPARGESHEET_CORPUS")
    folder = Path(named) if named else tmp_path / "own"
    if not named:
        folder.mkdir()
        books.write(folder)
    found = sorted(path for path in folder.rglob("*.xls[xm]") if path.is_file())
    assert found, f"no .xlsx or .xlsm in {folder}"
    never = re.compile(r"(?!)")
    expected = {name: re.compile(words) for name, words in books.REFUSED.items()}
    return [(path, _REFUSALS if named else expected.get(path.name, never)) for path in found]


def test_commands_over_a_folder_of_books(tmp_path, quick_engine, capsys, corpus):  # noqa: F811
    wrong, refused = [], []
    for number, (path, expected) in enumerate(corpus):
        work = tmp_path / f"{number}{path.suffix}"
        shutil.copyfile(path, work)
        copy, back = tmp_path / f"{number}-copy.xlsx", tmp_path / f"{number}-back.xlsx"
        commands = Commands(capsys, path.name, expected)
        commands.run("check", work)
        if commands.run("share", work, copy):
            commands.blame("share", shared_differences(path, copy, commands.said))
            stored(copy)
            alone = tmp_path / f"{number}-alone.xlsx"
            if commands.run("restore", copy, alone, "--alone"):
                commands.blame("restore --alone", refreshed_differences(copy, alone))
            back = back.with_suffix(path.suffix)
            if commands.run("restore", copy, back):  # the book lies beside the copy
                commands.blame("restore", refreshed_differences(work, back))
        else:
            refused.append(path.name)
            commands.blame("share", ["it failed and left a file"] if copy.exists() else [])
        if work.read_bytes() != path.read_bytes():
            commands.blame("check or share", ["it changed the book"])
        if commands.run("recalc", work):
            commands.blame("recalc", refreshed_differences(path, work))
        elif work.read_bytes() != path.read_bytes():
            commands.blame("recalc", ["it failed and changed the book"])
        wrong += commands.wrong
    assert wrong == []
    if not os.environ.get("SPARGESHEET_CORPUS"):
        assert sorted(refused) == sorted(books.REFUSED)


def test_log_add_leaves_all_else_of_the_template(tmp_path, quick_engine, capsys):  # noqa: F811
    book, readings, out = (tmp_path / name for name in ("plan.xlsx", "meter.csv", "out.xlsx"))
    shutil.copyfile(TEMPLATE, book)
    readings.write_text(
        "date,batch,water,acid,volume,target_ph,ph_before,dose,ph_after\n"
        "2026-01-12,0206,town main,Phosphoric 75 drum,11.2,5.7,7.5,238,5.72\n",
        encoding="utf-8",
    )
    commands = Commands(capsys, "the template", re.compile("(?!)"))
    assert commands.run("log", "add", book, "--csv", readings, out), commands.wrong
    before, after = stored(book), stored(out)
    lost = [place for place, value in before.items() if after.get(place) is None and value != ""]
    assert lost == [] and len(after) > len(before)
    assert [fault for fault in refreshed_differences(book, out) if " was (" not in fault] == []


@pytest.mark.office
@pytest.mark.slow
def test_libreoffice_opens_every_copy(tmp_path, quick_engine, capsys, corpus, libreoffice):  # noqa: F811
    wrong = []
    for number, (path, expected) in enumerate(corpus):
        commands = Commands(capsys, path.name, expected)
        copy, ods = tmp_path / f"{number}.xlsx", tmp_path / f"{number}.ods"
        if commands.run("share", path, copy) and commands.run("convert", copy, ods):
            opened = CalamineWorkbook.from_path(ods)
            lost = []
            for (sheet, row, column), value in stored(copy).items():
                if isinstance(value, float) and sheet in opened.sheet_names:
                    rows = opened.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
                    if rows[row - 1][column - 1] != pytest.approx(value):
                        lost.append(f"{sheet} {row} {column} was {value}")
            commands.blame("convert", lost)
        wrong += commands.wrong
    assert wrong == []
