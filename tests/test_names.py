"""A name says one thing: no two classes of the packages share it, and no two files of the workbook's code."""

import ast
from collections import defaultdict
from pathlib import Path

import chemcore
import udfs
import workbook_template


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
    folders = [Path(package.__file__).parent for package in (chemcore, udfs, workbook_template)]
    found = classes(folders)
    assert {"Ions", "Book", "StoredBook"} <= set(found)
    assert shared(found) == {}


def test_two_classes_of_one_name_are_found(tmp_path):
    for name in ("one", "two"):
        (tmp_path / f"{name}.py").write_text(f"class Book:\n    class Of{name}:\n        pass\n")
    assert set(shared(classes([tmp_path]))) == {"Book"}


def files(folder: Path) -> dict[str, list[str]]:
    """Places of the modules of a package by name; what Python itself names so does not count."""
    found = defaultdict(list)
    for path in sorted(folder.rglob("*.py")):
        if not path.name.startswith("__"):
            found[path.name].append(path.relative_to(folder).as_posix())
    return found


def test_no_two_files_of_the_workbook_have_one_name():
    """In chemcore and udfs a subject has one file each, and each host the same; here every file is a subject."""
    found = files(Path(workbook_template.__file__).parent)
    assert {"share.py", "share_command.py", "stored_book.py"} <= set(found)
    assert shared(found) == {}


def test_two_files_of_one_name_are_found(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        for file in ("__init__.py", "book.py", f"{name}.py"):
            (tmp_path / name / file).touch()
    assert shared(files(tmp_path)) == {"book.py": ["one/book.py", "two/book.py"]}
