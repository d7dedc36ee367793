"""The sheets of the mash: malts, grists, the mash plan by batch, the mash chosen, and the acid that
is bought for it.
"""

from __future__ import annotations

import random
import re

import pytest

from chemcore.mash import typical_malts
from udfs import call
from workbook_template.template import scenario
from workbook_template.template.sheets import (
    blend_salts,
    grists,
    liquor_plan,
    malts,
    mash,
    mash_plan,
    purchasing,
    readings,
)

MIX, PAGE, BUY, GRISTS, MASHES = (
    sheet.NAME for sheet in (blend_salts, liquor_plan, purchasing, grists, mash_plan)
)
GRIST, TABLE = grists.GRIST, mash_plan.MASHES
NAMES = [planned.batch for planned in scenario.MASHES]
EXPORT = NAMES.index("0215 Export")
PALE = NAMES.index("0207 Pale")
#: Row of the first malt of the export on the sheet Grists, within its table.
MALTS = [planned.batch for planned in scenario.MASHES for _ in planned.grist].index("0215 Export")
LACTIC = [shelf.acid for shelf in scenario.ACIDS].index("lactic")


def type_grist(desk, offset: int, key: str, value) -> None:
    desk.type(GRISTS, GRIST.first + offset, GRIST.at[key], value)


def type_mash(desk, offset: int, key: str, value) -> None:
    desk.type(MASHES, TABLE.first + offset, TABLE.at[key], value)


def planned(desk, offset: int, key: str):
    return desk.read(MASHES, TABLE.first + offset, TABLE.at[key])


def grist_of(desk, batch: str) -> tuple:
    """The whole grist of a batch as the functions take it, from what is typed and shown on the
    sheet Grists.
    """
    rows = range(GRIST.first, GRIST.last + 1)
    return tuple(
        tuple(
            desk.read(GRISTS, row, GRIST.at[key]) for key in ("weight", "ph_used", "buffering_used")
        )
        for row in rows
        if desk.read(GRISTS, row, GRIST.at["batch"]) == batch
    )


def mash_of(desk, offset: int) -> tuple:
    """A mash as the functions take it, its whole grist included."""
    water = int(planned(desk, offset, "water_row"))
    sheet, cells = desk.names["Water_ions"].split("!")
    top, left = int(cells.split(":")[0].split("$")[2]), ord(cells.split(":")[0].split("$")[1]) - 65
    ions = tuple(desk.read(sheet.strip("'"), top + water - 2, left + i) for i in range(5))
    litres, alkalinity = planned(desk, offset, "litres"), planned(desk, offset, "alk")
    return grist_of(desk, planned(desk, offset, "batch")), litres, alkalinity, (ions,)


def malts_error(desk, batch: str) -> float:
    """What the malts' pH may be off by, a malt of a lot that was read by the meter's error, the
    others by the typical one.
    """
    whole = off = 0.0
    for row in range(GRIST.first, GRIST.last + 1):
        if desk.read(GRISTS, row, GRIST.at["batch"]) == batch:
            kg, buffering, own = (
                desk.read(GRISTS, row, GRIST.at[key])
                for key in ("weight", "buffering_used", "own_ph")
            )
            whole += kg * buffering
            off += kg * buffering * (0.25 if own is None else 2 * desk.named("Error_ph"))
    return off / whole


def read_mash(desk, ph: float) -> None:
    """Type the pH that was read in the mash of the export."""
    row = [of_batch["batch"] for of_batch in scenario.READINGS].index("0215 Export")
    desk.type(readings.NAME, readings.FIRST + row, readings.COLUMN["mash_ph"], ph)


@pytest.fixture(autouse=True)
def export(desk):
    """The batch of the day is the export."""
    desk.enter("Day_batch", "0215 Export")
    desk.work_out()


def remark(desk) -> str:
    return desk.named("Mash_remark")


