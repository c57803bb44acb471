"""Pieces of HTML: text that is escaped, elements and tables.

The look of the job sheet: dark on white, one accent, for A4 and for a narrow screen.
"""

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


INK = "#22303c"
GREY = "#5d6a74"
ACCENT = "#1b6d8f"
WARM = "#c2571a"
PALE_ACCENT = "#dfecf1"
PALE_WARM = "#f7e8d4"
PALE = "#eef0f2"

STYLE = f"""
@page {{ size: A4; margin: 15mm 14mm; }}
* {{ box-sizing: border-box; }}
html {{ -webkit-text-size-adjust: 100%; }}
body {{ margin: 0 auto; padding: 1.5rem 1.25rem 4rem; max-width: 60rem; background: white;
  color: {INK}; font: 16px/1.5 system-ui, "Liberation Sans", Arial, sans-serif;
  overflow-wrap: break-word; }}
h1, h2, h3 {{ font-family: Georgia, "Liberation Serif", serif; line-height: 1.2; margin: 0;
  break-after: avoid; }}
h1 {{ font-size: 2rem; }}
h2 {{ font-size: 1.35rem; margin: 2.6rem 0 .7rem; padding-top: .5rem;
  border-top: 3px solid {ACCENT}; }}
h3 {{ font-size: 1.05rem; margin: 1.6rem 0 .4rem; }}
p, ul, ol, dl, figure {{ margin: .5rem 0; }}
li {{ margin: .25rem 0; }}
a {{ color: {ACCENT}; }}
.kind {{ color: {GREY}; margin: 0; }}
.verdict-line {{ font-size: 1.15rem; padding: .7rem .9rem; margin: 1rem 0;
  border: 2px solid {INK}; border-left-width: .6rem; }}
.verdict-line.fails {{ border-color: {WARM}; }}
.verdict {{ font-weight: 700; white-space: nowrap; }}
.verdict-line .verdict {{ text-transform: capitalize; }}
.verdict.watch {{ text-decoration: underline; text-decoration-style: dotted; }}
.verdict.fails {{ color: white; background: {WARM}; padding: .1em .45em;
  text-transform: uppercase; }}
.facts {{ display: grid; grid-template-columns: fit-content(45%) 1fr; gap: .25rem 1rem; }}
.facts dt {{ color: {GREY}; }}
.facts dd {{ margin: 0; font-weight: 600; }}
table {{ border-collapse: collapse; width: 100%; margin: .6rem 0 1rem; font-size: .9rem;
  font-variant-numeric: tabular-nums; }}
th, td {{ text-align: left; vertical-align: top; padding: .3rem .5rem .3rem 0;
  border-bottom: 1px solid #cfd5d9; }}
thead th {{ border-bottom: 2px solid {INK}; font-weight: 600; }}
tbody th {{ font-weight: 500; }}
tr {{ break-inside: avoid; }}
.numbers td {{ text-align: right; }}
.numbers thead th:not(:first-child) {{ text-align: right; }}
.measured {{ display: inline-block; min-width: 5rem; border-bottom: 1px solid {INK}; }}
.remedy {{ font-weight: 600; }}
figure {{ margin: 1rem 0; break-inside: avoid; }}
figure svg {{ display: block; width: 100%; height: auto; max-width: 36rem; max-height: 32rem; }}
figcaption {{ color: {GREY}; font-size: .9rem; margin-top: .3rem; }}
details {{ margin: .4rem 0; break-inside: avoid; }}
summary {{ font-weight: 600; cursor: pointer; }}
.checks th:first-child {{ width: 20%; }}
.checks th:nth-child(5) {{ width: 42%; }}
.named tbody th {{ white-space: nowrap; }}
@media screen and (max-width: 46rem) {{
  body {{ padding: 1rem .9rem 3rem; }}
  h1 {{ font-size: 1.6rem; }}
  table, tbody, tr, th, td {{ display: block; }}
  thead {{ display: none; }}
  tr {{ padding: .5rem 0; border-bottom: 1px solid {GREY}; }}
  th, td, .numbers td {{ border: 0; padding: .08rem 0; text-align: left; }}
  tbody th {{ font-weight: 700; }}
  td[data-label]::before {{ content: attr(data-label) ": "; color: {GREY}; }}
  .checks th:first-child {{ width: auto; }}
}}
@media print {{
  body {{ max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.35; }}
  h1 {{ font-size: 20pt; }}
  h2 {{ font-size: 13pt; margin-top: 7mm; }}
  table {{ font-size: 8.5pt; }}
  a {{ color: inherit; text-decoration: none; }}
  thead {{ display: table-header-group; }}
  figure svg {{ max-width: 125mm; max-height: 105mm; }}
  figcaption {{ font-size: 8.5pt; }}
  details {{ break-inside: auto; }}
  summary {{ break-after: avoid; }}
  .why {{ break-before: page; }}
}}
"""
"""Style sheet of the job sheet; the colours are those of the pictures."""
