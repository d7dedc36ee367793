"""Solution chemistry of brewing liquor: what is true, with no spreadsheet in it.

Units in every public function: ions in mg/L, alkalinity in mg/L as CaCO3, volumes in litres at 20
°C, acid as bought in mL at 20 °C, strengths in mass %, temperatures in °C, pH at the temperature
given. Plain floats give a plain float; numpy arrays broadcast and give an array, in which an
element outside the valid range is NaN (a plain float outside it raises
:class:`chemcore.errors.DomainError`).
"""

__version__ = "0.1.0"