@pytest.mark.parametrize("offset", range(len(scenario.MASHES)), ids=NAMES)
def test_every_mash_is_what_the_functions_say_of_the_whole_grist(desk, offset):
    given = mash_of(desk, offset)
    assert len(given[0]) == len(scenario.MASHES[offset].grist)
    assert planned(desk, offset, "plain") == pytest.approx(call("MASH_PH", *given), rel=1e-9)
    error = malts_error(desk, planned(desk, offset, "batch"))
    for key, called in (("low", "MASH_PH_LOWEST"), ("high", "MASH_PH_HIGHEST")):
        assert planned(desk, offset, key) == pytest.approx(
            call(called, *given, 0, "lactic", 80, error), rel=1e-9
        )
    shelf = next((a for a in scenario.ACIDS if a.label == scenario.MASHES[offset].acid), None)
    target = scenario.MASHES[offset].target_ph or 5.25
    if shelf is None:
        assert planned(desk, offset, "dose") == ""
    else:
        dose = call("MASH_ACID_DOSE", *given, target, shelf.acid, shelf.strength)
        assert planned(desk, offset, "dose") == pytest.approx(dose, rel=1e-9)
        assert planned(desk, offset, "cost") == pytest.approx(
            dose / 1000 / shelf.pack * shelf.price, rel=1e-9
        )


def test_the_mash_shown_is_that_of_the_batch_chosen(desk):
    given = mash_of(desk, EXPORT)
    names = ("Mash_plain", "Mash_low", "Mash_high")
    assert [desk.named(name) for name in names] == pytest.approx(
        [call(name, *given) for name in ("MASH_PH", "MASH_PH_LOWEST", "MASH_PH_HIGHEST")], rel=1e-9
    )
    dose = call("MASH_ACID_DOSE", *given, 5.25, "lactic", 80)
    assert desk.named("Mash_dose") == pytest.approx(dose, rel=1e-9)
    assert desk.named("Mash_after") == pytest.approx(5.25, abs=1e-6)
    assert desk.named("Mash_acid_malt") == pytest.approx(
        call("ACID_MALT_MASS", *given, 5.25, 2), rel=1e-9
    )
    then = [
        call(name, *given, 330, "lactic", 80)
        for name in ("MASH_PH", "MASH_PH_LOWEST", "MASH_PH_HIGHEST")
    ]
    assert [
        desk.named(name) for name in ("Mash_then", "Mash_then_low", "Mash_then_high")
    ] == pytest.approx(then, rel=1e-9)


def test_a_dosed_mash_reads_lower_until_the_gas_of_its_liquor_has_left(desk):
    grist, litres, alkalinity, ions = mash_of(desk, PALE)
    dose = planned(desk, PALE, "dose")
    # of the closed liquor at the mash's pH this is still bicarbonate, which has taken no acid from
    # the malt
    alone = alkalinity, 7.5, 5.25, litres, "hydrochloric", 31, ions
    kept = call("BICARBONATE_AFTER_ACID", *alone[:2], call("ACID_DOSE", *alone), *alone[3:])
    kept *= 50.04 / 61.02  # mg/L as CaCO3
    shelf = next(a for a in scenario.ACIDS if a.label == scenario.MASHES[PALE].acid)
    acid = dose, shelf.acid, shelf.strength
    mixed = call("MASH_PH", grist, litres, alkalinity - kept, ions, *acid)
    assert planned(desk, PALE, "mixed") == pytest.approx(mixed, abs=0.001) != 5.25
    assert planned(desk, PALE, "climbs") == pytest.approx(5.25, abs=1e-6)
    desk.enter("Day_batch", NAMES[PALE])
    desk.work_out()
    assert desk.named("Mash_mixed") == planned(desk, PALE, "mixed") < desk.named("Mash_after")


def test_going_back_to_a_batch_shows_it_as_it_was(desk):
    names = ("Mash_dose", "Mash_plain", "Mash_after_low", "Mash_anion", "Mash_acid_malt")
    before = [desk.named(name) for name in names]
    doses = [planned(desk, offset, "dose") for offset in range(len(NAMES))]
    for offset, batch in enumerate(NAMES):
        desk.enter("Day_batch", batch)
        desk.work_out()
        assert desk.named("Mash_dose") == doses[offset]
        shown = [desk.read(mash.NAME, mash.GRIST.first + row, 0) for row in range(mash.GRIST_ROWS)]
        assert [malt for malt in shown if malt] == [m.malt for m in scenario.MASHES[offset].grist]
    desk.enter("Day_batch", NAMES[EXPORT])
    desk.work_out()
    assert [desk.named(name) for name in names] == before


