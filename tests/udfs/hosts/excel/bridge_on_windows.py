"""xlwings' real bridge on Windows, without Excel: the add-in's command line, a call, and a Python
that ends at once.

``python -m tests.udfs.hosts.excel.bridge_on_windows`` in a virtual environment on Windows; ends
with an exit code other than 0 where something is not as it should be. It is no test of pytest,
because it can run on Windows only.
"""

from __future__ import annotations

import ctypes
import struct
import sys
import time
from pathlib import Path

import xlwings

from tests.udfs.hosts.excel.vba_text import applied, command_line, shipped
from udfs import call
from udfs.hosts.excel import addin, vba

#: What pywin32 makes of the error value #N/A that a cell hands over.
NA = -2146826246


class Variant(ctypes.Structure):
    """A VARIANT of the size that this machine has."""

    _fields_ = [
        ("kind", ctypes.c_ushort),
        ("reserved", ctypes.c_ushort * 3),
        ("value", ctypes.c_void_p * 2),
    ]


class Bridge:
    """The DLL beside this Python."""

    def __init__(self):
        import pythoncom

        bits = 8 * struct.calcsize("P")
        name = f"xlwings{bits}-{xlwings.__version__}.dll"
        folders = Path(sys.executable).parents[:2]
        path = next(folder / name for folder in folders if (folder / name).is_file())
        self.activate_auto = ctypes.WinDLL(str(path)).XLPyDLLActivateAuto
        self.activate_auto.argtypes = ctypes.POINTER(Variant), ctypes.c_char_p, ctypes.c_long
        self.unpack = ctypes.PyDLL(pythoncom.__file__).PyCom_PyObjectFromVariant
        self.unpack.restype, self.unpack.argtypes = ctypes.py_object, (ctypes.POINTER(Variant),)
        pythoncom.CoInitialize()

    def activate(self, command: str) -> tuple[bool, object]:
        """Whether a Python answers to this command, and it, or the bridge's words."""
        result = Variant()
        failed = self.activate_auto(ctypes.byref(result), command.encode(addin.ANSI), 1)
        return not failed, self.unpack(ctypes.byref(result))


def main() -> None:
    """Try it."""
    import win32com.client

    lines = shipped()
    module = applied(lines, vba.edited(lines))
    command = command_line(module, addin.settings(addin.current()), "", "")
    print(command)
    bridge = Bridge()
    began = time.perf_counter()
    answers, server = bridge.activate(command)
    print(f"started after {time.perf_counter() - began:.1f} s")
    assert answers, server
    python = win32com.client.Dispatch(server)
    python._FlagAsMethod("CallUDF")

    def ask(*arguments):
        return python.CallUDF(addin.MODULE, "HARDNESS", arguments, None, None)

    right = call("HARDNESS", 80.0, 10.0)
    assert abs(ask(80.0, 10.0) - right) < 1e-9 * right
    column = ask(((80.0,), (90.0,)), 10.0)
    assert [row[0] for row in column] == [call("HARDNESS", ca, 10.0) for ca in (80.0, 90.0)]
    assert ask("soft", 10.0) == call("HARDNESS", "soft", 10.0)
    assert ask(NA, 10.0) == "#N/A"  # the add-in's VBA makes an error value of it

    answers, again = bridge.activate(command)
    assert answers and again == server, "a second Python was started"
    began = time.perf_counter()
    answers, words = bridge.activate(f'"{sys.executable}" -c "raise SystemExit(3)" $(CLSID)')
    print(f"a Python that ends at once: {time.perf_counter() - began:.1f} s, {words}")
    assert not answers and str(words).startswith("Python process exited")
    print("all as it should be")


if __name__ == "__main__":
    main()
