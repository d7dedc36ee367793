"""The component without an office: stand-ins take the place of ``uno``, and small programs that of
the worker.
"""

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

from udfs.hosts.calc import extension

HERE = Path(extension.__file__).parent

#: A worker that speaks the frames well, with a place for mischief; AGAIN is true in a second
#: process.
LIAR = """
import json, os, sys
settings, host, token = sys.argv[1:4]
mark = settings + ".started"
AGAIN = os.path.exists(mark)
open(mark, "a").close()
out = sys.stdout.buffer
def frame(number, answer):
    return f"{token} {number} {len(answer)} {answer}\\n".encode()
def say(data):
    out.write(data); out.flush()
say(b"\\n" + frame(0, '""'))
for line in sys.stdin.buffer:
    number, _, request = line.partition(b" ")
    number = int(number)
    name, cells = json.loads(request)
    right = frame(number, repr(cells[0] * 2))
"""


@pytest.fixture
def component(tmp_path, monkeypatch):
    """The component with a worker of this text (its own, where there is none) run by this Python or
    a script.
    """
    for name in ("uno", "unohelper", "com", "com.sun", "com.sun.star", "com.sun.star.lang"):
        monkeypatch.setitem(sys.modules, name, ModuleType(name))
    sys.modules["com.sun.star.lang"].XServiceInfo = type("XServiceInfo", (), {})
    sys.modules["unohelper"].Base = type("Base", (), {})
    sys.modules["unohelper"].ImplementationHelper = type(
        "Helper", (), {"addImplementation": lambda *_: None}
    )
    made = []

    def make(worker=None, script=None, **settings):
        python = sys.executable
        if script:
            python = tmp_path / "python"
            python.write_text("#!/bin/sh\n" + script.format(python=sys.executable))
            python.chmod(0o755)
        wanted = extension.settings(str(python)) | settings
        if worker:
            (tmp_path / "liar.py").write_text(LIAR + worker)
            wanted["worker"] = str(tmp_path / "liar.py")
        (tmp_path / "settings.json").write_text(json.dumps(wanted))
        (tmp_path / "component.py").write_text((HERE / "component.py").read_text())
        spec = importlib.util.spec_from_file_location("component", tmp_path / "component.py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        found = module.Worker("a test")
        made.append(found)
        return found

    yield make
    for worker in made:
        if worker.process:
            worker.end()
