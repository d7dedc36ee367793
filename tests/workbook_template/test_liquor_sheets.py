"""The sheets before and around the sparge: blend and salts, mash, and the liquor plan of a
batch.
"""

from __future__ import annotations

from xml.etree import ElementTree
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from chemcore.salts import salt_names
from chemcore.units import litres_per_unit
from tests.workbook_template.test_sparge_day import type_reading
from udfs import call
from workbook_template.template import scenario
from workbook_template.template.build import TEMPLATE
from workbook_template.template.sheets import (
    batch_plan,
    blend_salts,
    last_runnings,
    liquor_plan,
    log,
    mash_plan,
    settings,
    sparge_day,
    water,
)

MIX, MASHES, PAGE, WATER, LOG = (
    sheet.NAME for sheet in (blend_salts, mash_plan, liquor_plan, water, log)
)
EXPORT = next(i for i, batch in enumerate(scenario.BATCHES) if batch.water == MIX)
TOWN = next(source for source in scenario.WATERS if source.name == "Town main")
TOWN_IONS = (TOWN.calcium, TOWN.magnesium, TOWN.sodium, TOWN.chloride, TOWN.sulfate)


@pytest.fixture(autouse=True)
def export(desk):
    """The batch of the day is the export, whose liquor is the blend."""
    desk.enter("Day_batch", scenario.BATCHES[EXPORT].name)
    desk.work_out()


def type_mash(desk, key: str, value) -> None:
    """Type into the mash of the export."""
    table = mash_plan.MASHES
    offset = [planned.batch for planned in scenario.MASHES].index(scenario.BATCHES[EXPORT].name)
    desk.type(MASHES, table.first + offset, table.at[key], value)


def salt_row(name: str) -> int:
    return blend_salts.SALT_FIRST + salt_names().index(name)


def ions_of(desk, row: int) -> list:
    return [desk.read(MIX, row, blend_salts.IONS + i) for i in range(5)]


def blend_remark(desk) -> str:
    return desk.read(MIX, blend_salts.REMARK, 0)


def test_the_blend_is_what_the_functions_say(desk):
    litres = ((1200.0,), (800.0,))
    ions = call("BLEND_IONS", litres, (TOWN_IONS, (0.0,) * 5))[0]
    assert ions_of(desk, blend_salts.BLEND) == pytest.approx(ions, rel=1e-9)
    assert desk.read(MIX, blend_salts.BLEND, blend_salts.PH) == pytest.approx(
        call("BLEND_PH", litres, ((TOWN.alkalinity,), (0.0,)), ((TOWN.ph,), (7.0,))), rel=1e-9
    )
    salted = list(ions)
    for name, grams in scenario.BLEND.salts.items():
        salted = [
            had + more for had, more in zip(salted, call("SALT_IONS", name, grams, 2000.0)[0])
        ]
    assert ions_of(desk, blend_salts.LIQUOR) == pytest.approx(salted, rel=1e-9)
    assert [desk.read(WATER, water.BLEND, 2 + i) for i in range(5)] == pytest.approx(
        salted, rel=1e-9
    )


def test_a_batch_can_choose_the_blend_as_its_water(desk):
    ions = (tuple(ions_of(desk, blend_salts.LIQUOR)),)
    liquor = desk.named("Mix_alkalinity"), desk.named("Mix_pH")
    dose = call("ACID_DOSE", *liquor, 5.7, desk.answer("litres", EXPORT), "hydrochloric", 31, ions)
    assert desk.answer("ml", EXPORT) == pytest.approx(dose, rel=1e-9)
    assert desk.answer("remark", EXPORT).startswith("No calcium phosphate can drop")


def test_the_blend_says_what_its_dose_reads_once_mixed_and_once_gas_has_left(desk):
    desk.type(MIX, blend_salts.ACID, 1, "Phosphoric 85 can")
    desk.enter("Tank_kept", "vented, recirculated")
    desk.work_out()
    said = desk.read(MIX, blend_salts.AFTER, blend_salts.NOTE)
    reads = [
        call(
            "PH_AFTER_ACID",
            *(desk.named(f"Mix_{of}") for of in ("alkalinity", "pH", "ml", "litres")),
            "phosphoric",
            85,
            (tuple(ions_of(desk, blend_salts.LIQUOR)),),
            20,
            lost,
        )
        for lost in (0, 0.5)
    ]
    assert said == "pH {:.2f} right after mixing; can climb to {:.2f} as gas leaves.".format(*reads)


