"""LibreOffice Calc: an extension that asks a worker process of the user's own Python.

``component.py`` runs inside the office and ``driver.py`` in the office's own Python; both import
nothing of this package. ``worker.py`` and ``answers.py`` run in the user's Python. ``extension.py``
makes the extension from the catalogue, ``calc_manage.py`` registers it, ``office.py`` runs a
headless office of our own with it, and ``convert.py`` one without it that turns documents into
other kinds; ``quiet_profile.py`` keeps these from the network, ``keeper.py`` ends them with the
command, and ``scratch.py`` has their temporary folders.
"""
