"""The functions of the brewer's day, called as cells call them."""

import subprocess
import sys

import pytest

from udfs import CATALOGUE, call


def column(*values):
    return tuple((value,) for value in values)


ML = column(0.0, 2.0, 4.0, 6.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0)
PH = column(7.6, 6.95, 6.5, 6.15, 5.7, 5.3, 4.4, 3.75, 3.45, 3.3, 3.15)
LITRES, RUN_PH, PLATO = (
    column(0.0, 200.0, 400.0, 600.0),
    column(5.3, None, 5.7, 6.2),
    column(16.0, 9.0, "", 1.2),
)
LOG = (
    column(7.6, 7.5, 7.7),
    column(5.7, 5.8, 5.6),
    column(85.0, 80.0, 90.0),
    column(1000.0, 1000.0, 1000.0),
    "phosphoric",
)
GOOD = {
    "TITRATION_ALKALINITY": (ML, PH, 100.0, 0.02),
    "TITRATION_ERROR": (ML, PH, 100.0, 0.02),
    "TITRATION_HALF_WIDTH": (ML, PH, 100.0, 0.02),
    "TITRATION_ODD_BY": (ML, PH, 100.0, 0.02),
    "TITRATION_ODD_READING": (ML, PH, 100.0, 0.02),
    "END_POINT_ML": (ML, PH, 100.0, 0.02, "end point", 4.5),
    "GRAN_VALUE": (12.0, 3.45, 100.0),
    "GRAN_LINE": (ML, PH, 100.0, 0.02, 12.0),
    "TITRATION_PH": (ML, PH, 5.0),
    "TITRATION_DOSE": (ML, PH, 100.0, 0.02, 5.7, 1000.0, "phosphoric", 85.0),
    "TITRATION_DOSE_LOW": (ML, PH, 100.0, 0.02, 5.7, 1000.0, "phosphoric", 85.0),
    "TITRATION_DOSE_HIGH": (ML, PH, 100.0, 0.02, 5.7, 1000.0, "phosphoric", 85.0),
    "ELECTRODE_SLOPE": (7.02, 4.1),
    "CORRECTED_PH": (5.7, 7.02, 4.1),
    "DILUTE_NORMALITY": ("phosphoric", 85.0, 2.0, 1000.0),
    "ACID_DOSE_LOW": (150.0, 7.6, 5.7, 1000.0, "phosphoric"),
    "ACID_DOSE_HIGH": (150.0, 7.6, 5.7, 1000.0, "phosphoric"),
    "PLATO": (1.048,),
    "GRAVITY_SG": (12.0,),
    "RUNOFF_CUTOFF": (LITRES, RUN_PH, PLATO, 5.7, 2.5),
    "RUNOFF_REASON": (LITRES, RUN_PH, PLATO, 5.7, 2.5),
    "KETTLE_TOP_UP": (900.0, 1000.0),
    "PLATO_AFTER_TOP_UP": (900.0, 12.0, 100.0),
    "BOIL_MINUTES": (1000.0, 11.0, 12.0, 80.0),
    "PLATO_AFTER_BOIL": (1000.0, 11.0, 60.0, 80.0),
    "LITRES_AFTER_BOIL": (1000.0, 11.0, 60.0, 80.0),
    "DEXTROSE_MASS": (1000.0, 11.0, 12.0),
    "EFFECTIVE_ALKALINITY": LOG,
    "EFFECTIVE_ALKALINITY_SPREAD": LOG,
    "SLOPE_LOW": (column(5.5, 5.7, None, 6.0), column(4.2, 4.3, 4.4, 4.35)),
    "SLOPE_HIGH": (column(5.5, 5.7, None, 6.0), column(4.2, 4.3, 4.4, 4.35)),
    "ACID_NEEDED": (column(200.0, None, 300.0), 5.0),
    "PACKS_TO_BUY": (525.0, 100.0, 1.0),
    "BATCHES_LEFT": (1000.0, 250.0),
    "COST_PER_HL": (250.0, 5.0, 60.0, 1500.0),
    "PRICE_PER_EQUIVALENT": (5.0, 60.0, "lactic", 88.0, 5.7),
}
OURS = {"Titration", "Last runnings", "Kettle", "Past batches", "Purchasing"}
BAD = [
    None,
    "",
    "abc",
    True,
    -1.0,
    1e300,
    float("nan"),
    "#N/A",
    column("pH", 5.0, 4.0),
    column(1.0, 2.0),
    ((1.0, 2.0), (3.0, 4.0)),
    column(None, None, None),
]


def test_every_function_is_tried():
    assert {name for name, entry in CATALOGUE.items() if entry.category in OURS} <= GOOD.keys()


@pytest.mark.parametrize("name", GOOD)
def test_answers_a_number_or_a_text(name):
    found = call(name, *GOOD[name])
    assert isinstance(found, str if name == "RUNOFF_REASON" else float), found
    assert not str(found).startswith("Check")


@pytest.mark.parametrize("name", GOOD)
def test_bad_cells_get_a_sentence(name):
    cells = GOOD[name]
    for i in range(len(cells)):
        for bad in BAD:
            found = call(name, *cells[:i], bad, *cells[i + 1 :])
            flat = [cell for row in found for cell in row] if isinstance(found, tuple) else [found]
            for answer in flat:
                assert (
                    isinstance(answer, float)
                    or answer == "#N/A"
                    or answer.startswith("Check ")
                    or (name == "RUNOFF_REASON")
                ), (i, bad, answer)
                assert "please report" not in str(answer), (i, bad, answer)
        if CATALOGUE[name].arguments[i].required:
            assert str(call(name, *cells[:i], None, *cells[i + 1 :])).startswith("Check "), i
        assert call(name, *cells[:i], "#N/A", *cells[i + 1 :]) == "#N/A"


