"""What the comparison of two runs of the measurements says; the records are made up."""

from __future__ import annotations

import json

import pytest

from tests.benchmarks import history


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setattr(history, "FILE", tmp_path / "history.jsonl")
    return history.FILE


@pytest.mark.parametrize(
    ("before", "now", "worse"),
    [
        ("50 µs (48 to 53)", "56 µs (54 to 60)", True),
        ("50 µs (48 to 53)", "56 µs (52 to 60)", False),  # the spreads meet
        ("50 µs (48 to 53)", "40 µs (39 to 41)", False),
        ("3 times faster (2.9 to 3.1)", "2.5 times faster (2.4 to 2.8)", True),
        ("3 times faster (2.9 to 3.1)", "4 times faster (3.8 to 4.2)", False),
        ("1.9 s", "2.7 s", True),
        ("1.9 s", "2 s", False),  # within the noise of a figure without a spread
        ("50 µs (48 to 53)", "0.06 s", False),  # another unit is not compared
        ("not measured", "60 µs (58 to 70)", False),
    ],
)
def test_only_what_is_beyond_both_spreads_is_slower(file, before, now, worse):
    history.save({"load": "0.1"}, {"a row": before})
    found = history.slower({"a row": now, "a new row": "9 s"}, file)
    assert [line.startswith("slower: a row: ") for line in found] == [worse]


def test_each_run_is_one_line_and_the_last_is_compared_with(file):
    assert "nothing to compare with" in history.slower({"a row": "1 s"}, file)[0]
    history.save({"python": "3.11"}, {"a row": "9 s"})
    history.save({"python": "3.11"}, {"a row": "1 s"})
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    assert [line["rows"]["a row"] for line in lines] == ["9 s", "1 s"]
    assert lines[0]["python"] == "3.11"
    assert history.slower({"a row": "2 s"}, file) == ["slower: a row: 1 to 2 s"]
