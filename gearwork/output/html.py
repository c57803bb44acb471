"""Text that is escaped for HTML and SVG, and the colours of all pictures."""

import re

from markupsafe import Markup, escape

_NEVER_IN_HTML = re.compile(
    r"[^\t\n\x20-\x7e\xa0-\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0001fffd]"
)


def html(text: object) -> Markup:
    """Return a text as markup: escaped, unless it is markup already."""
    return text if isinstance(text, Markup) else escape(_NEVER_IN_HTML.sub(" ", str(text)))


INK = "#22303c"
GREY = "#5d6a74"
ACCENT = "#1b6d8f"
WARM = "#c2571a"
PALE_ACCENT = "#dfecf1"
PALE_WARM = "#f7e8d4"
PALE = "#eef0f2"
