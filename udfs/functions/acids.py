"""Functions: an acid as bought."""

from __future__ import annotations

from chemcore import acids, cost, dosing, safety
from chemcore.numeric import Number
from udfs.arguments import (
    AcidName,
    DoseG,
    DoseML,
    LabelStrength,
    Litres,
    PackPrice,
    PackSize,
    ReadPH,
    Strength,
)
from udfs.catalogue import function


@function("Acids", "kg/L at 20 °C", liquid="it has no density to dose by")
def acid_density(acid: AcidName, strength: LabelStrength) -> Number:
    """Density of an acid as bought.

    Shape-preserving interpolation between handbook points at 20 °C.

    References
    ----------
    CRC Handbook 102nd ed. 2021, Concentrative Properties; Perry's/ICT tables and Gerlach (strong
    acids, from memory): each point in chemcore/data/density.csv.
    """
    return acids.density(acid, strength)


@function("Acids", "g", liquid="it has no volume to turn into grams")
def acid_mass(ml: DoseML, acid: AcidName, strength: Strength = None) -> Number:
    """Grams of a volume of an acid as bought.

    Parameters
    ----------
    ml
        Acid as bought

    References
    ----------
    Density as ACID_DENSITY.
    """
    return acids.mass_of_volume(ml, acid, strength)


@function("Acids", "eq/L", liquid="its equivalents a litre have no meaning")
def acid_equivalents(acid: AcidName, strength: LabelStrength, ph: ReadPH) -> Number:
    """Equivalents of acid that a litre as bought releases on the way down to a pH.

    At an ionic strength of 0.005 mol/kg and 20 °C; phosphoric acid gives off a little more than one
    hydrogen ion a molecule at pH 5.7, lactic and acetic acid less than one.

    Parameters
    ----------
    ph
        pH reached

    References
    ----------
    pK of chemcore/data/species.csv; density as ACID_DENSITY.
    """
    return acids.equivalents_per_litre(acid, strength, ph)


@function("Acids", "mg/L", liquid="use ACID_ANION_MASS")
def acid_anion(
    dose_ml: DoseML, litres: Litres, acid: AcidName, strength: Strength = None
) -> Number:
    """Anion that a dose brings into the liquor, such as lactate or chloride; phosphate counts as
    PO4.

    References
    ----------
    Formula masses from IUPAC 2021 atomic weights; density as ACID_DENSITY.
    """
    return dosing.anion_added(
        acids.moles_of_volume(dose_ml, acid, strength), litres, acid, "dose_ml", dose_ml
    )


@function("Acids", "mg/L")
def acid_anion_mass(
    dose_g: DoseG, litres: Litres, acid: AcidName, strength: Strength = None
) -> Number:
    """Anion that a weighed dose brings into the liquor; the ACID_ANION of a powder.

    References
    ----------
    Formula masses from IUPAC 2021 atomic weights.
    """
    return dosing.anion_added(
        acids.moles_of_mass(dose_g, acid, strength), litres, acid, "dose_g", dose_g
    )


@function("Acids", "money")
def acid_cost(dose_ml: DoseML, pack_litres: PackSize, pack_price: PackPrice) -> Number:
    """Money of a dose, from the price of the pack.

    mL with a pack in litres, or grams with a pack in kg.

    References
    ----------
    Proportion.
    """
    return cost.dose_cost(dose_ml, pack_litres, pack_price)


@function("Acids")
def acid_cautions(acid: AcidName, strength: Strength = None) -> str:
    """Hazard class of an acid at a strength, and the usual cautions for handling it.

    The label, the safety data sheet, local codes and a trained or licensed person decide.

    References
    ----------
    Regulation (EC) No 1272/2008 (CLP/GHS), Annex VI and generic limits, row by row in
    chemcore/data/hazards.csv; cautions: common practice, no source.
    """
    return safety.handling_text(acid, strength)