@pytest.mark.parametrize(
    "name, cells, sentence",
    [
        (
            "TITRATION_ALKALINITY",
            (column("mL", *range(10)), PH, 100.0, 0.02),
            (
                'Check ml: row 1 of the range: "mL" is not a number; leave headings out and missing'
                " readings blank"
            ),
        ),
        (
            "TITRATION_ALKALINITY",
            (ML[:-1], PH, 100.0, 0.02),
            (
                "Check phs: its range has 11 cells but that of ml has 10; give ranges of the same"
                " length"
            ),
        ),
        (
            "TITRATION_ALKALINITY",
            (ML, PH, 100.0, 0.02, "guess"),
            (
                'Check method: "guess" is not a method known here; use one of Gran, inflection, end'
                " point"
            ),
        ),
        (
            "TITRATION_DOSE",
            (ML, PH, 100.0, 0.02, 3.0, 1000.0, "lactic"),
            "Check target_ph: the curve ends at pH 3.15, above 3; titrate further",
        ),
        (
            "RUNOFF_CUTOFF",
            (column(0.0, "ca. 200"), column(5.3, 5.4), column(16.0, 9.0), 5.7, 2.5),
            (
                'Check litres: row 2 of the range: "ca. 200" is not a number; leave headings out'
                " and missing readings blank"
            ),
        ),
        (
            "ACID_NEEDED",
            (column(200.0, "Check ph: x"), 5.0),
            "Check ph: x",
        ),  # the sentence of a formula in the range comes back as it is
        (
            "KETTLE_TOP_UP",
            (1000.0, 900.0),
            (
                "Check target_litres: 900 L is less than the 1000 L in the kettle; there is nothing"
                " to top up"
            ),
        ),
        (
            "DILUTE_NORMALITY",
            ("phosphoric", 85.0, 20.0, 10.0),
            "Check ml_total: 10 mL is less than the 20 mL of acid in it",
        ),
        (
            "EFFECTIVE_ALKALINITY",
            (*LOG[:4], column("phosphoric", "vinegar", "lactic")),
            (
                'Check acid: row 2 of the range: "vinegar" is not an acid known here; use one of'
                " phosphoric, lactic, hydrochloric, sulfuric, citric, acetic, malic"
            ),
        ),
        (
            "EFFECTIVE_ALKALINITY",
            (*LOG[:4], column("phosphoric", 85.0, "y" * 5000)),
            (
                "Check acid: row 2 of the range: 85 is not a name; type one of phosphoric, lactic,"
                " hydrochloric, sulfuric, citric, acetic, malic"
            ),
        ),
        (
            "EFFECTIVE_ALKALINITY",
            (*LOG[:4], "y" * 5000),
            (
                f'Check acid: cell 1 of the range: "{"y" * 40} ..." is not a name; type one of'
                " phosphoric, lactic, hydrochloric, sulfuric, citric, acetic, malic"
            ),
        ),
    ],
)
def test_sentences(name, cells, sentence):
    assert call(name, *cells) == sentence


def test_a_curve_goes_with_a_column_of_targets():
    targets = column(6.2, 5.7, 9.0)
    found = call("TITRATION_DOSE", ML, PH, 100.0, 0.02, targets, 1000.0, "phosphoric")
    assert found[0][0] == call("TITRATION_DOSE", ML, PH, 100.0, 0.02, 6.2, 1000.0, "phosphoric")
    assert found[1][0] > found[0][0]
    assert found[2][0].startswith("Check target_ph: 9 is above the first reading")


def test_a_row_serves_as_a_column():
    across = tuple(zip(*ML)), tuple(zip(*PH))
    assert call("TITRATION_ALKALINITY", *across, 100.0, 0.02) == call(
        "TITRATION_ALKALINITY", ML, PH, 100.0, 0.02
    )


def test_help_fits_the_function_wizards():
    for entry in CATALOGUE.values():
        assert len(entry.description) <= 255, entry.name
        assert entry.source, entry.name
        for argument in entry.arguments:
            assert len(argument.help) <= 255, (entry.name, argument.name)
            assert argument.name.upper() != entry.name


def test_the_dose_lies_within_its_interval():
    dose = call("ACID_DOSE", 150.0, 7.6, 5.7, 1000.0, "phosphoric")
    assert (
        call("ACID_DOSE_LOW", *GOOD["ACID_DOSE_LOW"])
        < dose
        < call("ACID_DOSE_HIGH", *GOOD["ACID_DOSE_HIGH"])
    )


def test_catalogue_imports_without_scipy():
    code = "import sys, udfs; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


@pytest.mark.parametrize("plato", [0.0, 2.3e-137, 1e-12])
@pytest.mark.parametrize("target", [0.0, 1e-137, 12.0])
def test_wort_of_next_to_no_extract_is_water(plato, target):
    words = "Check plato: 0 °P is water, which boiling does not concentrate"
    assert call("BOIL_MINUTES", 1500.0, plato, target, 80.0) == words
    assert isinstance(call("DEXTROSE_MASS", 1500.0, plato, target), (float, str))
