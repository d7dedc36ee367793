"""Every row of every table has its source, and the tables refer to each other rightly."""

from __future__ import annotations

from importlib.resources import files

import pytest

from chemcore.acids import acid_names, find_acid
from chemcore.solids import find_solid, solid_names
from chemcore.speciation import ZERO_LEVEL
from chemcore.species import METAL_CHARGE, METALS, all_species
from chemcore.tables import constant, named_rows, number, rows
from chemcore.units import litres_per_unit, unit_names

TABLES = sorted(
    path.name.removesuffix(".csv")
    for path in (files("chemcore") / "data").iterdir()
    if path.name.endswith(".csv")
)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_source(table):
    assert rows(table)
    for row in rows(table):
        assert None not in row and None not in row.values(), (
            f"{table}: a row with too many or too few cells: {row}"
        )
        assert len(row["source"].strip()) >= 10, row


@pytest.mark.parametrize(
    "table, key",
    [
        ("constants", "name"),
        ("species", "species"),
        ("units", "unit"),
        ("acids", "acid"),
        ("solids", "solid"),
    ],
)
def test_names_are_unique(table, key):
    names = [row[key] for row in rows(table)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("table, key", [("units", "unit"), ("acids", "acid"), ("solids", "solid")])
def test_no_spelling_means_two_things(table, key):
    spelled: dict[str, str] = {}
    for row in rows(table):
        for spelling in (row[key], *row["aliases"].split(";")):
            folded = " ".join(spelling.casefold().split())
            assert spelled.setdefault(folded, row[key]) == row[key], (
                f"{spelling} is {spelled[folded]} and {row[key]}"
            )
    assert set(named_rows(table, key)) == set(spelled) - {""}


def test_parents_stand_before_their_species():
    seen = set()
    for s in all_species():
        assert not s.parent or s.parent in seen, (
            f"{s.name}: its parent {s.parent} does not stand above it"
        )
        seen.add(s.name)


def test_charges_balance():
    """metal + h H+ + ligand: the charge of a species follows from its parts."""
    ligand = {s.family: s.charge for s in reversed(all_species()) if not s.metal and not s.h}
    for s in all_species():
        if s.family in (*METALS, "H", "OH"):
            continue
        assert s.charge == ligand[s.family] + s.h + METAL_CHARGE.get(s.metal, 0), s.name
    for s in all_species():
        if s.family == "OH":
            assert s.charge == -1 + METAL_CHARGE.get(s.metal, 0), s.name


def test_species_name_their_charge():
    for s in all_species():
        sign = {0: "", 1: "+", -1: "-"}.get(s.charge, f"{s.charge:+d}")
        assert s.name.endswith(sign) if sign else s.name[-1] not in "+-"


def test_every_family_has_a_zero_level():
    assert set(ZERO_LEVEL) == {s.family for s in all_species()} - {"H", "OH", *METALS}


def test_log_k_is_given_one_way():
    """Either as coefficients or as a value at 25 °C with its enthalpy."""
    for row in rows("species"):
        analytic = any(row[f"a{i}"] for i in range(1, 7))
        assert analytic != bool(row["log_k"]), row["species"]


def test_acids_name_families_that_exist():
    for name in acid_names():
        acid = find_acid(name)
        members = [s for s in all_species() if s.family == acid.family and not s.metal]
        assert members
        if acid.family not in ("Cl", "SO4"):  # strong in their first step
            assert max(s.h for s in members) == acid.protons
        assert acid.min_strength <= acid.default_strength <= acid.max_strength


@pytest.mark.parametrize(
    "spelling, name",
    [
        ("H3PO4", "phosphoric"),
        ("  Phosphoric   ACID ", "phosphoric"),
        ("sulphuric", "sulfuric"),
        ("MURIATIC", "hydrochloric"),
        ("c3h6o3", "lactic"),
        ("E330", "citric"),
        ("Glacial acetic acid", "acetic"),
    ],
)
def test_acids_by_trade_name_and_formula(spelling, name):
    assert find_acid(spelling).name == name


def test_solids_are_uncharged():
    for name in solid_names():
        solid = find_solid(name)
        charge = (
            2.0 * solid.ca
            - 3.0 * solid.po4
            - 2.0 * solid.hpo4
            - 2.0 * solid.co3
            + solid.h
            - solid.oh
        )
        assert charge == pytest.approx(0.0, abs=1e-12), name


def test_units_have_litres():
    for name in unit_names():
        assert litres_per_unit(name) > 0.0


def test_hazard_bands_join_up():
    for name in acid_names():
        bands = [
            (float(r["from_percent"]), float(r["below_percent"]))
            for r in rows("hazards")
            if r["acid"] == name
        ]
        assert bands[0][0] == 0.0 and bands[-1][1] == 100.0
        assert all(upper == lower for (_, upper), (lower, _) in zip(bands, bands[1:]))


def test_density_points_rise_in_strength_and_cover_what_is_sold():
    for name in acid_names():
        points = [
            float(r["mass_percent"])
            for r in rows("density")
            if r["acid"] == name and r["use"] == "table"
        ]
        acid = find_acid(name)
        assert len(points) == len(set(points))
        assert min(points) <= acid.min_strength
        assert max(points) >= min(acid.max_strength, acid.solubility_strength)
    assert {r["use"] for r in rows("density")} == {"table", "check"}


def test_number_of_an_empty_cell():
    assert number("") == 0.0 and number("", 7.0) == 7.0 and number("2.5") == 2.5
    assert constant("zero_celsius") == 273.15
