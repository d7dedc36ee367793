"""The child process that evaluates a workbook: one job on standard input, its answer on standard output.

A hostile workbook may make the engine hang, eat memory or crash; here that ends this process only. It limits itself
before it loads anything large, and ends when the parent does (standard input closes).
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import sys
import threading
import time
from functools import cached_property

from workbook_template.travel.ooxml.addresses import address, block

#: Errors of the engine that mean "this cannot be computed here", not an answer.
UNABLE = {
    "Error": "the embedded engine cannot read the formula",
    "NImpl": "the embedded engine does not know a function in it",
    "Name": "it uses a name or function that the embedded engine does not know",
    "Circ": "it is part of, or waits for, a circular reference",
    "Spill": "its answer does not fit the cells below or beside it",
}
#: Errors that are an answer as a rule, yet also what the engine gives where it lacks a feature.
DOUBTFUL = ("Na", "Value", "Ref")
#: Most formulas that are traced; where more fail, all count as connected with the catalogue.
TRACED = 2_000


def limit(seconds: float, size: int) -> None:
    """Bound processor time and memory of this process, where the system can."""
    try:
        import resource
    except ImportError:  # Windows
        return
    limits = {
        resource.RLIMIT_CPU: (int(seconds) + 1, int(seconds) + 5),
        resource.RLIMIT_AS: (size, size),
        resource.RLIMIT_CORE: (0, 0),
    }
    for kind, values in limits.items():
        with contextlib.suppress(
            ValueError, OSError
        ):  # a system may not allow one of them, or have a lower one
            resource.setrlimit(kind, values)


def end_with_parent() -> None:
    """End this process as soon as standard input closes."""

    def wait():
        sys.stdin.read()
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()


def say(message: dict) -> None:
    """One line to the parent."""
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


class Evaluation:
    """One workbook in the engine."""

    def __init__(self, job: dict):
        import formualizer

        from udfs.hosts import engine
        from workbook_template.travel.recording import Recorder

        self.engine, self.formualizer = engine, formualizer
        self.job = job
        config = formualizer.EvaluationConfig()
        config.date_system = "1904" if job["date1904"] else "1900"
        self.book = formualizer.Workbook(config=formualizer.WorkbookConfig(eval_config=config))
        self.book.set_temporal_egress("serial")
        heard = progress(job["ours"])
        engine.register(self.book, heard)
        self.recorder = Recorder(job["calls"], job["status"], heard)
        self.recorder.register(self.book)
        #: Formulas that the engine does not take, with the reason.
        self.refused: dict[str, str] = {}
        for sheet in job["sheets"]:
            self.book.add_sheet(sheet["name"])
        for sheet in job["sheets"]:
            self.fill(sheet)

    def fill(self, sheet: dict) -> None:
        """Values first, in blocks of rows, then the formulas in runs of a column."""
        name = sheet["name"]
        bands: dict[int, list] = {}
        for row, column, value in sheet["values"]:
            bands.setdefault(row // 1000, []).append((row, column, self.entered(value)))
        for band in bands.values():
            top, left = min(row for row, _, _ in band), min(column for _, column, _ in band)
            height = max(row for row, _, _ in band) - top + 1
            width = max(column for _, column, _ in band) - left + 1
            if height * width > 20 * len(band) + 1000:
                for row, column, value in band:
                    self.book.set_value(name, row, column, value)
                continue
            block = [[None] * width for _ in range(height)]
            for row, column, value in band:
                block[row - top][column - left] = value
            self.book.set_values_batch(name, top, left, block)
        for formula in sheet["formulas"]:
            row, column = formula["row"], formula["column"]
            try:
                self.book.set_formula(name, row, column, "=" + formula["text"])
            except Exception as error:  # a formula that reads its own cell, and whatever else the engine will not take
                self.refuse(name, formula, UNABLE["Circ" if "#CIRC!" in str(error) else "Error"])

    def refuse(self, name: str, formula: dict, reason: str) -> None:
        """An error in place of a formula, so that what reads it is found."""
        self.refused[raw(name, formula["row"], formula["column"])] = reason
        self.book.set_value(
            name, formula["row"], formula["column"], {"type": "Error", "kind": "Name"}
        )

    def evaluate(self) -> None:
        """Evaluate; where a bracket that is no table reference fails the whole book, without the formulas that have one."""
        try:
            self.book.evaluate_all()
        except self.formualizer.ExcelEvaluationError:
            for sheet in self.job["sheets"]:
                for formula in sheet["formulas"]:
                    if "[" in formula["text"]:
                        self.refuse(sheet["name"], formula, UNABLE["Error"])
            self.book.evaluate_all()

    def entered(self, value):
        """A value of the job as the engine takes it."""
        if isinstance(value, dict):
            return {"type": "Error", "kind": self.engine.error_kind(value["error"])}
        return value

    def answer(self) -> dict:
        """Fresh values of all formulas, and the formulas that keep the catalogue's cells from one."""
        self.evaluate()
        values, grown, suspects = [], [], {}
        for number, sheet in enumerate(self.job["sheets"]):
            for formula in sheet["formulas"]:
                row, column = formula["row"], formula["column"]
                value = self.book.get_value(sheet["name"], row, column)
                reason = self.doubt(sheet["name"], formula, value)
                if reason:
                    suspects[place(sheet["name"], row, column)] = (number, row, column, reason)
                elif formula["area"]:
                    if formula["dynamic"]:
                        grown.append(
                            [
                                number,
                                row,
                                column,
                                *(self.extent(sheet["name"], row, column) or (row, column)),
                            ]
                        )
                    values += [[number, *cell] for cell in self.array(sheet["name"], formula)]
                else:
                    values.append([number, row, column, self.left(value)])
        return {
            "values": values,
            "grown": grown,
            "failed": self.connected(suspects),
            "kept": len(suspects),
            "asked": self.recorder.said() if self.job["record"] else [],
        }

    def array(self, name: str, formula: dict):
        """Cells of an array formula: its area filled, #N/A where the answer is smaller; a dynamic one empties those."""
        row, column = formula["row"], formula["column"]
        bottom, right = formula["area"][2:]
        last = self.extent(name, row, column) or (row, column)
        if formula["dynamic"]:
            bottom, right = max(bottom, last[0]), max(right, last[1])
        repeated = not formula["dynamic"]
        for down in range(row, bottom + 1):
            for across in range(column, right + 1):
                from_row = row if repeated and last[0] == row else down
                from_column = column if repeated and last[1] == column else across
                if from_row <= last[0] and from_column <= last[1]:
                    yield down, across, self.left(self.book.get_value(name, from_row, from_column))
                else:
                    yield down, across, None if formula["dynamic"] else {"error": "#N/A"}

    def extent(self, name: str, row: int, column: int) -> tuple[int, int] | None:
        """Last row and column of the cells that a formula fills, None where it fills its own only."""
        spill = self.book.inspect_cell(place(name, row, column), include_values=False).cell.spill
        if spill is None or not spill.extent:
            return None
        return block(spill.extent.rpartition("!")[2])[2:]

    def doubt(self, name: str, formula: dict, value) -> str | None:
        """Why a value is no answer, or None where it is one."""
        refused = self.refused.get(raw(name, formula["row"], formula["column"]))
        if refused:
            return refused
        kind = value.get("kind") if isinstance(value, dict) else None
        if kind is None:
            if (
                not formula["area"]
                and ":" in formula["text"]
                and self.extent(name, formula["row"], formula["column"])
            ):
                return "it meets a whole range where one cell is meant, which the embedded engine does not do"
            return None
        if kind in UNABLE:
            return UNABLE[kind]
        if kind in DOUBTFUL and formula["settled"] and not self.explained(name, formula):
            code = self.engine.error_code(kind)
            return f"the embedded engine gives {code} where the workbook's own program gave a value"
        return None

    def explained(self, name: str, formula: dict) -> bool:
        """Whether an error comes from a cell it reads that is an error or has changed since the book was saved."""
        report = self.book.trace(
            [place(name, formula["row"], formula["column"])],
            direction=self.formualizer.TraceDirection.Precedents,
            max_depth=1,
            max_nodes=10_000,
            max_links=10_000,
            max_work=100_000,
            range_member_budget=10_000,
            include_values=False,
        )
        read = set(map(unquoted, report.nodes.keys())) - {
            raw(name, formula["row"], formula["column"])
        }
        return report.truncation.incomplete or not self.restless.isdisjoint(read)

    @cached_property
    def restless(self) -> set:
        """Cells whose value is an error or differs from the stored one."""
        found = set()
        for sheet in self.job["sheets"]:
            for formula in sheet["formulas"]:
                value = self.left(
                    self.book.get_value(sheet["name"], formula["row"], formula["column"])
                )
                if isinstance(value, dict) or value != formula["stored"]:
                    found.add(raw(sheet["name"], formula["row"], formula["column"]))
            found |= {
                raw(sheet["name"], row, column)
                for row, column, value in sheet["values"]
                if isinstance(value, dict)
            }
        return found

    def connected(self, suspects: dict) -> list:
        """The suspects that feed the catalogue's cells or wait for them; the others keep their stored value."""
        if not suspects:
            return []
        ours = {
            raw(sheet["name"], formula["row"], formula["column"])
            for sheet in self.job["sheets"]
            for formula in sheet["formulas"]
            if formula["ours"]
        }
        entries = list(suspects.values())
        if ours and len(suspects) > TRACED:
            return entries
        if not ours or not self.meets(list(suspects), ours):
            return []
        return [
            entry
            for suspect, entry in suspects.items()
            if unquoted(suspect) in ours or self.meets([suspect], ours)
        ]

    def meets(self, places: list[str], ours: set) -> bool:
        """Whether a walk up or down from some cells comes by one of ours; true as well where it is too long to finish."""
        way = self.formualizer.TraceDirection
        for direction in (way.Dependents, way.Precedents):
            report = self.book.trace(
                places,
                direction=direction,
                max_depth=1_000,
                max_nodes=50_000,
                max_links=200_000,
                max_work=2_000_000,
                range_member_budget=50_000,
                include_values=False,
            )
            if report.truncation.incomplete or not ours.isdisjoint(
                map(unquoted, report.nodes.keys())
            ):
                return True
        return False

    def left(self, value):
        """A value of the engine as the answer has it."""
        if isinstance(value, dict):
            return {"error": self.engine.error_code(value.get("kind"))}
        if isinstance(value, list):
            return self.left(value[0][0] if isinstance(value[0], list) else value[0])
        if value is None:
            return 0.0
        if isinstance(value, (bool, str)):
            return value
        return float(value) if math.isfinite(value) else {"error": "#NUM!"}


