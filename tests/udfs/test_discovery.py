"""A module put into the folder of the functions is in the catalogue; no list names the modules."""

import subprocess
import sys
from pathlib import Path

import udfs

MODULE = '''
"""Functions: a trial."""

from udfs.arguments import Litres
from udfs.catalogue import function


@function("Trial", "L")
def twice_the_litres(litres: Litres):
    """Twice the litres.

    References
    ----------
    Arithmetic.
    """
    return 2.0 * litres
'''

PROGRAM = """
import sys
import udfs.functions as functions
functions.__path__.append(sys.argv[1])
functions.load()
from udfs import CATALOGUE, call
from udfs.function_list import markdown
print("TWICE_THE_LITRES" in CATALOGUE, call("twice_the_litres", 3.0), "TWICE_THE_LITRES(litres)" in markdown())
"""


def test_a_module_dropped_into_the_folder_is_in_the_catalogue(tmp_path):
    (tmp_path / "trial.py").write_text(MODULE, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert ran.stdout.split() == ["True", "6.0", "True"]


def test_every_module_of_the_folder_gives_the_catalogue_a_function():
    folder = Path(udfs.__file__).parent / "functions"
    modules = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    homes = {entry.described.__module__.rpartition(".")[2] for entry in udfs.CATALOGUE.values()}
    assert modules == homes


def test_the_package_names_no_module_of_functions():
    folder = Path(udfs.__file__).parent
    modules = {path.stem for path in (folder / "functions").glob("*.py")} - {"__init__"}
    for text in (folder / "__init__.py", folder / "functions" / "__init__.py"):
        assert not modules & set(text.read_text(encoding="utf-8").replace(",", " ").split())
