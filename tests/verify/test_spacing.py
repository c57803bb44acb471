"""Ways to spoil the print to drill by; each told in words, or harmless for a reason.

The pair's drawing takes three pages of A4, the first with tables, two that are laid on each other.
"""

import re

import pytest
import spoiling as s
from volume import every

from gearwork.machine.gear_set import GearSet
from gearwork.output.drawing.spacing import design_spacing
from gearwork.output.pdf import drawing_pdf
from gearwork.spec.spec import parse_brief
from gearwork.verify.spacing import _faults_printed

NUMBER = r"-?[\d.]+"
BORE = re.compile(r"(1\.4173\d* w\s+\[\] 0 d\s+)((?:[\d. -]+[ml]\s+){9,})")


PLUS_MINUS = r"\001"  # the first letter that is not of ASCII


def scaled(x, y=None):
    return lambda page: f"{x} 0 0 {x if y is None else y} 0 0 cm\n{page}"


def each(way):
    return lambda pdf: pdf.each(way)


def of_page(number, way):
    def spoil(pdf):
        before = pdf.pages[number]
        pdf.pages[number] = way(before)
        assert pdf.pages[number] != before

    return spoil


def moved_bore(by, factor=1.0):
    """The bore on a page moved to the right, points, or larger about the page's corner."""

    def moved(found):
        def point(xy):
            return f"{factor * float(xy[1]) + by:.6f} {factor * float(xy[2]):.6f} {xy[3]}"

        return found[1] + re.sub(rf"({NUMBER}) ({NUMBER}) ([ml])", point, found[2])

    return lambda page: BORE.sub(moved, page, count=1)


def said(old, new):
    """A word says something else."""
    return lambda page: page.replace(old, new, 1)


def replaced(old, new):
    def spoil(pdf):
        assert old in pdf.data
        pdf.data = pdf.data.replace(old, new)

    return spoil


def only_kids(*kept):
    def spoil(pdf):
        kids = re.search(rb"/Kids \[(.*?)\]", pdf.data, re.S)
        every = re.findall(rb"\d+ 0 R", kids[1])
        pdf.data = pdf.data.replace(kids[1], b" ".join(every[place] for place in kept))

    return spoil


def doubled(pdf):
    pdf.data = pdf.data.replace(b"595.2756 841.8898 ] /", b"1190.55 1683.78 ] /")
    pdf.each(scaled(2.0))


def bar_gone(page):
    at = page.rindex("1.4173")  # nothing else that thick comes later
    return page[:at] + page[at:].replace(" l\n", " l\n0 0 l\n", 1)