def test_no_order_of_the_rows_gives_one_batch_the_acid_of_another(desk):
    """Sorted, reversed or shuffled rows of either table: each batch keeps its own figures, and so
    do the needs.
    """

    def by_name() -> dict:
        return {
            planned(desk, row, "batch"): [
                planned(desk, row, key)
                for key in ("plain", "low", "high", "amount", "money", "date")
            ]
            for row in range(len(NAMES))
        }

    def needs() -> list:
        return [
            desk.read(BUY, row, purchasing.NEED.at["need"])
            for row in range(purchasing.FIRST, purchasing.FIRST + len(scenario.ACIDS))
        ]

    figures, bought = by_name(), needs()
    mashes = [planned[:6] for planned in scenario.MASHES]
    malted = [(p.batch, *malt) for p in scenario.MASHES for malt in p.grist]
    for seed in range(3):
        shuffled = random.Random(seed).sample(mashes, len(mashes))
        rows = random.Random(seed).sample(malted, len(malted))
        for offset, row in enumerate(shuffled):
            for column, value in zip(TABLE.inputs, row, strict=True):
                type_mash(desk, offset, column.key, value)
        for offset, row in enumerate(rows):
            for column, value in zip(GRIST.inputs, row, strict=True):
                type_grist(desk, offset, column.key, value)
        desk.work_out()
        assert set(by_name()) == set(figures)
        for batch, had in by_name().items():
            for now, was in zip(had, figures[batch], strict=True):
                figure = isinstance(was, float)
                assert now == (pytest.approx(was, rel=1e-12) if figure else was), batch
        assert needs() == pytest.approx(bought, rel=1e-12)


def test_a_malt_without_a_figure_gives_words_and_no_dose_for_a_part_of_the_grist(desk):
    for key, value, words in (
        ("malt", "from our own maltings", "Choose a malt"),
        ("weight", None, "Give its weight."),
        ("weight", "many", "Its weight is a number"),
        ("weight", -1, "Its weight is a number"),
        ("own_ph", 57, "Its pH in demineralised water is a number"),
        ("own_buffering", "soft", "Its buffering is a number"),
        ("batch", None, "Choose the batch."),
        ("batch", "0215 Exprot", "This batch has no row"),
    ):
        held = desk.read(GRISTS, GRIST.first + MALTS, GRIST.at[key])
        type_grist(desk, MALTS, key, value)
        desk.work_out()
        said = f"Grists, row {GRIST.first + MALTS + 1}: {words}"
        assert planned(desk, EXPORT, "remark").startswith(said), words
        assert [planned(desk, EXPORT, key) for key in ("dose", "ph", "cost")] == ["see remark"] * 3
        assert said in remark(desk) and said in desk.read(PAGE, liquor_plan.REMARK, 0)
        assert desk.named("Mash_dose") == "see remark"
        assert desk.read(BUY, purchasing.FIRST + LACTIC, purchasing.NEED.at["need"]) == "see remark"
        type_grist(desk, MALTS, key, held)
    desk.work_out()
    assert planned(desk, EXPORT, "dose") == pytest.approx(634.13, abs=0.01)


@pytest.mark.parametrize(
    ("limits", "column"), [(malts.PH_LIMITS, 1), (malts.BUFFERING_LIMITS, 2), ((0, grists.MOST), 0)]
)
def test_a_malt_is_refused_where_the_functions_refuse_it(limits, column):
    """The bounds of a row of the grist are those of the functions, which see only the sums."""
    rest = 1000.0, 10.0, ((0.0,) * 5,)

    def said(value: float):
        row = [100.0, 5.5, 45.0]
        row[column] = value
        return str(call("MASH_PH", (tuple(row), (1e5, 5.5, 50.0)), *rest))

    for limit, outside in ((limits[0], -1), (limits[1], 1)):
        assert "Check grist: row 1" in said(limit + outside * 0.01 * max(1, abs(limit)))
        assert "row 1" not in said(limit)


