"""Spargesheet in LibreOffice Calc: hands every formula to the user's own Python and gives its
answer to the cell.

Runs in the Python of LibreOffice, whatever its version: standard library and ``uno`` only, and
nothing of Spargesheet's own. The chemistry runs in one worker process, which is started at the
first formula and talks over its standard input and output: a JSON line each way, with a number and,
on the way back, a mark (see ``worker.py``), so that whatever else writes there is passed over. The
worker ends when the office does. ``settings.json`` beside this file says which functions there are
and which Python answers them.
"""

import json
import os
import secrets
import signal
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
#: Seconds during which a failed start is not tried again, so that a sheet of formulas fails at once
#: and not one by one.
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
#: Bytes that kept answers may take, their questions counted with them, and what each takes beside
#: its text.
ROOM, BESIDE = 32_000_000, 300
#: Seconds for which kept answers are given without looking whether the package is still the one
#: that made them.
LOOK = 0.5
#: Exchanges after which the worker is moved to the processor that the office is on.
FOLLOW = 64
MEND = "in the Python that has spargesheet run `spargesheet install calc`, then restart LibreOffice"
AGAIN = "wait a minute, then Ctrl+Shift+F9 tries again"


class KeptAnswers:
    """Answers by their question, so that a cell whose arguments are unchanged costs no more than
    looking here.

    A function of the catalogue answers the same to the same cells as long as the package is the
    same; those that do not are in the settings. A question is the text of its request, in which
    ``true`` is not ``1.0``. Sentences and errors are not kept, nor anything from before the package
    was changed or the worker started anew.
    """

    def __init__(self):
        self.answers = {}
        self.room = ROOM
        self.package = SETTINGS["package"]
        self.passing = frozenset(SETTINGS["not kept"])
        self.stamp = None
        self.look_again = 0.0

    def clear(self):
        """Forget everything; from here on the package is what it is now."""
        self.answers.clear()
        self.room = ROOM
        self.stamp = stamp(self.package)

    def get(self, question):
        """The answer to a question, or none."""
        answer = self.answers.get(question)
        if answer is not None and time.monotonic() > self.look_again:
            self.look_again = time.monotonic() + LOOK
            if self.stamp is None or stamp(self.package) != self.stamp:
                self.clear()
                return None
        return answer

    def put(self, name, question, answer, value):
        """Keep a value, with ``answer`` as the worker wrote it; the oldest go where there is no
        room.
        """
        size = len(question) + len(answer) + BESIDE
        if name in self.passing or b'"Check ' in answer or b'"error"' in answer or size > ROOM // 8:
            return
        while self.room < size:
            oldest = next(iter(self.answers))
            self.room += self.answers.pop(oldest)[1]
        self.answers[question] = value, size
        self.room -= size


def stamp(file):
    """What changes when the package is installed anew; none where it is gone."""
    try:
        found = os.stat(file)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


class Worker:
    """The process that answers, started when it is needed."""

    def __init__(self, host):
        self.command = [SETTINGS["python"], SETTINGS["worker"], SETTINGS_FILE, host]
        self.lock = threading.Lock()
        self.process = None
        self.token = b""
        self.number = 0
        self.deadline = None
        self.late = False
        self.problem = ""
        self.try_again = 0.0
        self.kept = KeptAnswers()
        self.processor = None

    def call(self, name, cells):
        """The answer of a function, or the sentence that says why there is none; waits for a
        limited time only.
        """
        request = json.dumps([name, cells]).encode()
        with self.lock:
            known = self.kept.get(request)
            if known is not None:
                return known[0]
            for _ in range(2):  # a worker that was ended from outside is replaced and asked again
                if self.process is None and not self.start():
                    return self.problem
                self.number += 1
                answer = self.exchange(b"%d %b\n" % (self.number, request), ANSWER)
                if answer:
                    value = decoded(answer)
                    self.kept.put(name, request, answer, value)
                    if self.number % FOLLOW == 1:
                        self.follow()
                    return value
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
        self.kept.clear()
        self.processor = None
        token = secrets.token_hex(8)
        self.token, self.number = token.encode(), 0
        try:
            self.process = subprocess.Popen(
                [*self.command, token],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
                start_new_session=True,  # a wrapper script ends with the Python that it started
            )
        except OSError as error:
            self.failed(f"its Python {self.command[0]} does not start ({error.strerror}); {MEND}")
            return False
        threading.Thread(target=self.watch, args=(self.process,), daemon=True).start()
        said = self.exchange(b"", START)
        if said == b'""':
            return True
        self.end()
        if said:
            reason = f"{json.loads(said)}; {MEND}"
        elif self.late:
            reason = f"its Python {self.command[0]} did not start within {START:g} s; {AGAIN}"
        else:
            reason = f"its Python {self.command[0]} has no working spargesheet; {MEND}"
        self.failed(reason, PAUSE + 2 * (time.monotonic() - began))
        return False

    def exchange(self, request, seconds):
        """Send a request and read its answer; nothing where the process is gone, takes too long or
        answers another.
        """
        self.late = False
        self.deadline = time.monotonic() + seconds
        try:
            self.process.stdin.write(request)
            self.process.stdin.flush()
            read = self.process.stdout.readline
            line = read()
            while line:
                place = line.find(self.token)
                if place >= 0:
                    frame = line[place + len(self.token) :]
                    number, _, rest = frame[1:].partition(b" ")
                    length, _, answer = rest.partition(b" ")
                    if number.isdigit() and length.isdigit():
                        # a piece of an answer, or one with something in its midst, is none
                        whole = answer[-1:] == b"\n" and len(answer) - 1 == int(length)
                        return answer[:-1] if whole and int(number) == self.number else b""
                line = read()
            return b""
        except OSError:
            return b""
        finally:
            self.deadline = None

    def watch(self, process):
        """End the process when it is over its time; runs in a thread of its own."""
        while self.process is process:
            time.sleep(0.5)
            deadline = self.deadline
            if deadline is not None and time.monotonic() > deadline and self.process is process:
                self.late = True
                kill(process)

    def follow(self):
        """Have the worker run where the office runs, on systems that allow it: while one works the
        other waits.

        A question that wakes a processor of its own takes three times as long to come back.
        """
        if not hasattr(os, "sched_setaffinity"):
            return
        try:
            with open("/proc/thread-self/stat", "rb") as file:
                here = int(file.read().rpartition(b")")[2].split()[36])
            if here != self.processor:
                os.sched_setaffinity(self.process.pid, {here})
                self.processor = here
        except (OSError, ValueError, IndexError):
            pass

    def end(self):
        """Forget the process, and end it where it still runs."""
        process, self.process = self.process, None
        kill(process)
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


def kill(process):
    """End a process and all that it started, which would hold its output open."""
    if hasattr(os, "killpg"):
        try:
            os.killpg(process.pid, signal.SIGKILL)
        except OSError:
            pass
    else:
        subprocess.run(
            ["taskkill", "/T", "/F", "/PID", str(process.pid)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            creationflags=subprocess.CREATE_NO_WINDOW,
        )
        process.kill()


def decoded(answer):
    """The answer in a piece of JSON; most are numbers, which need no more than this."""
    try:
        return float(answer)
    except ValueError:
        return json.loads(answer)


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


class Functions(unohelper.Base, *dict.fromkeys((XFunctions, XServiceInfo))):  # type: ignore[misc]
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
