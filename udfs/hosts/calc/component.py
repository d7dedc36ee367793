"""Spargesheet in LibreOffice Calc: hands every formula to the user's own Python and gives its answer to the cell.

Runs in the Python of LibreOffice, whatever its version: standard library and ``uno`` only, and nothing of Spargesheet's
own. The chemistry runs in one worker process, which is started at the first formula and talks over its standard input
and output: a JSON line each way. The worker ends when the office does. ``settings.json`` beside this file says which
functions there are and which Python answers them.
"""

import json
import os
import struct
import subprocess
import threading
import time

import uno
import unohelper
from com.sun.star.lang import XServiceInfo

try:
    from org.spargesheet import XFunctions
except ImportError:  # while the extension is being registered, its own types are not there yet
    XFunctions = XServiceInfo

SETTINGS_FILE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "settings.json")
with open(SETTINGS_FILE, encoding="utf-8") as file:
    SETTINGS = json.load(file)

#: Seconds that the worker may take to start, and to answer one formula, before it is ended.
START, ANSWER = SETTINGS["seconds to start"], SETTINGS["seconds to answer"]
#: Seconds during which a failed start is not tried again, so that a sheet of formulas fails at once and not one by one.
PAUSE = SETTINGS["seconds to pause"]
#: Calc's own numbers of errors; a NaN that carries such a number shows as that error.
ERRORS = {
    "#NULL!": 521,
    "#DIV/0!": 532,
    "#VALUE!": 519,
    "#REF!": 524,
    "#NAME?": 525,
    "#NUM!": 503,
    "#N/A": 32767,
}
MEND = "in the Python that has spargesheet run `spargesheet install calc`, then restart LibreOffice"
AGAIN = "wait a minute, then Ctrl+Shift+F9 tries again"


class Worker:
    """The process that answers, started when it is needed."""

    def __init__(self, host):
        self.command = [SETTINGS["python"], SETTINGS["worker"], SETTINGS_FILE, host]
        self.lock = threading.Lock()
        self.process = None
        self.deadline = None
        self.late = False
        self.problem = ""
        self.try_again = 0.0

    def call(self, name, cells):
        """The answer of a function, or the sentence that says why there is none; waits for a limited time only."""
        request = json.dumps([name, cells]).encode() + b"\n"
        with self.lock:
            for _ in range(2):  # a worker that was ended from outside is replaced and asked again
                if self.process is None and not self.start():
                    return self.problem
                line = self.exchange(request, ANSWER)
                if line:
                    return decoded(line)
                self.end()
                if self.late:
                    return self.failed(
                        f"its Python took more than {ANSWER:g} s over a formula; {AGAIN}"
                    )
            return self.failed(f"its Python stops at a formula; {AGAIN}")

    def start(self):
        """Start the process; where that fails, give False and let ``problem`` say why."""
        began = time.monotonic()
        if began < self.try_again:
            return False
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith("PYTHON")
        }
        try:
            self.process = subprocess.Popen(
                self.command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except OSError as error:
            self.failed(f"its Python {self.command[0]} does not start ({error.strerror}); {MEND}")
            return False
        threading.Thread(target=self.watch, args=(self.process,), daemon=True).start()
        line = self.exchange(b"", START)
        if line and not json.loads(line):
            return True
        self.end()
        if line:
            reason = f"{json.loads(line)}; {MEND}"
        elif self.late:
            reason = f"its Python {self.command[0]} did not start within {START:g} s; {AGAIN}"
        else:
            reason = f"its Python {self.command[0]} has no working spargesheet; {MEND}"
        self.failed(reason, PAUSE + 2 * (time.monotonic() - began))
        return False

    def exchange(self, request, seconds):
        """Send a request and read the line that answers it; nothing where the process is gone or takes too long."""
        self.late = False
        self.deadline = time.monotonic() + seconds
        try:
            self.process.stdin.write(request)
            self.process.stdin.flush()
            line = self.process.stdout.readline()
            return line if line.endswith(b"\n") else b""  # a piece of an answer is none
        except OSError:
            return b""
        finally:
            self.deadline = None

    def watch(self, process):
        """End the process when it is over its time; runs in a thread of its own."""
        while process.poll() is None:
            time.sleep(0.5)
            deadline = self.deadline
            if deadline is not None and time.monotonic() > deadline and self.process is process:
                self.late = True
                process.kill()

    def end(self):
        """Forget the process, and end it where it still runs."""
        process, self.process = self.process, None
        process.kill()
        for stream in (process.stdin, process.stdout):
            try:
                stream.close()
            except OSError:
                pass
        process.wait()

    def failed(self, problem, pause=PAUSE):
        """The sentence for the cells, which stands until a new start is due."""
        self.problem = f"Check add-in: {problem}"
        self.try_again = time.monotonic() + pause
        return self.problem


def decoded(line):
    """The answer in a line of JSON; most are numbers, which need no more than this."""
    try:
        return float(line)
    except ValueError:
        return json.loads(line)


def in_cells(answer):
    """An answer in Calc's terms: rows of cells."""
    if isinstance(answer, list):
        return tuple(tuple(in_cell(value) for value in row) for row in answer)
    return ((in_cell(answer),),)


def in_cell(value):
    """One value in Calc's terms."""
    if isinstance(value, dict):
        return struct.unpack(
            "<d", struct.pack("<Q", 0x7FF8000000000000 + ERRORS.get(value["error"], 519))
        )[0]
    return value


def program(context):
    """Name and version of the office, for ADDIN_STATUS."""
    node = uno.createUnoStruct("com.sun.star.beans.NamedValue")
    node.Name, node.Value = "nodepath", "/org.openoffice.Setup/Product"
    provider = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.configuration.ConfigurationProvider", context
    )
    product = provider.createInstanceWithArguments(
        "com.sun.star.configuration.ConfigurationAccess", (node,)
    )
    return f"{product.getByName('ooName')} Calc {product.getByName('ooSetupVersionAboutBox')}"


class Functions(unohelper.Base, *dict.fromkeys((XFunctions, XServiceInfo))):
    """The object that Calc calls: one method a function, made from the settings."""

    worker = None

    def __init__(self, context):
        if Functions.worker is None:
            Functions.worker = Worker(program(context))

    def getImplementationName(self):
        """Name of this implementation."""
        return SETTINGS["service"] + ".Python"

    def supportsService(self, name):
        """Whether this is a service of that name."""
        return name in self.getSupportedServiceNames()

    def getSupportedServiceNames(self):
        """The one service that this is."""
        return (SETTINGS["service"],)


def method(name):
    """The method that answers one function; an argument left out arrives as None."""

    def answer(self, *cells):
        return in_cells(self.worker.call(name, cells))

    return answer


for function in SETTINGS["functions"]:
    setattr(Functions, function, method(function))

g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(
    Functions, SETTINGS["service"] + ".Python", (SETTINGS["service"],)
)