def test_measured_malt_figures_go_before_typical_ones(desk):
    type_grist(desk, MALTS, "malt", "from our own maltings")
    type_grist(desk, MALTS, "own_ph", 5.9)
    type_grist(desk, MALTS, "own_buffering", 38)
    desk.work_out()
    assert desk.read(GRISTS, GRIST.first + MALTS, GRIST.at["remark"]) == "measured figures"
    assert planned(desk, EXPORT, "plain") == pytest.approx(
        call("MASH_PH", *mash_of(desk, EXPORT)), rel=1e-9
    )


def test_the_interval_has_the_errors_of_the_malts_as_they_count_in_the_mash(desk):
    typical = [planned(desk, EXPORT, key) for key in ("low", "high")]
    for row, ph in ((MALTS, 5.75), (MALTS + 1, 5.45), (MALTS + 2, 5.2)):
        before = planned(desk, EXPORT, "high") - planned(desk, EXPORT, "low")
        type_grist(desk, row, "own_ph", ph)
        desk.work_out()
        given, error = mash_of(desk, EXPORT), malts_error(desk, "0215 Export")
        assert planned(desk, EXPORT, "low") == pytest.approx(
            call("MASH_PH_LOWEST", *given, 0, "lactic", 80, error), rel=1e-9
        )
        assert planned(desk, EXPORT, "high") - planned(desk, EXPORT, "low") < before
    assert error == pytest.approx(2 * desk.named("Error_ph"))
    assert typical[0] < planned(desk, EXPORT, "low") < planned(desk, EXPORT, "high") < typical[1]


def test_titrated_malts_bring_their_own_errors(desk):
    at, found = malts.MALTS.at, ("pH", "buffering", "pH_half", "buffering_half")
    trial = [desk.named(f"Malt_trial_{figure}") for figure in found]
    given = scenario.MALT_TRIAL
    columns = [tuple((float(v),) for v in column) for column in zip(*given.readings)]
    bench = *columns, given.grams, given.normality
    assert trial == pytest.approx(
        [*call("MALT_BUFFER", *bench)[0], *call("MALT_BUFFER_ERROR", *bench)[0]], rel=1e-9
    )
    said = desk.named("Malt_trial_says")
    assert said.startswith("Type into this malt's row above: pH 5.74, buffering 44.9, pH ± 0.11, ")
    grist = [malt.malt for malt in scenario.MASHES[EXPORT].grist]
    listed = list(typical_malts())
    for malt, buffering_error in zip(grist, (3, 6, 9)):
        row = malts.MALTS.first + listed.index(malt)
        desk.type(malts.NAME, row, at["ph_error"], 0.1)
        desk.type(malts.NAME, row, at["buffering_error"], buffering_error)
    desk.work_out()
    mash = mash_of(desk, EXPORT)
    whole = sum(kg * buffering for kg, _, buffering in mash[0])
    off = sum(kg * buffering * error for (kg, _, buffering), error in zip(mash[0], (3, 6, 9)))
    for key, called in (("low", "MASH_PH_LOWEST"), ("high", "MASH_PH_HIGHEST")):
        assert planned(desk, EXPORT, key) == pytest.approx(
            call(called, *mash, 0, "lactic", 80, 0.1, off / whole), rel=1e-9
        )
    row = malts.MALTS.first + listed.index(grist[0])
    desk.type(malts.NAME, row, at["buffering_error"], None)
    desk.work_out()
    assert planned(desk, EXPORT, "low") == pytest.approx(
        call("MASH_PH_LOWEST", *mash, 0, "lactic", 80, 0.1), rel=1e-9
    )