@pytest.mark.parametrize(
    ("acid", "name", "column"),
    [("Hydrochloric 31 can", "chloride", 6), ("Phosphoric 85 can", "phosphate as PO4", None)],
)
def test_the_acids_anion_counts_in_the_profile(desk, acid, name, column):
    desk.type(MIX, blend_salts.ACID, 1, acid)
    desk.work_out()
    before, after = ions_of(desk, blend_salts.LIQUOR), ions_of(desk, blend_salts.AFTER)
    assert name in desk.read(MIX, blend_salts.BROUGHT, blend_salts.NOTE)
    for i, (had, has) in enumerate(zip(before, after), blend_salts.IONS):
        assert has - had == pytest.approx(desk.named("Mix_anion") if i == column else 0, abs=1e-9)
    assert desk.named("Mix_ratio") == pytest.approx(after[4] / after[3], rel=1e-9)
    assert desk.read(MIX, blend_salts.LESS, blend_salts.IONS) == pytest.approx(
        after[0] - scenario.BLEND.profile[0], rel=1e-9
    )


def test_lime_raises_the_pH_and_softens_where_it_settles(desk):
    row = salt_row("slaked lime")
    liquor = desk.named("Mix_alkalinity"), desk.named("Mix_pH")
    before = (
        *liquor,
        "slaked lime",
        150.0,
        2000.0,
        100.0,
        (tuple(ions_of(desk, blend_salts.LIQUOR)),),
    )
    desk.type(MIX, row, 1, 150)
    desk.work_out()
    assert desk.named("Mix_pH") == pytest.approx(call("PH_AFTER_SALT", *before), rel=1e-9)
    assert "Caustic" in desk.read(MIX, row, blend_salts.NOTE)
    clear, calcium = desk.named("Mix_alkalinity"), ions_of(desk, blend_salts.LIQUOR)[0]
    desk.type(MIX, blend_salts.FIGURES + 3, 1, 1)
    desk.work_out()
    fallen = clear - desk.named("Mix_alkalinity")
    assert fallen > 20
    assert calcium - ions_of(desk, blend_salts.LIQUOR)[0] == pytest.approx(
        0.4004 * fallen, rel=1e-3
    )


@pytest.mark.parametrize("grams", [None, 150])
def test_lime_is_called_caustic_with_and_without_a_weight(desk, grams):
    desk.type(MIX, salt_row("slaked lime"), 1, grams)
    desk.work_out()
    note = desk.read(MIX, salt_row("slaked lime"), blend_salts.NOTE)
    assert "Caustic" in note and ("g adds 10 mg/L alkalinity." in note) == (grams is None)


def test_chalk_that_does_not_dissolve_is_named_and_not_counted(desk):
    row = salt_row("chalk")
    desk.type(MIX, blend_salts.FIRST, 1, 1)
    desk.type(MIX, row, 1, 1000)
    desk.work_out()
    brought = desk.read(MIX, row, blend_salts.ALKALINITY)
    assert 1 < brought < 100  # 1000 g in 900 L would bring 1110 mg/L
    assert "stay undissolved" in desk.read(MIX, row, blend_salts.NOTE)
    assert desk.read(MIX, row, blend_salts.IONS) == pytest.approx(
        0.4004 * brought, rel=1e-3, abs=1e-9
    )


