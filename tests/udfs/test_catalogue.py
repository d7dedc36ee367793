"""What every function of the catalogue must be, so that each host can show and call it."""

import inspect
import math
import re

import pytest

from tests.udfs.samples import SETS, samples
from udfs import CATALOGUE, call
from udfs.catalogue import HELP_LENGTH, parameter_texts

every_function = pytest.mark.parametrize("entry", CATALOGUE.values(), ids=CATALOGUE.keys())

#: The functions that were promised, with their arguments in order.
PROMISED = """
LITRES(amount, unit)
COLD_LITRES(litres, temp_c)
HARDNESS(calcium, magnesium)
RESIDUAL_ALKALINITY(alkalinity, calcium, magnesium)
ALKALINITY_FROM_BICARBONATE(bicarbonate, ph, [temp_c])
BICARBONATE(alkalinity, ph, [temp_c])
ION_BALANCE(ions, alkalinity, ph)
ACID_DOSE(alkalinity, ph, target_ph, litres, acid, [strength], [ions], [temp_c], [co2_lost])
ACID_DOSE_MASS(alkalinity, ph, target_ph, litres, acid, [strength], [ions], [temp_c], [co2_lost])
PH_AFTER_ACID(alkalinity, ph, dose_ml, litres, acid, [strength], [ions], [temp_c], [co2_lost])
ALKALINITY_AFTER_ACID(alkalinity, ph, dose_ml, litres, acid, [strength], [ions], [temp_c], [co2_lost])
ALKALINITY_FROM_DOSE(ph_before, ph_after, dose_ml, litres, acid, [strength], [ions], [temp_c], [co2_lost])
ACID_TOP_UP(ph_before, ph_now, target_ph, dose_so_far_ml, litres, acid, [strength], [ions], [temp_c], [co2_lost])
ACID_ANION(dose_ml, litres, acid, [strength])
ACID_DENSITY(acid, strength)
ACID_MASS(ml, acid, [strength])
ACID_EQUIVALENTS(acid, strength, ph)
SATURATION_INDEX(solid, ph, calcium, alkalinity, phosphate, [temp_c], [ions])
CALCIUM_SOLUBILITY(ph, phosphate, [solid], [temp_c], [ions])
CALCIUM_SAFE_PH(alkalinity, ph, calcium, litres, acid, [strength], [solid], [temp_c], [tank_temp_c], [ions])
ACID_COST(dose_ml, pack_litres, pack_price)
ACID_CAUTIONS(acid, [strength])
FUNCTION_SOURCE(name)
""".split("\n")[1:-1]

# Words that VBA keeps for itself and that could tempt as names of functions or arguments (language
# specification, section 3.3.5.2, from memory).
VBA_WORDS = set(
    """
    and as boolean byref byte byval call case const currency date debug decimal declare dim do
    double each else elseif empty end enum erase error event exit false for friend function get
    global gosub goto if imp implements in input integer is let like lock long loop lset me mod new
    next not nothing null object on open option optional or paramarray preserve print private
    property public put raiseevent redim resume return rset select set single static step stop
    string sub then to true type typeof unlock until variant wend while with withevents write xor
""".split()
)


def column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def reads_as_cell(name: str) -> bool:
    """Whether a sheet of 16,384 columns and 1,048,576 rows takes the name for an address, in A1 or
    R1C1 style.
    """
    a1 = re.fullmatch(r"([A-Z]{1,3})(\d+)", name)
    if a1 and column_number(a1[1]) <= column_number("XFD") and 1 <= int(a1[2]) <= 1_048_576:
        return True
    return bool(re.fullmatch(r"R\d*|C\d*|R\d*C\d*", name))


@pytest.mark.parametrize("name", ["CA2", "PH7", "XFD1048576", "R1C1", "RC", "C", "R12", "SO4"])
def test_addresses_are_recognised(name):
    assert reads_as_cell(name)


@pytest.mark.parametrize("name", ["XFE1", "A1048577", "ACID_DOSE", "LITRES", "RCA", "PH_7"])
def test_names_are_not_taken_for_addresses(name):
    assert not reads_as_cell(name)


@pytest.mark.parametrize("signature", PROMISED)
def test_promised_functions_are_there(signature):
    assert CATALOGUE[signature.split("(")[0]].signature == signature


@every_function
def test_name_is_one_that_every_host_takes(entry):
    assert re.fullmatch(r"[A-Z][A-Z0-9_]{0,39}", entry.name)
    assert entry.name.lower() not in VBA_WORDS
    assert not reads_as_cell(entry.name)
    assert CATALOGUE[entry.name] is entry


def test_names_are_unique_in_any_case():
    names = [name.casefold() for name in CATALOGUE]
    assert len(set(names)) == len(names)


@every_function
def test_arguments_are_names_that_every_host_takes(entry):
    names = [argument.name.lower() for argument in entry.arguments]
    assert len(set(names)) == len(names)
    for name in names:
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name)
        assert name not in VBA_WORDS
    # LITRES(amount, unit) beside COLD_LITRES(litres, ...) is fine: VBA minds only a function's own
    # arguments
    assert entry.name.lower() not in names


@every_function
def test_words_fit_the_function_wizard(entry):
    assert entry.summary.endswith((".", "?"))
    assert 0 < len(entry.description) <= HELP_LENGTH
    for argument in entry.arguments:
        assert 0 < len(argument.help) <= HELP_LENGTH, argument.name
        assert "\n" not in argument.help


@every_function
def test_samples_hold_every_argument(entry):
    assert max(map(len, samples(entry))) == len(entry.arguments)


@every_function
def test_sources_are_named(entry):
    assert entry.source
    assert "\n" not in entry.source
    assert call("FUNCTION_SOURCE", entry.name) == entry.source
    assert entry.category


@every_function
def test_docstring_describes_real_arguments(entry):
    names = [argument.name for argument in entry.arguments]
    documented = list(parameter_texts(entry.described))
    assert set(documented) <= set(names)
    assert documented == sorted(documented, key=names.index)
    assert ("Parameters" in entry.sections) == bool(documented)


@every_function
def test_arguments_are_positional_with_the_optional_ones_last(entry):
    kinds = {parameter.kind for parameter in inspect.signature(entry.described).parameters.values()}
    assert kinds <= {inspect.Parameter.POSITIONAL_OR_KEYWORD}
    required = [argument.required for argument in entry.arguments]
    assert required == sorted(required, reverse=True)
    assert entry.required == sum(required) >= 1 or entry.category == "About"


@every_function
def test_samples_have_answers(entry):
    """The arguments with which all hosts are tried: a new function needs some, and its answers must
    be answers.
    """
    sets = samples(entry)
    assert len(sets) >= SETS
    for arguments in sets:
        assert entry.required <= len(arguments) <= len(entry.arguments)
        answer = call(entry.name, *arguments)
        cells = answer[0] if entry.cells > 1 else (answer,)
        assert len(cells) == entry.cells
        for cell in cells:
            if entry.unit:
                assert isinstance(cell, float) and math.isfinite(cell), answer
            else:
                assert isinstance(cell, str) and cell and not cell.startswith("Check "), answer
