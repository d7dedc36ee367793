"""EVIDENCE.md and its pictures are those of the code as it stands: ``make evidence`` writes them
anew.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from tests.outside import evidence
from tests.outside.drawings import DRAWINGS, FOLDER, csv_text, digest, read_rows

NUMBER = re.compile(r"(?<= )\d+(?:\.\d+)?(?:e[-+]\d+)?(?= |$)")


@pytest.mark.slow
def test_text_is_current(tmp_path):
    """Word for word; a difference may have moved by a fifth, which other processors and libraries
    may do.
    """
    subprocess.run(
        [sys.executable, "-m", "tests.outside.evidence", str(tmp_path / "now.md")],
        cwd=Path(__file__).parents[2],
        check=True,
        capture_output=True,
    )
    now, committed = (
        path.read_text(encoding="utf-8") for path in (tmp_path / "now.md", evidence.FILE)
    )
    assert NUMBER.sub("#", now) == NUMBER.sub("#", committed)
    found, wanted = (list(map(float, NUMBER.findall(text))) for text in (now, committed))
    assert found == pytest.approx(wanted, rel=0.2, abs=2e-5)


@pytest.mark.slow
@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda drawing: drawing.name)
def test_figures_of_a_picture_are_current(drawing):
    committed = read_rows((FOLDER / f"{drawing.name}.csv").read_text(encoding="utf-8"))
    now = read_rows(csv_text(drawing))
    assert len(now) == len(committed)
    for one, other in zip(now, committed):
        assert [cell for cell in one if isinstance(cell, str)] == [
            cell for cell in other if isinstance(cell, str)
        ]
        numbers = [cell for cell in one if isinstance(cell, float)]
        assert numbers == pytest.approx(
            [cell for cell in other if isinstance(cell, float)], rel=1e-3, abs=1e-3
        )


@pytest.mark.parametrize("drawing", DRAWINGS, ids=lambda drawing: drawing.name)
def test_picture_shows_the_figures_beside_it(drawing):
    figures = (FOLDER / f"{drawing.name}.csv").read_text(encoding="utf-8")
    with Image.open(FOLDER / f"{drawing.name}.png") as picture:
        assert picture.info["Figures"] == digest(figures)


def test_every_picture_is_in_the_text():
    text = evidence.FILE.read_text(encoding="utf-8")
    named = set(re.findall(r"pictures/(\w+)\.png", text))
    assert named == {drawing.name for drawing in DRAWINGS}
    assert {file.stem for file in FOLDER.iterdir()} == named