@pytest.mark.parametrize(
    ("row", "column", "value", "words"),
    [
        (blend_salts.FIRST, 1, "12 hl", "Check amount"),
        (blend_salts.FIRST, 1, None, "Check amount: the cell is empty"),
        (blend_salts.FIRST, 0, "Moon", "Choose a water"),
        (blend_salts.DEMINERALISED, 1, -1, "Check amount: -1"),
        (blend_salts.SALT_FIRST, 1, "much", "Check grams"),
        (blend_salts.SALT_FIRST, 2, 0.99, "Check strength: 0.99"),
        (blend_salts.SALT_FIRST, 1, 1e5, "more than 20 g/L"),
    ],
)
def test_a_bad_cell_of_the_blend_is_named_and_the_batch_gets_no_dose(
    desk, row, column, value, words
):
    desk.type(MIX, row, column, value)
    desk.work_out()
    assert words in desk.read(MIX, row, blend_salts.NOTE)
    assert words in blend_remark(desk)
    assert desk.read(MIX, blend_salts.LIQUOR, blend_salts.ALKALINITY) == "see remark"
    assert desk.answer("ml", EXPORT) == "see remark"
    assert "Blend and salts" in desk.answer("remark", EXPORT)
    assert desk.total(6) == f"row {batch_plan.FIRST + EXPORT + 1}: see remark"


def test_a_source_without_ions_cannot_be_blended(desk):
    for column in range(2, 7):
        desk.type(WATER, water.FIRST, column, None)
    desk.work_out()
    assert blend_remark(desk).startswith("Give the five ions")


def test_without_a_blend_the_water_has_no_row(desk):
    for row in (blend_salts.FIRST, blend_salts.DEMINERALISED):
        for column in (0, 1) if row == blend_salts.FIRST else (1,):
            desk.type(MIX, row, column, None)
    desk.work_out()
    assert desk.read(WATER, water.BLEND, 0) == ""
    assert blend_remark(desk).startswith("No blend yet")
    assert desk.answer("remark", EXPORT).startswith("Choose a water")


def test_scale_is_named(desk):
    desk.type(MIX, blend_salts.DEMINERALISED, 1, None)
    desk.type(MIX, blend_salts.FIRST, 0, "Yard well")
    desk.work_out()
    assert desk.named("Mix_scale") > 50
    assert "Scale will fall" in blend_remark(desk)


def test_the_page_adds_up(desk):
    volumes = [desk.read(PAGE, liquor_plan.VOLUMES + 1, column) for column in (1, 2, 3)]
    assert volumes[2] == pytest.approx(volumes[0] + volumes[1], rel=1e-12)
    assert volumes[1] == pytest.approx(desk.answer("litres", EXPORT), rel=1e-12)
    sources = [desk.read(PAGE, liquor_plan.SOURCES + i, 1) for i in range(4)]
    assert sum(x for x in sources if x != "") == pytest.approx(volumes[0], rel=1e-12)
    assert desk.read(PAGE, liquor_plan.SALTS, 0).strip() == "gypsum, g"
    assert desk.read(PAGE, liquor_plan.SALTS, 3) == pytest.approx(
        400 * volumes[2] / 2000, rel=1e-12
    )
    costs = [desk.read(PAGE, liquor_plan.ACIDS + 3, column) for column in (1, 2, 3)]
    assert costs[2] == pytest.approx(costs[0] + costs[1], rel=1e-12)
    chloride = [desk.read(PAGE, liquor_plan.ANION_HEAD + 1, column) for column in (1, 2, 3)]
    assert chloride[1] == pytest.approx(
        ions_of(desk, blend_salts.LIQUOR)[3] + desk.answer("anion", EXPORT), rel=1e-9
    )
    assert chloride[2] == pytest.approx(
        (chloride[0] * volumes[0] + chloride[1] * volumes[1]) / volumes[2], rel=1e-12
    )
    lactate = desk.read(PAGE, liquor_plan.ANION_HEAD + 4, 1)
    assert lactate == pytest.approx(
        call("ACID_ANION", desk.named("Mash_amount"), 900, "lactic", 80), rel=1e-9
    )


