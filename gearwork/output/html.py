"""Pieces of HTML and SVG: text that is escaped, and elements; and the colours of all pictures."""

import re
from collections.abc import Iterable

from markupsafe import Markup, escape

_NEVER_IN_HTML = re.compile(
    r"[^\t\n\x20-\x7e\xa0-\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0001fffd]"
)


def html(text: object) -> Markup:
    """Return a text as markup: escaped, unless it is markup already."""
    return text if isinstance(text, Markup) else escape(_NEVER_IN_HTML.sub(" ", str(text)))


def joined(pieces: Iterable[str], between: str = "") -> Markup:
    """Return texts and markup one after the other."""
    return html(between).join(html(piece) for piece in pieces)


def element(name: str, *content: str, **attributes: str) -> Markup:
    """Return an element around texts and markup.

    Attributes are named as in HTML, with a trailing underscore where Python needs one (class_)
    and an underscore for a hyphen.
    """
    given = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{html(value)}"' for key, value in attributes.items()
    )
    return Markup(f"<{name}{given}>{joined(content)}</{name}>")


INK = "#22303c"
GREY = "#5d6a74"
ACCENT = "#1b6d8f"
WARM = "#c2571a"
PALE_ACCENT = "#dfecf1"
PALE_WARM = "#f7e8d4"
PALE = "#eef0f2"
