"""Pieces of HTML: text that is escaped, elements, tables, and figures as a reader wants them."""

import math
import re
from collections.abc import Iterable, Sequence
from html import escape

_NEVER_IN_HTML = re.compile(
    r"[^\t\n\x20-\x7e\xa0-\ud7ff\ue000-\ufdcf\ufdf0-\ufffd\U00010000-\U0001fffd]"
)


class Html(str):
    """Markup that is ready; any other text is escaped when it is put on a page."""

    __slots__ = ()


def html(text: str) -> Html:
    """Return a text as markup: escaped, unless it is markup already."""
    return text if isinstance(text, Html) else Html(escape(_NEVER_IN_HTML.sub(" ", text)))


def joined(pieces: Iterable[str], between: str = "") -> Html:
    """Return texts and markup one after the other."""
    return Html(html(between).join(html(piece) for piece in pieces))


def element(name: str, *content: str, **attributes: str) -> Html:
    """Return an element around texts and markup.

    Attributes are named as in HTML, with a trailing underscore where Python needs one (class_)
    and an underscore for a hyphen.
    """
    given = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{html(value)}"' for key, value in attributes.items()
    )
    return Html(f"<{name}{given}>{joined(content)}</{name}>")


def symbol(text: str) -> Html:
    """Return a symbol of ISO 701 in italics, what follows an underscore as its index."""
    if not text:
        return Html("")
    main, _, index = text.partition("_")
    return element("i", main, element("sub", index) if index else "")


def listed(items: Iterable[str], kind: str = "ul") -> Html:
    """Return a list, one item a line."""
    return element(kind, *(joined((element("li", item), "\n")) for item in items))


def table(
    head: Sequence[str], rows: Iterable[Sequence[str]], class_: str = "", style: str = ""
) -> Html:
    """Return a table with a head; the first cell of each row names the row.

    Every other cell knows the head of its column, so that a style sheet can stack the cells of
    a row on a narrow screen.

    Parameters
    ----------
    head : sequence of str
        Plain texts, one for each column.
    rows : iterable of sequence of str
        Texts or markup, one for each column.
    class_ : str
        For the style sheet.
    style : str
        Of every cell, where there is no style sheet.
    """
    look = {"style": style} if style else {}
    top = element("tr", *(element("th", text, scope="col", **look) for text in head))
    body = (
        element(
            "tr",
            element("th", row[0], scope="row", **look),
            *(
                element("td", cell, data_label=label, **look)
                for label, cell in zip(head[1:], row[1:], strict=True)
            ),
        )
        for row in rows
    )
    parts = (element("thead", top), "\n", element("tbody", *(joined((row, "\n")) for row in body)))
    return element("table", *parts, **({"class_": class_} if class_ else {}))


def figure(value: float, unit: str = "") -> str:
    """Return a number to four digits with its unit, the space between them never broken."""
    suffix = f"\N{NO-BREAK SPACE}{unit}" if unit else ""
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return f"{'' if value > 0 else '−'}unlimited"
    if abs(value) >= 1e6:
        return f"{value / 1e6:.4g}\N{NO-BREAK SPACE}million{suffix}"
    return f"{value:.4g}{suffix}" if abs(value) < 1000 else f"{value:.0f}{suffix}"


def fixed(value: float, digits: int = 2, unit: str = "") -> str:
    """Return a number with so many decimals, never a minus zero, and its unit."""
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return text + (f"\N{NO-BREAK SPACE}{unit}" if unit else "")