def test_the_page_says_what_is_predicted_and_what_is_usual(desk):
    words = [desk.read(PAGE, liquor_plan.PH_FIRST + i, 5) for i in range(liquor_plan.STEPS)]
    assert ["predicted" in text for text in words] == [
        False,
        True,
        True,
        True,
        False,
        False,
        False,
        False,
    ]
    assert all("common practice, no source" in text for text in words[5:])
    expected = [desk.read(PAGE, liquor_plan.PH_FIRST + i, 1) for i in range(liquor_plan.STEPS)]
    assert expected == pytest.approx(
        [7.5, desk.named("Mix_unsalted_pH"), desk.named("Mix_pH"), 5.25, 5.7, 5.7, 5.3, 4.2],
        abs=1e-6,
    )


def test_the_page_says_what_the_tank_reads_once_mixed_and_once_gas_has_left(desk):
    """As the plan says it of the same batch, in an open tank too."""
    chosen = next(i for i, b in enumerate(scenario.BATCHES) if b.name == desk.named("Day_batch"))
    for kept in (tank.kept for tank in settings.TANKS[:-1]):
        desk.enter("Tank_kept", kept)
        desk.work_out()
        row = liquor_plan.PH_FIRST + [step.step for step in liquor_plan.PH_STEPS].index("Sparge")
        ends = [desk.answer(key, chosen) for key in ("mixed", "climbs")]
        assert [desk.read(PAGE, row, column) for column in (2, 3)] == pytest.approx(ends, abs=1e-9)


def test_the_page_takes_readings_from_the_log_and_those_of_the_day_first(desk):
    row = log.FIRST + len(scenario.LOG)
    desk.type(LOG, row, log.COLUMN["batch"], scenario.BATCHES[EXPORT].name)
    for key, value in (
        ("before", 7.5),
        ("dose", 170),
        ("after", 5.72),
        ("kettle", 5.31),
        ("beer", 4.25),
    ):
        desk.type(LOG, row, log.COLUMN[key], value)
    of_export = [one["batch"] for one in scenario.READINGS].index(scenario.BATCHES[EXPORT].name)
    type_reading(desk, "kettle_ph", 5.28, of_export)
    desk.work_out()
    assert [desk.read(PAGE, liquor_plan.PH_FIRST + i, 4) for i in range(3, 8)] == [
        5.43,
        5.72,
        "",
        5.28,
        4.25,
    ]
    assert desk.read(LOG, row, log.COLUMN["planned"]) == pytest.approx(
        desk.answer("ml", EXPORT), rel=0.02
    )
    assert desk.read(LOG, row, log.COLUMN["remark"]) == ""


def test_a_blend_that_is_short_is_named(desk):
    type_mash(desk, "liquor", 12)
    desk.work_out()
    assert "L short of both liquors" in desk.read(PAGE, liquor_plan.REMARK, 0)


def test_without_a_batch_the_page_says_so(desk):
    desk.enter("Day_batch", None)
    desk.work_out()
    assert desk.read(PAGE, liquor_plan.REMARK, 0).startswith("Choose a batch")
    assert desk.read(PAGE, liquor_plan.VOLUMES + 1, 3) == ""
    assert desk.read(PAGE, liquor_plan.CAUTIONS, 0).startswith("Wear ")


def test_every_batch_can_be_put_on_the_page(desk):
    for batch in scenario.BATCHES:
        desk.enter("Day_batch", batch.name)
        desk.work_out()
        assert desk.read(PAGE, liquor_plan.VOLUMES, 2) == batch.water
        if batch.name in (planned.batch for planned in scenario.MASHES):
            assert isinstance(desk.read(PAGE, liquor_plan.ACIDS + 3, 3), float), batch.name


def test_barrels_and_fahrenheit_give_the_same_liquors(desk):
    names = ("Mix_alkalinity", "Mix_pH", "Mash_litres", "Mash_amount")
    metric = {name: desk.named(name) for name in names}
    desk.type(settings.NAME, 4, 1, "US bbl")
    desk.type(settings.NAME, 5, 1, "°F")
    each = litres_per_unit("US bbl")
    for row, litres in ((blend_salts.FIRST, 1200), (blend_salts.DEMINERALISED, 800)):
        desk.type(MIX, row, 1, litres / each)
    type_mash(desk, "liquor", 900 / each)
    desk.enter("Malt_weighed_in", "kg")
    desk.work_out()
    assert {name: desk.named(name) for name in names} == pytest.approx(metric, rel=1e-9)
    table = mash_plan.MASHES
    assert desk.read(MASHES, table.head, table.at["liquor"]) == "Mash liquor, US bbl"


