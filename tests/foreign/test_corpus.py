"""Commands over a folder of books: ``SPARGESHEET_CORPUS`` names one; without it, the books made here."""

import os
import re
from pathlib import Path

from tests.foreign import corpus_books as books
from tests.workbook_template.travel_fixtures import quick_engine  # noqa: F401
from tests.workbook_template.travelling import parts
from tests.workbook_template.whole_package import faults
from workbook_template.cli.main import main

#: Parts that share and recalc may change; every other part that stays is the same bytes.
_CHANGED = re.compile(
    r"\[Content_Types\]\.xml|.*\.rels|docProps/.*|xl/workbook\.xml|xl/(work|chart|dialog)sheets/.*"
    r"|xl/comments.*|xl/persons/.*|xl/pivotCache/.*|xl/connections\.xml|xl/media/.*|xl/tables/.*"
    r"|xl/drawings/.*|xl/charts/.*"
)
_RECALCULATED = re.compile(
    r"xl/worksheets/[^/]*\.xml|xl/workbook\.xml|\[Content_Types\]\.xml|.*\.rels"
)


def test_commands_over_a_folder_of_books(tmp_path, quick_engine, capsys):  # noqa: F811
    named = os.environ.get("SPARGESHEET_CORPUS")
    folder = Path(named) if named else tmp_path / "own"
    if not named:
        folder.mkdir()
        books.write(folder)
    found = sorted(path for path in folder.rglob("*.xls[xm]") if path.is_file())
    assert found, f"no .xlsx or .xlsm in {folder}"
    wrong, shared = [], 0
    for number, path in enumerate(found):
        work = tmp_path / f"{number}{path.suffix}"
        work.write_bytes(path.read_bytes())
        copy, back = tmp_path / f"{number}-copy.xlsx", tmp_path / f"{number}-back.xlsx"
        main(["check", str(work)])
        if work.read_bytes() != path.read_bytes():
            wrong.append(f"{path.name}: check changed the book")
        if main(["share", str(work), str(copy)]) == 0:
            shared += 1
            wrong += _compared(path, copy, _CHANGED)
            if work.read_bytes() != path.read_bytes():
                wrong.append(f"{path.name}: share changed the book")
            if main(["restore", str(copy), str(back)]) == 0:
                wrong += _compared(copy, back, _CHANGED)
        elif copy.exists():
            wrong.append(f"{path.name}: share failed and left a file")
        if main(["recalc", str(work)]) == 0:
            wrong += _compared(path, work, _RECALCULATED)
        elif work.read_bytes() != path.read_bytes():
            wrong.append(f"{path.name}: recalc failed and changed the book")
    assert wrong == []
    assert named or shared == len(found), capsys.readouterr()


def _compared(old, new, may_change):
    before, after = parts(old), parts(new)
    wrong = [
        f"{old.name}: {name} differs"
        for name in before
        if name in after and before[name] != after[name] and not may_change.fullmatch(name)
    ]
    known = set(faults(before))
    return wrong + [f"{old.name}: {fault}" for fault in faults(after) if fault not in known]
