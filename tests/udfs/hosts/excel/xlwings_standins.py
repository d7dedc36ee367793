"""Stand-ins for pywin32 under which xlwings' own udfs.py, com_server.py and conversion run on any
system.

Nothing of Excel is imitated here but the few things that xlwings asks of pywin32 while it is
imported and while it calls a function. ``windows()`` puts them in place, imports xlwings and the
project's Excel host afresh, and takes all of it back, so that the rest of the suite sees the
modules that it had.
"""

from __future__ import annotations

import ctypes
import sys
import types
from contextlib import contextmanager
from datetime import datetime, timezone
from importlib import import_module
from types import SimpleNamespace

#: What pywin32 makes of an argument that was left out of a formula, and of the error values
#: (-2146828288 + XlCVError).
MISSING = -2147352572
ERROR_NUMBERS = {
    "#NULL!": -2146826288,
    "#DIV/0!": -2146826281,
    "#VALUE!": -2146826273,
    "#REF!": -2146826265,
    "#NAME?": -2146826259,
    "#NUM!": -2146826252,
    "#N/A": -2146826246,
    "#GETTING_DATA": -2146826245,
    "#SPILL!": -2146826243,
    "#CALC!": -2146826238,
}
_IID_RANGE = "{00020846-0000-0000-C000-000000000046}"
_STAND_IN_FILE = "<stand-in>"
_ROOTS = ("pythoncom", "pywintypes", "win32", "xlwings", "udfs.hosts.excel")


class com_error(Exception):  # noqa: N801  (pywin32's name)
    """A refusal, with pywin32's four arguments."""


def refusal(words: str) -> com_error:
    return com_error(
        -2147352567,
        "Exception occurred.",
        (0, "Microsoft Excel", words, None, 0, -2146827284),
        None,
    )


class _Sink:
    """Takes any attribute and any call: for the parts of Windows that are named at import and never
    used here.
    """

    def __getattr__(self, name):
        return _Sink()

    def __call__(self, *arguments, **named):
        return _Sink()


class _Module(types.ModuleType):
    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        return _Sink()


def _add(name: str, **contents) -> types.ModuleType:
    module = _Module(name)
    module.__file__, module.__path__ = _STAND_IN_FILE, []
    module.__dict__.update(contents)
    sys.modules[name] = module
    parent, _, child = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], child, module)
    return module


def _add_pywin32() -> None:
    def not_wrapped(value):
        raise TypeError("not a wrapped Python object")

    _add("pywintypes", com_error=com_error, IID=str, TimeType=datetime)
    _add(
        "pythoncom",
        IID_IDispatch="IDispatch",
        TypeIIDs={"IDispatch": type("PyIDispatch", (), {})},
        com_error=com_error,
        CoInitialize=lambda *a: None,
    )
    for name in ("win32api", "win32con", "win32event", "win32gui"):
        _add(name)
    _add("win32process", GetWindowThreadProcessId=lambda window: (0, 1))
    _add("win32timezone", TimeZoneInfo=SimpleNamespace(utc=lambda: timezone.utc))
    _add("win32com")
    _add(
        "win32com.client",
        Dispatch=lambda o, *a, **k: o,
        CDispatch=type("CDispatch", (), {}),
        CoClassBaseClass=type("CoClassBaseClass", (), {}),
        DispatchBaseClass=type("DispatchBaseClass", (), {}),
    )
    for name in (
        "win32com.client.dynamic",
        "win32com.client.gencache",
        "win32com.universal",
        "win32com.server",
        "win32com.server.dispatcher",
        "win32com.server.policy",
    ):
        _add(name)
    _add("win32com.server.util", unwrap=not_wrapped, wrap=lambda o, **k: o)


@contextmanager
def windows():
    """The stand-ins in place and ``xlwings`` with its Windows decorators, as a namespace of what
    tests need.
    """
    hosts = import_module("udfs.hosts")
    saved_modules = {
        name: module for name, module in sys.modules.items() if name.startswith(_ROOTS)
    }
    saved_excel = hosts.__dict__.pop("excel", None)
    saved_ctypes = {name: getattr(ctypes, name, None) for name in ("windll", "oledll", "PyDLL")}
    for name in saved_modules:
        del sys.modules[name]
    real = ctypes.PyDLL
    server = None
    try:
        _add_pywin32()
        ctypes.windll = ctypes.oledll = _Sink()
        ctypes.PyDLL = lambda file, *a, **k: (
            _Sink() if file == _STAND_IN_FILE else real(file, *a, **k)
        )
        xlwings = import_module("xlwings")
        impl = import_module("xlwings._xlwindows")
        xlwings.engines.add(xlwings.Engine(impl=impl.engine))
        udfs, server = import_module("xlwings.udfs"), import_module("xlwings.com_server")
        xlwings.func, xlwings.arg, xlwings.ret = udfs.xlfunc, udfs.xlarg, udfs.xlret
        yield SimpleNamespace(
            xlwings=xlwings,
            udfs=udfs,
            server=server.XLPython(),
            functions=import_module("udfs.hosts.excel.functions"),
        )
    finally:
        if server is not None:
            server.loop.close()
        for name in [name for name in sys.modules if name.startswith(_ROOTS)]:
            del sys.modules[name]
        sys.modules.update(saved_modules)
        hosts.__dict__.pop("excel", None)
        if saved_excel is not None:
            hosts.excel = saved_excel
        for name, value in saved_ctypes.items():
            if value is None:
                ctypes.__dict__.pop(name, None)
            else:
                setattr(ctypes, name, value)


class Cells:
    """A cell or a range of a sheet as Excel hands it to an untyped argument: an object with
    ``Value``.
    """

    def __init__(self, value):
        self.Value = value
        rows, columns = (len(value), len(value[0])) if isinstance(value, tuple) else (1, 1)
        self.Rows, self.Columns = SimpleNamespace(Count=rows), SimpleNamespace(Count=columns)
        self.Row = self.Column = 1
        attributes = SimpleNamespace(iid=_IID_RANGE)
        info = SimpleNamespace(GetTypeAttr=lambda: attributes)
        self._oleobj_ = SimpleNamespace(GetTypeInfo=lambda: info)
        app = SimpleNamespace(Hwnd=1)
        self.Worksheet = SimpleNamespace(Name="Sheet1", Parent=SimpleNamespace(Application=app))
