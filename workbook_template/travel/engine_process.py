"""The parent's side of an evaluation: the child process, its job and its answer, within bounds."""

from __future__ import annotations

import json
import queue
import secrets
import subprocess
import threading
import time
from collections.abc import Callable

from workbook_template.travel.child import command
from workbook_template.user_errors import BookError


class EngineProcess:
    """A child process that is started at once, so that it loads while the job is put together.

    Use it in a ``with`` statement: the child ends there, whatever happens.

    Parameters
    ----------
    title
        Name of the workbook in errors.
    seconds, size
        Limits of the child, the latter in bytes; memory is not limited on Windows.
    """

    def __init__(self, title: str, seconds: float, size: int):
        self.title, self.seconds, self.size = title, seconds, size
        self._mark = secrets.token_hex(8)
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._thread: threading.Thread | None = None
        self._deadline = 0.0
        self._child = subprocess.Popen(
            command(seconds, size),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            errors="replace",  # what something else printed may be anything
        )

    def __enter__(self) -> EngineProcess:
        return self

    def __exit__(self, *_) -> None:
        asked, answered = self._child.stdin, self._child.stdout
        assert asked and answered
        self._child.kill()
        self._child.wait()
        if self._thread:
            self._thread.join(5)
        answered.close()
        try:
            asked.close()
        except OSError:
            pass

    def ask(self, job: dict) -> None:
        """Send the job; the answer is waited for by :meth:`answer`."""
        self._deadline = time.monotonic() + self.seconds
        self._thread = threading.Thread(
            target=self._converse, args=(job | {"mark": self._mark},), daemon=True
        )
        self._thread.start()

    def _converse(self, job: dict) -> None:
        asked, answered = self._child.stdin, self._child.stdout
        assert asked and answered
        try:
            asked.write(json.dumps(job) + "\n")
            asked.flush()
            for line in answered:
                self._lines.put(line)
        except (OSError, ValueError):
            pass
        self._lines.put(None)

    def answer(self, heard: Callable[[int, int], None] | None) -> dict:
        """The child's answer, within the time; one sentence where it gives none."""
        while True:
            try:
                line = self._lines.get(timeout=max(0.0, self._deadline - time.monotonic()))
            except queue.Empty:
                raise BookError(
                    f"{self.title} takes longer than {self.seconds:g} seconds to evaluate, the"
                    " most that is waited for"
                ) from None
            if line is None:
                raise BookError(
                    f"{self.title} cannot be evaluated: the embedded engine fails on it, or needs"
                    f" more than {self.size // 1_000_000} MB of memory (a formula over a whole"
                    " sheet does)"
                )
            if not line.startswith(self._mark):  # something else printed it
                continue
            message = json.loads(line.removeprefix(self._mark))
            if "error" in message:
                raise BookError(f"{self.title} cannot be evaluated: {message['error']}")
            if "values" in message:
                return message
            if heard:
                heard(message["done"], message["of"])