SPOILED = {
    "printed at 97 %": (each(scaled(0.97)), "bar on page 1 is 97.00 mm"),
    "printed at 100.2 %": (each(scaled(1.002)), "bar on page 1 is 100.20 mm"),
    "one page fitted": (of_page(2, scaled(0.94)), "bar on page 3 is 94.00 mm"),
    "stretched along the page": (each(scaled(1.0, 1.01)), "has no bore of 12 mm"),
    "printed in mirror writing": (
        each(lambda p: f"-1 0 0 1 595.2756 0 cm\n{p}"), "has no bore of 12 mm"),
    "paper of another size": (
        replaced(b"595.2756 841.8898 ] /Par", b"612 792 ] /Par"), "no sheet of A4"),
    "pages and all twice as large": (doubled, "no sheet of A4.*bar on page 1 is 200.00 mm"),
    "a page turned": (replaced(b"/Contents", b"/Rotate 90 /Contents"), "turned, cropped or scaled"),
    "units of another size": (replaced(b"/Contents", b"/UserUnit 2 /Contents"), "or scaled"),
    "pages cropped": (replaced(b"/Contents", b"/CropBox [0 0 300 300] /Contents"), "cropped"),
    "the first page of the drawing lost": (only_kids(0, 2), "has no bore"),
    "the last page lost": (only_kids(0, 1), "has no bore"),
    "a bore moved by 0.1 mm": (of_page(1, moved_bore(0.283)), "has no bore of 12 mm"),
    "a bore moved by 9 mm": (of_page(2, moved_bore(25.5)), "has no bore of 12 mm"),
    "a bore larger": (of_page(1, moved_bore(-3.0, 1.02)), "has no bore of 12 mm"),
    "a bore gone": (of_page(1, lambda p: BORE.sub("0 0 m ", p, count=1)), "has no bore"),
    "a page moved on its paper, not its crosses": (
        of_page(1, lambda p: p.replace(" cm\nBT", " cm 1 0 0 1 9 0 cm\nBT")), "no bore"),
    "a cross of another number": (
        of_page(2, lambda p: p.replace("(1) Tj", "(7) Tj", 1)), "cross 1 is on one page"),
    "the bar gone": (of_page(1, bar_gone), "the bar on page 2 is"),
    "the bar shorter": (
        of_page(2, lambda p: p.replace("311.811 22.677 l", "308 22.677 l")), "bar on"),
    "a distance's number": (
        of_page(1, said("a 11", "a 12")), "a dimension says a 12"),
    "a bore's number": (of_page(1, said("12.00)", "13.00)")), "no dimension says"),
    "a number of the table": (of_page(0, said("12.00", "13.00")), "no table says pinion 1"),
    "a limit of the table": (of_page(0, said(PLUS_MINUS, "9")), "no table says pinion 1 - wheel 1"),
    "lines that curve": (of_page(1, lambda p: p.replace(" l\n", " 1 1 1 1 c\n", 1)), "no PDF as"),
    "cut short": (lambda d: d.data[: len(d.data) // 2], "cut short"),
    "added to by another program": (
        lambda d: d.data + b"\n9 0 obj\n<< >>\nendobj\n%%EOF\n", "was changed"),
    "a page that is none": (replaced(b"/MediaBox", b"/Media"), "no PDF as gearwork writes it"),
    "another program's": (
        lambda d: b"%PDF-1.7\n1 0 obj\n<< /Type /ObjStm >>\nendobj\n%%EOF\n",
        "no PDF as gearwork writes it"),
    "no PDF": (lambda d: b"<html></html>", "no PDF any more"),
    "empty": (lambda d: b"", "no PDF any more"),
}  # fmt: skip

HARMLESS = {
    "pages in another order": (only_kids(2, 1, 0), "they are laid on each other by their crosses"),
    "a page twice": (only_kids(0, 1, 2, 2), "one copy more"),
    "the title": (of_page(1, said("Seed", "Need")), "it is drilled by what is drawn"),
    "a page moved on its paper": (
        of_page(1, lambda p: f"1 0 0 1 9 5 cm\n{p}"), "its crosses move along"),
}  # fmt: skip


def told(folder, design, way):
    path = folder / "spacing.pdf"
    pdf = s.Pdf(path.read_bytes())
    other = way(pdf)
    with s.spoiled(path, pdf.bytes if other is None else other):
        return " ".join(_faults_printed(path, design))


@pytest.mark.parametrize(("way", "wanted"), every(4, SPOILED.values()), ids=SPOILED)
def test_a_spoiled_print_is_told(drill, drill_copy, way, wanted):
    assert re.search(wanted, told(drill_copy, drill, way))


@pytest.mark.parametrize(("way", "why"), HARMLESS.values(), ids=HARMLESS)
def test_what_harms_nobody_passes(drill, drill_copy, way, why):
    assert not told(drill_copy, drill, way), why


def test_a_lost_page_of_tables_is_told(drill, drill_copy):
    assert "no table says" in told(drill_copy, drill, only_kids(1, 2))


@pytest.mark.parametrize(
    ("old", "new"),
    [("wheel_teeth = 26", "wheel_teeth = 25"), ("bores = [12.0, 12.0]", "bores = [12.0, 10.0]"),
     ("wheel_teeth = 26", "wheel_teeth = 26\nwheel_shift = 0.2")],
)  # fmt: skip
def test_the_print_of_another_design_is_told(drill, drill_copy, old, new):
    text = drill.brief.text
    assert old in text
    other = GearSet(parse_brief(text.replace(old, new), "other.toml"))
    with s.spoiled(drill_copy / "spacing.pdf", drawing_pdf(design_spacing(other))):
        assert list(_faults_printed(drill_copy / "spacing.pdf", drill))


def test_a_print_on_other_paper_is_told(drill, drill_copy):
    with s.spoiled(drill_copy / "spacing.pdf", drawing_pdf(design_spacing(drill), "A3")):
        (fault,) = _faults_printed(drill_copy / "spacing.pdf", drill)
    assert "no sheet of A4" in fault


@pytest.mark.parametrize("name", every(5, ["washer", "cart", "carousel", "gate", "mill", "hauler"]))
@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_prints_of_all_kinds_are_sound(request, tmp_path, name, paper):
    """Several pages, a single one, axes that share one rod, a rack's hole."""
    design = request.getfixturevalue(name)
    (tmp_path / "spacing.pdf").write_bytes(drawing_pdf(design_spacing(design), paper))
    faults = list(_faults_printed(tmp_path / "spacing.pdf", design))
    assert all("no sheet of A4" in fault for fault in faults), faults
    assert bool(faults) == (paper == "A3")