def place(name: str, row: int, column: int) -> str:
    """A cell as the engine takes it."""
    return "'" + name.replace("'", "''") + f"'!{address(row, column)}"


def raw(name: str, row: int, column: int) -> str:
    """A cell without quotes, to compare by."""
    return f"{name}!{address(row, column)}"


def unquoted(engine_place: str) -> str:
    """What the engine calls a cell, as :func:`raw` has it."""
    sheet, _, cell = engine_place.rpartition("!")
    return f"{sheet[1:-1].replace(chr(39) * 2, chr(39)) if sheet.startswith(chr(39)) else sheet}!{cell}"


def progress(total: int):
    """A function for each call of the catalogue: tells the parent how far it is, twice a second."""
    done, said = 0, time.monotonic()

    def count(_name):
        nonlocal done, said
        done += 1
        if done % 50 == 0 and time.monotonic() - said > 0.5:
            said = time.monotonic()
            say({"done": done, "of": total})

    return count


def main() -> None:
    """Answer one job."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    job = json.loads(sys.stdin.readline())
    limit(job["seconds"], job["bytes"])
    end_with_parent()
    try:
        say(Evaluation(job).answer())
    except MemoryError:
        say({"error": "it needs more memory than is allowed"})
    except Exception as error:  # the engine raises for whole books too
        say({"error": f"the embedded engine refuses it: {error!s:.200}"})
    sys.stdout.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
