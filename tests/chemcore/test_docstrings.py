"""Every public function of chemcore says what it takes and gives."""

import importlib
import inspect
import pkgutil
import re

import pytest

import chemcore


def public_functions():
    """Each function of the package, or class with arguments of its own, by its full name."""
    for module in pkgutil.iter_modules(chemcore.__path__):
        members = vars(importlib.import_module(f"chemcore.{module.name}"))
        for name, one in members.items():
            function = inspect.unwrap(one) if callable(one) else one
            if inspect.isfunction(function) and function.__module__ == f"chemcore.{module.name}":
                if not name.startswith("_"):
                    yield f"{module.name}.{name}", function


FUNCTIONS = dict(public_functions())


def section(function, title):
    """The text under one heading of a docstring, or none."""
    parts = re.split(r"^(\w+)\n-{3,}$", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return dict(zip(parts[1::2], (text.strip("\n") for text in parts[2::2]))).get(title, "")


def named(text):
    """Arguments in the order in which a section names them, and whether each has words of its own
    or of its group.
    """
    entries = re.findall(r"^(\S.*)\n((?:    .*(?:\n|\Z))*)", text + "\n", flags=re.MULTILINE)
    return [
        (name.strip().lstrip("*"), bool(words.strip()))
        for names, words in entries
        for name in names.split(",")
    ]


def test_the_functions_are_found():
    assert len(FUNCTIONS) > 150
    assert "dosing.dose_volume" in FUNCTIONS and "tables.constant" in FUNCTIONS


@pytest.mark.parametrize("name", FUNCTIONS)
def test_parameters_name_exactly_the_arguments(name):
    function = FUNCTIONS[name]
    told = named(section(function, "Parameters"))
    assert sorted(one for one, _ in told) == sorted(inspect.signature(function).parameters)
    assert all(words for _, words in told)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_returns_says_what_comes_back(name):
    function = FUNCTIONS[name]
    if inspect.signature(function).return_annotation == "None" or not function.__code__.co_argcount:
        return
    assert re.search(r"\w", section(function, "Returns"))


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_that_refuses_says_what(name):
    function = FUNCTIONS[name]
    source = inspect.getsource(function)
    if re.search(r"raise DomainError|[^_.]require\(", source) and name != "numeric.require":
        assert "DomainError" in section(function, "Raises")
