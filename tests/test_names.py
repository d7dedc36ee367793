"""A name says one thing: no two classes of the packages share it, and no two files but those of one
subject.
"""

import ast
from collections import defaultdict
from pathlib import Path

import chemcore
import udfs
import workbook_template

PACKAGES = [Path(package.__file__).parent for package in (chemcore, udfs, workbook_template)]


def classes(folders: list[Path]) -> dict[str, list[str]]:
    """Places of the classes by name; a class within a class or a function counts too."""
    found = defaultdict(list)
    for folder in folders:
        for path in sorted(folder.rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    place = f"{path.relative_to(folder.parent).as_posix()}:{node.lineno}"
                    found[node.name].append(place)
    return found


def shared(found: dict[str, list[str]]) -> dict[str, list[str]]:
    return {name: places for name, places in found.items() if len(places) > 1}


def test_no_two_classes_have_one_name():
    found = classes(PACKAGES)
    assert {"Ions", "Book", "StoredBook"} <= set(found)
    assert shared(found) == {}


def test_two_classes_of_one_name_are_found(tmp_path):
    for name in ("one", "two"):
        (tmp_path / f"{name}.py").write_text(f"class Book:\n    class Of{name}:\n        pass\n")
    assert set(shared(classes([tmp_path]))) == {"Book"}


# a subject's file in each: its chemistry, its functions, its sheet
SUBJECTS = ("chemcore", "udfs/functions", "workbook_template/template/sheets")


def files(folders: list[Path]) -> dict[str, list[str]]:
    """Places of the modules by name; what Python itself names so, and a subject's files, do not
    count.
    """
    found = defaultdict(list)
    for folder in folders:
        for path in sorted(folder.rglob("*.py")):
            if not path.name.startswith("__"):
                found[path.name].append(path.relative_to(folder.parent).as_posix())
    return {
        name: places
        for name, places in found.items()
        if len(places) == 1 or not {place.rpartition("/")[0] for place in places} <= set(SUBJECTS)
    }


def test_no_two_files_have_one_name():
    found = files(PACKAGES)
    assert {"share.py", "share_command.py", "stored_book.py"} <= set(found)
    assert shared(found) == {}


def test_two_files_of_one_name_are_found(tmp_path):
    for place in (*SUBJECTS, "workbook_template/travel"):
        (tmp_path / place).mkdir(parents=True)
        for file in ("__init__.py", "mash.py", f"{len(place)}.py"):
            (tmp_path / place / file).touch()
    packages = [tmp_path / name for name in ("chemcore", "udfs", "workbook_template")]
    assert set(shared(files(packages))) == {"mash.py"}
    (tmp_path / "workbook_template/travel/mash.py").unlink()
    assert shared(files(packages)) == {}
