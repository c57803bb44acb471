"""Every public name explains itself by an example, and every example in the package is true."""

import doctest
import inspect
import re
from importlib import import_module
from pathlib import Path

import pytest

import gearwork as gw

PACKAGE = Path(gw.__file__).parent
WITH_EXAMPLES = sorted(
    "gearwork." + ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
    for path in PACKAGE.rglob("*.py")
    if ">>> " in path.read_text("utf-8")
)
LONG = ("gearwork.verify.files", "gearwork.spec.solve", "gearwork.plot.strength")
"""Modules whose examples write folders, search trains or draw."""


def sections(thing):
    """Headings of a numpydoc docstring."""
    return set(re.findall(r"^ *([A-Z]\w+)\n *-+$", thing.__doc__, flags=re.MULTILINE))


@pytest.mark.parametrize("name", gw.__all__)
def test_public_name_says_what_goes_in_what_comes_out_and_shows_it(name):
    thing = getattr(gw, name)
    finder = doctest.DocTestFinder(recurse=False)
    assert any(test.examples for test in finder.find(thing, name)), "no example"
    assert "Examples" in sections(thing)
    given = [] if thing is gw.GearworkError else list(inspect.signature(thing).parameters)
    assert not given or sections(thing) & {"Parameters", "Attributes"}
    assert [p for p in given if not re.search(rf"\b{p}\b", thing.__doc__)] == []
    if not inspect.isclass(thing):
        assert "Returns" in sections(thing)


@pytest.mark.parametrize(
    "module",
    [
        pytest.param(name, marks=[pytest.mark.slow] if name in LONG else [])
        for name in WITH_EXAMPLES
    ],
)
def test_examples_are_true(module, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code = import_module(module)
    own = {n: thing for n, thing in vars(code).items() if getattr(thing, "__module__", 0) == module}
    failed, tried = doctest.testmod(code, globs=own)  # all else an example imports itself
    assert tried
    assert not failed
    assert list(tmp_path.iterdir()) == [], "an example leaves a file behind"
