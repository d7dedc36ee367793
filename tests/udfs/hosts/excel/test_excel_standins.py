"""The stand-ins leave no trace for the rest of the suite."""

import ctypes
import sys

from tests.udfs.hosts.excel.xlwings_standins import windows


def test_everything_is_put_back():
    import xlwings

    import udfs.hosts
    import udfs.hosts.excel.functions

    before = (dict(sys.modules), dict(vars(udfs.hosts)), ctypes.PyDLL, hasattr(ctypes, "windll"))
    with windows() as inside:
        assert inside.xlwings is not xlwings and "pythoncom" in sys.modules
        assert hasattr(inside.functions.HARDNESS, "__xlfunc__")
    after = (dict(sys.modules), dict(vars(udfs.hosts)), ctypes.PyDLL, hasattr(ctypes, "windll"))
    assert after[1:] == before[1:]
    ours = ("pythoncom", "pywintypes", "win32", "xlwings", "udfs.")
    assert {n: m for n, m in after[0].items() if n.startswith(ours)} == {
        n: m for n, m in before[0].items() if n.startswith(ours)
    }
    assert not hasattr(udfs.hosts.excel.functions.HARDNESS, "__xlfunc__")