def test_the_bench_takes_the_tank_from_the_plan_unless_it_is_typed(desk):
    assert desk.named("Bench_litres") == pytest.approx(desk.answer("litres"), rel=1e-12)
    desk.enter("Bench_own_volume", 5)
    desk.enter("Bench_own_acid", "Lactic 80 can")
    desk.work_out()
    assert (desk.named("Bench_litres"), desk.named("Bench_acid")) == (500, "Lactic 80 can")
    assert isinstance(desk.named("Bench_curve_dose"), float)


def test_the_waters_of_the_page_stand_together(desk):
    assert [desk.read(PAGE, liquor_plan.SOURCES + i, 0).strip() for i in range(4)] == [
        "Town main",
        "Demineralised water",
        "",
        "",
    ]
    desk.type(MIX, blend_salts.FIRST + 2, 0, "Yard well")
    desk.type(MIX, blend_salts.FIRST + 2, 1, 2)
    desk.work_out()
    assert [desk.read(PAGE, liquor_plan.SOURCES + i, 0).strip() for i in range(4)] == [
        "Town main",
        "Yard well",
        "Demineralised water",
        "",
    ]
    litres = [desk.read(PAGE, liquor_plan.SOURCES + i, 1) for i in range(3)]
    assert litres == pytest.approx([900 * part / 22 for part in (12, 2, 8)], rel=1e-12)


def test_a_tasted_anion_comes_with_what_to_do(desk):
    lactate = liquor_plan.ANION_HEAD + 1 + liquor_plan.ANIONS.index("lactate")
    assert desk.read(PAGE, lactate, 5) == "nearly tasted: use less lactic, or split with phosphoric"
    desk.enter("Lactate_taste", 300)
    desk.work_out()
    assert desk.read(PAGE, lactate, 5).startswith("tasted: use less lactic")


def test_the_cautions_stand_below_the_doses():
    assert liquor_plan.ACIDS + 4 < liquor_plan.CAUTIONS < liquor_plan.PH_HEAD


@pytest.mark.parametrize("sheet", [sparge_day, last_runnings, liquor_plan, log])
def test_no_chart_covers_a_text(sheet):
    """Rows without a height of their own count as the lower ones that LibreOffice gives them."""
    page = load_workbook(TEMPLATE)[sheet.NAME]
    assert page._charts
    for chart in page._charts:
        start, end = chart.anchor._from, chart.anchor.to
        height = (
            sum(page.row_dimensions[row + 1].height or 15 for row in range(start.row, end.row))
            + end.rowOff / 12700
        )
        row, left = start.row, height
        while left > 0:
            left -= page.row_dimensions[row + 1].height or 12.8
            row += 1
        covered = page.iter_rows(start.row + 1, row, start.col + 1, end.col + 1)
        assert [cell.coordinate for cells in covered for cell in cells if cell.value] == []


def test_a_step_without_a_figure_is_not_drawn_as_one():
    """Programs draw a text as 0: no line of a chart over steps may run there, and its axis begins
    above it.
    """
    space = {
        "c": "http://schemas.openxmlformats.org/drawingml/2006/chart",
        "a": "http://schemas.openxmlformats.org/drawingml/2006/main",
    }
    found = 0
    with ZipFile(TEMPLATE) as book:
        for part in book.namelist():
            if not part.startswith("xl/charts/chart"):
                continue
            for chart in ElementTree.fromstring(book.read(part)).iter(f"{{{space['c']}}}plotArea"):
                for drawn in chart.findall("c:lineChart", space):
                    found += 1
                    floor = chart.find("c:valAx/c:scaling/c:min", space)
                    assert float(floor.get("val")) > 0
                    for series in drawn.findall("c:ser", space):
                        assert series.find("c:spPr/a:ln/a:noFill", space) is not None
    assert found
