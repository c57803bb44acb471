"""Pages from templates: the two papers of a design, and tables for notebooks.

The templates hold words and order, Python gives the values; the style sheet is a file beside them.
"""

import re
import sys
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path
from textwrap import fill
from typing import Any

import jinja2
from jinja2.bccache import Bucket
from markupsafe import Markup

from gearwork.checks.hub import joints
from gearwork.geometry.rack import Rack
from gearwork.machine.parts import file_stem
from gearwork.numbers import figure, fixed, how_often
from gearwork.output.html import html

WIDTH = 79  # of a terminal, columns


def _written(value: Any) -> Any:
    """What a page shows of a value: control characters of a title become blanks."""
    return html(value) if isinstance(value, str) else value


def _wrapped(text: str, before: int = 0, after: int = 0) -> str:
    """A text on lines of a terminal, indented by blanks, the first one by others."""
    first, others = " " * before, " " * after
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


class _Compiled(jinja2.FileSystemBytecodeCache):
    """Compiled templates where Python keeps its own compiled modules, written when it does so.

    Known by name and content alone: who changes the environment below deletes them.
    """

    def __init__(self) -> None:
        super().__init__(str(Path(cache_from_source(__file__)).parent), "template-%s.cache")

    def dump_bytecode(self, bucket: Bucket) -> None:
        if not sys.dont_write_bytecode:
            with suppress(OSError):  # nobody may write here
                super().dump_bytecode(bucket)


_pages = jinja2.Environment(
    extensions=["jinja2.ext.do"],
    loader=jinja2.PackageLoader("gearwork.output.jobsheet"),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    keep_trailing_newline=True,
    finalize=_written,
    bytecode_cache=_Compiled(),
    auto_reload=False,
)
_pages.filters |= {
    "figure": figure,
    "file_stem": file_stem,
    "fixed": fixed,
    "how_often": how_often,
    "html": html,
    "wrapped": _wrapped,
    "shortly": "{:g}".format,
}
_pages.tests["rack"] = lambda gear: isinstance(gear, Rack)
_pages.tests["joint"] = lambda joint, *kinds: isinstance(
    joint, tuple(getattr(joints, kind) for kind in kinds)
)

_plain = _pages.overlay(autoescape=False, finalize=lambda value: value)


def page(template: str, **values: Any) -> Markup:
    """Return a template of this room filled with values."""
    return Markup(_pages.get_template(template).render(values))


def plain_page(template: str, **values: Any) -> str:
    """Return a template of plain text filled with values, as terminals show it."""
    text = _plain.get_template(template).render(values)
    return text.replace("\N{NO-BREAK SPACE}", " ")


def drawn(template: str, **values: Any) -> str:
    """Return a template of SVG filled with values: numbers and paths, texts by its own filter."""
    return _plain.get_template(template).render(values)


def sentences(template: str, **values: Any) -> tuple[str, ...]:
    """Return the paragraphs of a template of plain text, each on one line."""
    text = _plain.get_template(template).render(values)
    lines = (re.sub("[ \n]+", " ", one).strip(" ") for one in text.split("\n\n"))
    return tuple(line for line in lines if line)
