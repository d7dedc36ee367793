"""The ``spargesheet`` command."""