def test_what_is_to_be_typed_of_a_titrated_malt_is_no_narrower_than_its_interval(desk):
    trial, wider = malts.TRIAL_READINGS, 0
    for row, (_, read) in enumerate(scenario.MALT_TRIAL.readings):
        desk.type(malts.NAME, trial.first + row, trial.at["ph"], read + 0.013)
        desk.work_out()
        ph, buffering, ph_half, half = (
            desk.named(f"Malt_trial_{of}")
            for of in ("pH", "buffering", "pH_half", "buffering_half")
        )
        said = re.search(
            r" pH (\S+), buffering (\S+), pH ± (\S+), buffering ± (\S+) %,",
            desk.named("Malt_trial_says"),
        )
        own_ph, own_buffering, ph_error, percent = map(float, said.groups())
        assert abs(own_ph - ph) + ph_half <= ph_error < ph_half + 0.02
        share = 100 * (abs(own_buffering - buffering) + half) / own_buffering
        assert share <= percent < share + 1
        wider += round(100 * half / buffering) < percent
        desk.type(malts.NAME, trial.first + row, trial.at["ph"], read)
    assert wider


def test_pounds_are_the_same_grist(desk):
    before = [planned(desk, EXPORT, key) for key in ("plain", "amount", "kg")]
    desk.enter("Malt_weighed_in", "lb")
    for row, malt in enumerate(scenario.MASHES[EXPORT].grist, MALTS):
        type_grist(desk, row, "weight", malt.kg / 0.45359237)
    desk.work_out()
    assert [planned(desk, EXPORT, key) for key in ("plain", "amount", "kg")] == pytest.approx(
        before, rel=1e-12
    )
    assert planned(desk, EXPORT, "grist") == pytest.approx(300 / 0.45359237, rel=1e-12)
    assert desk.read(GRISTS, GRIST.head, GRIST.at["weight"]) == "Weight, lb"


@pytest.mark.parametrize(("volume", "weight"), [("hL", "kg"), ("US bbl", "lb"), ("imp gal", "lb")])
def test_the_unit_of_weight_goes_with_that_of_volume(desk, volume, weight):
    desk.enter("Volume_unit", volume)
    desk.work_out()
    assert desk.named("Mass_unit") == weight


def test_a_unit_of_weight_that_is_none_gives_no_mash(desk):
    desk.enter("Malt_weighed_in", "stone")
    desk.work_out()
    assert "Choose kg or lb" in planned(desk, EXPORT, "remark")
    assert planned(desk, EXPORT, "dose") == "see remark"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("liquor", None, "Check amount: the cell is empty"),
        ("liquor", 900, "outside the 4 to 7"),
        ("water", "Moon", "Choose a water"),
        ("acid", "aqua regia", "Choose an acid"),
        ("target", "5,3", "Type the target pH as a number"),
        ("target", 2.9, "Check target"),
    ],
)
def test_a_bad_cell_of_the_mash_is_named_everywhere(desk, key, value, words):
    type_mash(desk, EXPORT, key, value)
    desk.work_out()
    assert words in planned(desk, EXPORT, "remark")
    assert words in remark(desk)
    assert words in desk.read(PAGE, liquor_plan.REMARK, 0)
    assert planned(desk, EXPORT, "dose") == desk.named("Mash_dose") == "see remark"
    assert desk.read(PAGE, liquor_plan.ACIDS + 3, 3) == ""
    assert desk.read(BUY, purchasing.FIRST + LACTIC, purchasing.NEED.at["need"]) == "see remark"


def test_a_batch_with_two_rows_has_no_dose(desk):
    type_mash(desk, len(NAMES), "batch", NAMES[EXPORT])
    desk.work_out()
    assert planned(desk, EXPORT, "remark").startswith("This batch has two rows here")
    assert planned(desk, EXPORT, "dose") == "see remark"


def test_a_batch_without_a_row_and_a_malt_of_no_mash_are_counted_on_the_plan(desk):
    assert desk.read(MASHES, mash_plan.TOTALS + 1, 5) == "2 of the plan"
    assert desk.read(MASHES, mash_plan.TOTALS + 1, 11) == "no malt"
    type_grist(desk, MALTS, "batch", "0213 Pale")  # of the plan, but without a row here
    desk.work_out()
    assert desk.read(MASHES, mash_plan.TOTALS + 1, 11) == "1 of Grists"
    assert desk.read(GRISTS, GRIST.first + MALTS, GRIST.at["remark"]).startswith(
        "This batch has no"
    )
    desk.enter("Day_batch", "0213 Pale")
    desk.work_out()
    assert "no row on the sheet Mash plan" in remark(desk)


