"""Last runnings: the readings of the batch that is chosen, when to stop, and the kettle."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.workbook_template.test_sparge_day import type_reading
from udfs import CATALOGUE, call
from workbook_template.template import scenario
from workbook_template.template.sheets import last_runnings, readings
from workbook_template.template.sheets.settings import RUNOFF_PRESETS

RUNNINGS, LINES = last_runnings.NAME, last_runnings.LINES
RUN = readings.RUN
DEMO = scenario.RUNNINGS.readings


def type_run(desk, row: int, key: str, value) -> None:
    desk.type(readings.NAME, RUN.first + row, RUN.at[key], value)


def line(desk, number: int) -> list:
    return [
        desk.read(RUNNINGS, LINES.head + number, LINES.at[key]) for key in ("volume", "ph", "plato")
    ]


def answer(desk):
    return desk.named("Runoff_answer")


def why(desk):
    return desk.read(RUNNINGS, 5, last_runnings.SIDE + 1)


@pytest.mark.parametrize(("preset", "ph", "plato"), RUNOFF_PRESETS[:-1])
def test_the_presets_of_the_last_runnings(desk, preset, ph, plato):
    desk.enter("Runoff_preset", preset)
    desk.work_out()
    assert (desk.named("Runoff_pH"), desk.named("Runoff_plato")) == (ph, plato)
    reached = any(
        (read or 0) >= ph or (gravity is not None and gravity <= plato) for _, read, gravity in DEMO
    )
    assert reached or answer(desk) == "go on"
    assert not reached or 8.0 < answer(desk) <= 10.5


def test_own_limits_must_be_typed(desk):
    desk.enter("Runoff_preset", "own figures")
    desk.work_out()
    assert desk.named("Runoff_pH") == "type your own limit"
    assert str(answer(desk)).startswith("Check max_ph")
    desk.enter("Runoff_own_pH", 5.6)
    desk.enter("Runoff_own_plato", 2.0)
    desk.work_out()
    assert answer(desk) == pytest.approx(9 + (5.6 - 5.58) / (5.72 - 5.58), rel=1e-9)


def test_one_own_limit_alone_is_enough(desk):
    desk.enter("Runoff_preset", "own figures")
    desk.enter("Runoff_own_pH", 5.6)
    desk.work_out()
    assert desk.named("Runoff_plato") == "no limit"
    assert answer(desk) == pytest.approx(9 + (5.6 - 5.58) / (5.72 - 5.58), rel=1e-9)
    desk.enter("Runoff_own_pH", None)
    desk.enter("Runoff_own_plato", 4.2)
    desk.work_out()
    assert desk.named("Runoff_pH") == "no limit"
    assert (
        answer(desk) == pytest.approx(9, rel=1e-9)
        and why(desk) == "gravity fell to 4.2 °P at 9.00 hL"
    )


@pytest.mark.parametrize(
    "times, shown", [(0.1, "0.99"), (1, "9.86"), (2, "19.7"), (100, "986"), (1000, "9,857")]
)
def test_the_reason_has_the_cut_off_as_it_is_shown(desk, times, shown):
    for row, (volume, *_) in enumerate(DEMO):
        type_run(desk, row, "volume", times * volume)
    desk.work_out()
    assert why(desk) == f"pH rose to 5.7 at {shown} hL"


def test_with_no_limit_reached_it_says_go_on_and_what_is_wrong(desk):
    desk.enter("Runoff_preset", "own figures")
    desk.enter("Runoff_own_pH", 8.0)
    desk.enter("Runoff_own_plato", 1.0)
    desk.work_out()
    assert answer(desk) == "go on"
    assert why(desk) == "no limit reached by 10.5 hL"
    type_run(desk, 1, "volume", 20.0)
    desk.work_out()
    assert why(desk) == answer(desk)
    assert why(desk).startswith("Check litres: ")


def test_another_batch_shows_its_own_runnings(desk):
    desk.enter("Day_batch", desk.answer("batch", 1))
    desk.work_out()
    assert answer(desk) == "no reading"
    assert line(desk, 1) == ["", "", ""]
    assert desk.named("Kettle_water") == desk.named("Kettle_minutes") == ""
    for row, reading in ((20, (0, 5.4, 15.0)), (9, (2, 5.2, 16.0)), (300, (9, 6.0, 2.0))):
        for key, value in zip(
            ("batch", "volume", "ph", "plato"), (desk.answer("batch", 1), *reading)
        ):
            type_run(desk, row, key, value)
    desk.work_out()
    assert [line(desk, number) for number in (1, 2, 3, 4)] == [
        [2, 5.2, 16],
        [0, 5.4, 15],
        [9, 6, 2],
        ["", "", ""],
    ]
    desk.enter("Day_batch", desk.answer("batch", 0))
    desk.work_out()
    assert answer(desk) == pytest.approx(9 + (5.7 - 5.58) / (5.72 - 5.58), rel=1e-9)


def test_more_readings_than_fit_give_no_volume(desk):
    for row in range(len(DEMO), readings.RUNNINGS + 1):
        type_run(desk, row, "batch", desk.answer("batch", 0))
        type_run(desk, row, "volume", 11 + row)
        type_run(desk, row, "ph", 5.9)
    desk.work_out()
    assert answer(desk) == "see why" and why(desk).startswith("More than 16 readings")


@pytest.mark.slow
@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    rows=st.lists(
        st.tuples(
            st.integers(0, 8),
            st.floats(0.1, 3).map(lambda x: round(x, 2)),
            st.one_of(st.none(), st.floats(5, 6.5).map(lambda x: round(x, 2))),
            st.one_of(st.none(), st.floats(0.5, 18).map(lambda x: round(x, 1))),
        ),
        max_size=30,
    ),
    chosen=st.integers(0, 8),
)
def test_whatever_rows_stand_between_them_the_batchs_own_are_shown(desk, rows, chosen):
    """Runnings of several batches, mixed: the sheet shows those of the chosen one, in their
    order.
    """
    run_off = [0.0] * 9
    own: list[list] = []
    last: float | str = ""
    for row in range(40):
        values = (None,) * 4
        if row < len(rows):
            batch, more, ph, plato = rows[row]
            run_off[batch] = round(run_off[batch] + more, 2)
            values = desk.answer("batch", batch), run_off[batch], ph, plato
            if batch == chosen:
                own.append([run_off[batch], ph, plato])
            if batch == 0 and ph is not None:
                last = ph
        for key, value in zip(("batch", "volume", "ph", "plato"), values):
            type_run(desk, row, key, value)
    desk.enter("Day_batch", desk.answer("batch", chosen))
    desk.work_out()
    try:
        blank = [["" if cell is None else cell for cell in one] for one in own]
        shown = [line(desk, number) for number in range(1, readings.RUNNINGS + 1)]
        assert shown == (blank + [["", "", ""]] * readings.RUNNINGS)[: readings.RUNNINGS]
        assert desk.read(readings.NAME, readings.FIRST, readings.COLUMN["last_used"]) == last
        if not own:
            assert answer(desk) == "no reading"
        elif len(own) <= readings.RUNNINGS:
            columns = [[[cell[place]] for cell in shown] for place in range(3)]
            words = call("RUNOFF_REASON", *columns, 5.7, 2.5)
            if words.startswith("no limit"):
                assert answer(desk) == "go on"
            else:
                assert answer(desk) == call("RUNOFF_CUTOFF", *columns, 5.7, 2.5)
    finally:
        desk.tidy()


def test_the_kettle_reaches_its_gravity_either_way(desk):
    litres, minutes = desk.named("Kettle_fill_to"), desk.named("Kettle_minutes")
    topped, wanted = desk.named("Kettle_topped"), desk.named("Kettle_wanted")
    assert call(
        "PLATO_AFTER_BOIL", litres, topped, minutes, desk.named("Kettle_evaporation")
    ) == pytest.approx(wanted, rel=1e-9)
    assert desk.named("Kettle_dextrose") > 0


def test_the_kettle_belongs_to_its_batch(desk):
    batch = desk.answer("batch", 3)
    for key, value in (
        ("batch", batch),
        ("kettle_volume", 10),
        ("kettle_plato", 12),
        ("fill_to", 11),
        ("wanted_plato", 10),
        ("evaporation", 1),
    ):
        type_reading(desk, key, value, 8)
    desk.enter("Day_batch", batch)
    desk.work_out()
    assert desk.named("Kettle_water") == 1
    assert desk.named("Kettle_topped") == pytest.approx(call("PLATO_AFTER_TOP_UP", 10, 12, 1))
    assert desk.named("Kettle_boiled") == desk.named("Kettle_dextrose") == ""
    assert desk.named("Kettle_minutes") == 0


def test_no_name_of_the_workbook_is_that_of_a_function(desk):
    """A program that reads names without their case takes the one for the other."""
    assert {name.upper() for name in desk.names}.isdisjoint(CATALOGUE)


def test_gravities_stand_beside_their_specific_gravity(desk):
    """Of each reading in a column of its own, of the kettle's in the notes; none where there is no
    gravity.
    """
    for number in range(1, LINES.last - LINES.head + 1):
        plato, sg = (
            desk.read(RUNNINGS, LINES.head + number, LINES.at[key]) for key in ("plato", "sg")
        )
        if isinstance(plato, float):
            assert sg == pytest.approx(call("GRAVITY_SG", plato), rel=1e-12)
        else:
            assert sg == ""
    seen = 0
    for named in ("Kettle_plato", "Kettle_wanted", "Kettle_topped", "Kettle_boiled"):
        sheet, row, column = desk.place(named)
        plato, note = desk.read(sheet, row, column), desk.read(sheet, row, column + 1)
        if isinstance(plato, float):
            seen += 1
            assert note.startswith(f"specific gravity {call('GRAVITY_SG', plato):.3f}")
        else:
            assert note == ""
    assert seen >= 1
