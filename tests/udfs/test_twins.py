"""Functions that take their answers from one calculation: what one has worked out serves the
other.
"""

import pytest

from chemcore import uncertainty
from tests.udfs.samples import samples
from udfs import CATALOGUE, call
from udfs.arguments import Litres
from udfs.catalogue import function, twin

PLAN = (150.0, 7.6, 5.7, 1500.0, "phosphoric", 75.0)


def _trial(monkeypatch):
    """A pair of functions in the catalogue, and the list of what their body was asked."""
    for name in ("TRIAL_LOW", "TRIAL_HIGH"):
        monkeypatch.setitem(CATALOGUE, name, None)
    asked = []

    def trial_low(litres):
        """Lower end.

        References
        ----------
        Arithmetic.
        """
        asked.append(litres)
        return uncertainty.Interval(litres - 1.0, litres + 1.0)

    def trial_high():
        """Upper end.

        References
        ----------
        Arithmetic.
        """

    trial_low.__annotations__ = {"litres": Litres}
    function("Trial", "L", part=lambda found: found.low)(trial_low)
    twin(trial_low, lambda found: found.high)(trial_high)
    return asked


def test_a_pair_works_out_its_answers_once(monkeypatch):
    asked = _trial(monkeypatch)
    assert (call("TRIAL_LOW", 3.0), call("TRIAL_HIGH", 3.0)) == (2.0, 4.0)
    assert asked == [3.0]
    assert call("TRIAL_HIGH", ((3.0,), (5.0,))) == ((4.0,), (6.0,))
    assert asked == [3.0, 5.0]


def test_a_refusal_is_said_by_both(monkeypatch):
    _trial(monkeypatch)
    for name in ("TRIAL_LOW", "TRIAL_HIGH"):
        assert call(name, -1.0).startswith("Check litres: ")


@pytest.mark.parametrize("rows", [2, 40])
def test_ends_of_a_column_are_those_of_its_rows(rows):
    litres = tuple((1000.0 + 10.0 * i,) for i in range(rows))
    for name in ("ACID_DOSE_LOW", "ACID_DOSE_HIGH"):
        answers = call(name, *PLAN[:3], litres, *PLAN[4:])
        for (volume,), (answer,) in zip(litres, answers):
            assert answer == pytest.approx(call(name, *PLAN[:3], volume, *PLAN[4:]), rel=1e-9)


def test_a_powder_is_refused_wherever_the_dose_is_in_ml():
    names = [
        entry.name
        for entry in CATALOGUE.values()
        if {"acid", "strength"} <= {argument.name for argument in entry.arguments}
    ]
    refused = []
    for name in names:
        entry = CATALOGUE[name]
        places = [argument.name for argument in entry.arguments]
        cells = list(samples(entry)[0]) + [None] * len(places)
        cells[places.index("acid")], cells[places.index("strength")] = "citric", 100.0
        if "powder, which is weighed" in str(call(name, *cells[: len(places)])):
            refused.append(name)
    in_grams = {
        "ACID_ANION_MASS",
        "ACID_CAUTIONS",
        "ACID_DOSE_MASS",
        "PRICE_PER_EQUIVALENT",
        "CALCIUM_SAFE_PH",
        "CALCIUM_SAFE_PH_LOW",
        "CALCIUM_SAFE_PH_HIGH",
        "EFFECTIVE_ALKALINITY",
        "EFFECTIVE_ALKALINITY_SPREAD",
    }
    assert set(names) - set(refused) == in_grams