def test_a_mash_of_no_batch_of_the_plan_has_no_date_to_buy_for(desk):
    type_mash(desk, EXPORT, "batch", "0299 Trial")
    type_mash(desk, EXPORT, "water", "Town main")
    for row in range(3):
        type_grist(desk, MALTS + row, "batch", "0299 Trial")
    desk.work_out()
    assert isinstance(planned(desk, EXPORT, "dose"), float)
    assert "its acid has no date" in planned(desk, EXPORT, "remark")
    assert desk.read(BUY, purchasing.FIRST + LACTIC, purchasing.NEED.at["need"]) == "see remark"


def test_a_powder_in_the_mash_is_weighed(desk):
    type_mash(desk, EXPORT, "acid", "Citric powder")
    desk.work_out()
    ml = call("MASH_ACID_DOSE", *mash_of(desk, EXPORT), 5.25, "citric", 50)
    assert desk.named("Mash_dose") == pytest.approx(
        call("ACID_MASS", ml, "citric", 50) * 50 / 100, rel=1e-9
    )
    assert planned(desk, EXPORT, "unit") == desk.named("Mash_unit") == "g"


def test_the_mash_acid_of_every_batch_is_bought(desk):
    def need() -> float:
        return desk.read(BUY, purchasing.FIRST + LACTIC, purchasing.NEED.at["need"])

    label = scenario.ACIDS[LACTIC].label
    sparge = sum(
        desk.answer("amount", i) for i, batch in enumerate(scenario.BATCHES) if batch.acid == label
    )
    mashed = [i for i, p in enumerate(scenario.MASHES) if p.acid == label]
    assert len(mashed) > 2
    whole = sparge + sum(planned(desk, i, "amount") for i in mashed)
    assert need() == pytest.approx(whole * 1.03, rel=1e-9)
    type_mash(desk, PALE, "acid", label)
    desk.work_out()
    whole += planned(desk, PALE, "amount")
    assert need() == pytest.approx(whole * 1.03, rel=1e-9)


def test_a_mash_without_acid_needs_none_and_one_at_its_target_none_either(desk):
    type_mash(desk, EXPORT, "acid", None)
    type_mash(desk, EXPORT, "target", 6.5)
    desk.work_out()
    assert planned(desk, EXPORT, "dose") == ""
    assert "below without any acid" in planned(desk, EXPORT, "remark")
    type_mash(desk, EXPORT, "acid", "Lactic 80 can")
    desk.work_out()
    assert planned(desk, EXPORT, "dose") == 0


def test_a_reading_as_predicted_leaves_the_rest_of_the_plan(desk):
    read_mash(desk, desk.named("Mash_then"))
    desk.work_out()
    assert desk.named("Mash_more") == pytest.approx(desk.named("Mash_dose") - 330, rel=1e-6)
    read_mash(desk, 5.2)
    desk.work_out()
    assert desk.named("Mash_more") == "no more"


def test_a_reading_outside_the_interval_is_said(desk):
    assert "within what was predicted" in remark(desk)
    read_mash(desk, 5.9)
    desk.work_out()
    assert "outside what was predicted" in remark(desk)


@pytest.mark.parametrize(
    ("read", "words"), [(5.43, "as predicted"), (5.60, "0.1 above"), (5.20, "0.3 below")]
)
def test_a_mash_reading_is_compared_no_closer_than_the_prediction_is_shown(desk, read, words):
    read_mash(desk, read)
    desk.work_out()
    assert desk.named("Mash_missed") == words


def test_each_malt_stands_with_its_source(desk):
    for row, (name, malt) in enumerate(typical_malts().items(), malts.MALTS.first):
        at = malts.MALTS.at
        shown = [
            desk.read(malts.NAME, row, at[key])
            for key in ("malt", "ph", "buffering", "source", "note")
        ]
        assert shown == [name, malt.ph, malt.buffering, malt.source, malt.note or None]
