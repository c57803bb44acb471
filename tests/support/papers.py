"""What stands in the papers of a design, as a reader takes it in."""

import html
import re

from gearwork.output.jobsheet.papers import job_sheet_html

_STEP = re.compile(r'<li><div class="step"><p>(.*?)</p>(.*?)</div></li>', re.S)


def job_sheet(design):
    """The page of a design, made once; what is patched wants `job_sheet_html` itself."""
    kept = vars(design)
    if "job sheet" not in kept:
        kept["job sheet"] = str(job_sheet_html(design))
    return kept["job sheet"]


def assembly_steps(design):
    """The steps of a job sheet, each as its words and its pictures."""
    found = _STEP.findall(job_sheet(design))
    return [(_flat(words), pictures) for words, pictures in found]


def page_text(page):
    """The words of a page, without its style and pictures."""
    bare = re.sub(r"<(style|svg)\b.*?</\1>|<[^>]*>", " ", page, flags=re.S)
    return _flat(bare)


def _flat(text):
    """On one line; between a figure and its unit the blank stays that does not break."""
    return re.sub(r"[ \n]+", " ", html.unescape(text)).strip()
