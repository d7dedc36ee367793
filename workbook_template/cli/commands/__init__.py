"""The subcommands of ``spargesheet``, one a module."""
