import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache
from html import unescape
from html.parser import HTMLParser

import pytest
from examples import example
from failing import solved
from papers import assembly_steps, job_sheet, page_text
from volume import every

import gearwork as gw
from gearwork.checks.tooth.strength import UNKNOWNS
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.setting import torque_setting
from gearwork.output.jobsheet.papers import (
    calculation_html,
    job_sheet_html,
    job_sheet_text,
    notebook_page,
    setting_sentences,
)
from gearwork.plot.display import show
from gearwork.spec.solve import solve
from gearwork.spec.spec import EXAMPLES, example_text, parse_brief

BENCH = ("apple-washer", "press-slide")
"""Examples without a machine."""

VOID = {"meta", "br", "link"}

ONLY = {
    "ul": {"li"}, "ol": {"li"}, "dl": {"dt", "dd"}, "table": {"thead", "tbody"}, "thead": {"tr"},
    "tbody": {"tr"}, "tr": {"td", "th"},
}  # fmt: skip
"""What may stand in an element, and nowhere else (HTML living standard, 4.4 and 4.9)."""

PHRASING = {"p", "h1", "h2", "h3", "pre", "span", "b", "i"}
"""Elements that hold words alone, so that no block may stand in them."""

INLINE = {"span", "b", "i", "sub", "sup", "br", "a", "code"}
TOO_HEAVY = ("clutch_torque = 1.6", "clutch_torque = 8.0")


class Page(HTMLParser):
    """Reads a page, fails on what HTML does not allow, keeps texts and attributes."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.attributes, self.cells, self.words = [], [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self._check_place(tag)
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), (tag, names)
        assert not {("id", dict(attrs).get("id"))} & set(self.attributes), attrs
        assert tag != "img" or "alt" in names
        assert tag != "svg" or ("role", "img") in attrs
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)
        if tag in ("td", "th"):
            self.cells.append("")

    def _check_place(self, tag):
        parent = self.open[-1] if self.open else ""
        if "svg" not in self.open:
            assert tag in ONLY.get(parent, {tag}), (parent, tag)
            assert parent not in PHRASING or tag in INLINE, (parent, tag)
            owners = {owner for owner, inside in ONLY.items() if tag in inside}
            assert not owners or parent in owners, (parent, tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        assert not data.strip() or self.open[-1] not in ONLY, data
        if "style" not in self.open:
            self.words.append(data)
        if "td" in self.open or "th" in self.open:
            self.cells[-1] += data

    @property
    def text(self):
        return " ".join("".join(self.words).replace("\N{NO-BREAK SPACE}", " ").split())


@cache
def read(page):
    """A page as it was read; papers that many tests ask are read once."""
    return Page(page)


@cache
def design(*change):
    return solve(parse_brief(example_text().replace(*change), "test")) if change else example()


@cache
def sheet(*change):
    return job_sheet(design(*change))


@cache
def calculation(*change):
    return str(calculation_html(design(*change)))


@pytest.fixture(params=[(), TOO_HEAVY], ids=["pass", "fail"])
def change(request):
    return request.param


@pytest.mark.parametrize("paper", [sheet, calculation])
def test_tags_balance_and_nothing_is_fetched(paper, change):
    page = read(paper(*change))
    bare = paper(*change).replace('xmlns="http://www.w3.org/2000/svg"', "")  # a name, not a place
    assert not re.search(r"https?:|url\(|@import|<script|<link|<img", bare)
    assert {name for name, _ in page.attributes}.isdisjoint({"src", "href", "srcset"})


def test_every_check_stands_in_the_calculation_with_value_and_verdict(change):
    cells = read(calculation(*change)).cells
    for report in design(*change).reports:
        for check in report:
            places = [i for i, cell in enumerate(cells) if cell == check.name]
            assert check.verdict in [cells[i + 1] for i in places], check.name
    assert sum(cell in ("pass", "marginal", "fail") for cell in cells) == len(
        design(*change).report
    )


def test_failed_checks_come_first_with_their_remedies():
    text, proof = read(sheet(*TOO_HEAVY)).text, read(calculation(*TOO_HEAVY)).text
    failed = design(*TOO_HEAVY).report.failed
    assert failed
    for check in failed:
        assert text.index("What to change before cutting") < text.index(check.name)
        assert text.index(check.name) < text.index("1. What to buy")
        assert " ".join(check.remedy.split()) in proof


def test_what_is_well_needs_no_change():
    assert "What to change" not in sheet()


def test_every_step_of_every_allowable_is_told_with_its_source(change):
    page = calculation(*change)
    cells = read(page).cells
    told = set(zip(cells, cells[2:], strict=False))
    numbered = re.search(r'<ol class="sources">(.*?)</ol>', page, re.S).group(1)
    listed = [unescape(one) for one in re.findall("<li>(.*?)</li>", numbered)]
    assert len(listed) == len(set(listed))
    steps = {
        (s.quantity, f"S{listed.index(s.source) + 1}")
        for check in design(*change).report
        for s in check.basis
    }
    assert steps <= told


def test_reasons_are_told_once_of_a_part_but_whole_where_a_check_is_not_passed(change):
    text = read(calculation(*change)).text
    checks = design(*change).report
    bending = "Stress along the root fillet on the pulled side"
    assert text.count(bending) == 2 + sum(
        c.judged == "tooth bending" and c.verdict != "pass" for c in checks
    )
    for check in checks:
        assert check.verdict == "pass" or " ".join(check.reason.split()) in text


def test_says_what_is_not_known_and_which_way_it_errs():
    text = read(calculation()).text
    unknown = text[text.index("What is not known") :]
    for sentence in UNKNOWNS:
        assert sentence in unknown
        assert "side" in sentence or "either way" in sentence or "not counted on" in sentence


@pytest.mark.parametrize("word", ["dust", "pinch", "local codes", "licensed", "rides", "rope"])
def test_cautions(word):
    assert word in read(sheet()).text


@pytest.mark.slow
def test_same_design_same_bytes():
    first, second = (solve(parse_brief(example_text(), "test")) for _ in range(2))
    for paper in (job_sheet_html, calculation_html):
        assert paper(first) == paper(second)
    assert job_sheet_text(first) == job_sheet_text(second)


def test_gears_are_those_of_the_design():
    cells = read(calculation()).cells
    for column, mounted in enumerate(design().train.gears, 1):
        gear = mounted.gear
        for term, value in (
            ("number of teeth z", f"{gear.teeth:g}"),
            ("module m, mm", f"{gear.module:g}"),
            ("tip diameter da, mm", f"{gear.tip_diameter:.2f}"),
            ("root diameter, as designed df, mm", f"{gear.root_diameter:.2f}"),
        ):
            assert cells[cells.index(term) + column] == value


def test_notebook_table_of_the_published_pair():
    """KHK Gear Technical Reference ch. 4 (from memory): m 3, z 12/24, x 0.6/0.36."""
    pair = gw.GearPair(
        gw.Gear(module=3, teeth=12, profile_shift=0.6),
        gw.Gear(module=3, teeth=24, profile_shift=0.36),
    )
    cells = Page(show(pair)).cells
    assert cells[cells.index("centre distance aw, mm") + 1] == "56.500"
    assert cells[cells.index("working pressure angle αw, °") + 1] == "26.089"
    cells = Page(show(pair.pinion)).cells
    assert cells[cells.index("tip diameter da, mm") + 1] == "44.840"
    assert cells[cells.index("root diameter, as designed df, mm") + 1] == "32.100"


def test_all_pieces_and_sheets_are_listed():
    cells = read(sheet()).cells
    for part in design().parts:
        assert cells[cells.index(part.name) + 1] == f"{part.count}"
    # the train, a section of each of three shafts, three sheets, where to measure; what stands on
    # a rod after each of four gears, inner nuts, bearings, drum and coupling; layers glued, frame,
    # trueing, feet, hub of the drum, what keeps the drive from turning
    assert sheet().count("<svg") == 8 + 8 + 8


def test_a_step_shows_what_stands_on_the_rod_after_it():
    """Numbers are those of the bill: of what holds the gear, and of nothing that comes later."""
    numbers = {row.item: row.number for row in design().bill}
    steps = dict(assembly_steps(design()))
    (picture,) = (p for words, p in steps.items() if words.startswith("On rod 2, wheel 1"))
    shown = re.findall(r">([^<>]+)</text>", picture)
    assert str(numbers["flange nut M12, ISO 4161"]) in shown
    assert "wheel 1" in shown
    assert "pinion 2" not in shown
    assert str(numbers["bearing 6001"]) not in shown
    (picture,) = (p for words, p in steps.items() if words.startswith("Press the 6001"))
    shown = re.findall(r">([^<>]+)</text>", picture)
    assert {str(numbers["bearing 6001"]), str(numbers["thin nut M12, ISO 4035"])} <= set(shown)


def test_every_step_that_puts_something_together_has_a_picture():
    """But for words alone: measuring, turning the train by hand."""
    without = [words for words, pictures in assembly_steps(design()) if "<svg" not in pictures]
    assert len(without) == 2
    starts = ("Measure", "Turn the")
    assert all(words.startswith(start) for words, start in zip(without, starts, strict=True))


def test_pieces_in_the_pictures_of_the_frame_have_the_numbers_of_the_cut_list():
    """And no number stands for two things: pieces count on from what is bought."""
    numbers = {name: int(number) for number, name, *_ in _cut_list()}
    assert min(numbers.values()) == len(design().bill) + 1
    steps = dict(assembly_steps(design()))
    (frame,) = (p for words, p in steps.items() if words.startswith("Put the frame together"))
    shown = set(re.findall(r">(\d+)(?: [AB])?</text>", frame))
    boards = ("side plate A", "side plate B", "foot board", "foot pad", "end board", "lid")
    assert shown == {str(numbers[name]) for name in boards}
    (stack,) = (p for words, p in steps.items() if words.startswith("Glue the layers"))
    for name in ("pinion 1 grain 0", "pinion 1 grain 45"):
        assert f">{numbers[name]}  {name}</text>" in stack


def _cut_list():
    """Number, name, count, size and grain of every piece."""
    rows = re.findall(r"<tr><th scope=\"row\">(\d+)</th>(.*?)</tr>", sheet())
    rows = [(number, *re.findall(r"<td[^>]*>([^<]*)</td>", cells)) for number, cells in rows]
    return [row for row in rows if len(row) == 5]


def test_sections_show_what_stands_on_the_rods_with_the_numbers_of_the_bill():
    """Every number of the bill but sheets, what the frame takes and glue; rods from end to end."""
    made, found = design(), sheet()
    rows = {row.item: row.number for row in made.bill}
    for layout in made.shaft_layouts:
        start = found.index(f"<title>{layout.name}, cut lengthwise</title>")
        texts = re.findall(
            r"<text[^>]*>([^<]*)</text>", found[start : found.index("</svg>", start)]
        )
        items = {p.item for p in (layout.rod, *layout.pieces) if p.kind not in ("glue", "tool")}
        assert {str(rows[item]) for item in items if item in rows} <= set(texts)
        assert {"0.0", f"{layout.rod.length:.1f}"} <= set(texts)
        assert {p.name for p in layout.pieces if p.kind in ("gear", "disc")} <= set(texts)


def test_each_hub_and_rod_has_its_instruction():
    text = read(sheet()).text
    for gear, held in zip(design().train.gears, design().fixings, strict=True):
        told = f"On rod {gear.shaft + 1}, {gear.name}: "
        like = re.search(rf"{told}held and tightened as (\w+ \d)\.", text)
        assert f"{held.fixing.name}." in text[text.index(f", {like[1]}: ") if like else 0 :]
        assert told in text
    for shaft, layout in enumerate(design().shaft_layouts, 1):
        assert f"{layout.rod.length:.0f} mm for shaft {shaft}" in text


@pytest.mark.parametrize(
    ("name", "words"),
    every(
        3,
        [
            ("orchard-hauler", "the drum, 60 mm bare for a rope of 6 mm: held"),
            ("orchard-cart", "the driven wheel of 260 mm: held"),
            ("cider-mill", "whole wood for 60 mm all round the axis is counted on): held"),
        ],
    ),
)
def test_what_is_fixed_to_an_end_is_told_with_its_size(name, words):
    assert words in page_text(job_sheet(example(name)))


def test_how_to_measure_tells_a_bars_hole_from_a_seat():
    text = page_text(job_sheet(example("orchard-gate")))
    for edges in ("of the two seats", "of the seat and the bar's screw hole"):
        assert text.count(f"from edge to edge {edges}") == 1


def test_no_tooth_and_no_hub_fails_below_the_setting():
    """Each torque at the drive times the ratio up to the part, against what the part bears."""
    made, setting = design(), torque_setting(design())
    first = made.train.stage_ratios[0]
    up_to = (1.0, first, first * made.train.stage_ratios[1])
    borne = [
        held.design_torque / up_to[gear.shaft]
        for gear, held in zip(made.train.gears, made.fixings, strict=True)
    ]
    up_to = [1.0, made.train.stage_ratios[0]]
    borne += [
        limit.torque / up_to[stage]
        for stage, limits in enumerate(made.limits)
        for limit in limits
        if limit.case.name == "stall"
    ]
    assert setting.max_torque == pytest.approx(min(borne), rel=1e-9)
    assert setting.weakest == "hub of wheel 1 (gear glued to flange nut M12)"


def test_a_picture_shows_where_to_measure():
    """On pinion 1 of module 6 and 13 teeth: W over 2 teeth and M as the gear itself says."""
    text, gear = read(sheet()).text, design().train.gears[0].gear
    pin = re.search(r"Where to measure, shown on pinion 1: .* pins of (\d+\.\d) mm", text)
    for told in (f"W2 {gear.span(2):.2f}", f"M {gear.over_pins(float(pin[1])):.2f}"):
        assert told in text


@pytest.mark.parametrize("none", ["pin_for", "teeth_to_span"])
def test_no_picture_where_nothing_can_be_measured(none, monkeypatch):
    monkeypatch.setattr(f"gearwork.output.jobsheet.measuring.{none}", lambda tooth: None)
    assert "Where to measure" not in job_sheet_html(design())


def test_time_to_speed_is_told_where_the_load_starts():
    assert "from standstill to speed" in read(sheet()).text
    weak = design("clutch_torque = 1.6", "clutch_torque = 0.2")
    assert "from standstill to speed" not in job_sheet_text(weak)


def test_setting_starts_the_load():
    """Torque at the drive times ratio and efficiency is what starting takes at the output."""
    made = design()
    output = torque_setting(made).min_torque * made.train.ratio * made.duty.starting_efficiency
    assert output == pytest.approx(made.duty.load.starting_torque, rel=1e-9)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("clutch_torque = 1.6", "1.6", "which all parts bear."),
        ("clutch_torque = 1.6", "3.0", "which is more than the parts bear: limit it."),
        ("mass = 25.0", "60.0", "No setting works:"),
    ],
)
def test_what_is_said_of_the_drive(key, value, words):
    made = design(key, f"{key.split()[0]} = {value}")
    assert words in " ".join(setting_sentences(made))


def test_text_is_narrow_and_says_the_verdict_first(change):
    text = job_sheet_text(design(*change))
    assert max(map(len, text.splitlines())) <= 79
    assert text.startswith(f"Orchard crate hauler: {'fail' if change else 'marginal'}.")
    flat = " ".join(text.split())
    for cause in causes(design(*change)):
        assert " ".join(cause.sentence.split()) in flat
    for check in design(*change).report:
        assert (f"{check.name}:" in flat) == (check.verdict == "marginal" and not change)
    for gear in design(*change).train.gears:
        assert f"{gear.gear.tip_diameter:.2f}" in text


def test_what_is_the_matter_takes_no_more_than_15_lines_before_the_gears():
    before = job_sheet_text(design(*TOO_HEAVY)).split("\n             ")[0]
    assert len(before.rstrip().splitlines()) <= 15


@pytest.mark.parametrize(
    ("page", "name"),
    every(2, [(job_sheet_html, "apple-washer"), (job_sheet_html, "orchard-hauler")]),
)
def test_titles_cannot_break_the_page(page, name):
    text = re.sub("^title = .*\n", "", example_text(name), flags=re.MULTILINE)
    title = 'title = "<b>&</b>\\u0001 \\" mill"\n'
    made = solve(parse_brief(title + text, "test"))
    assert '<b>&</b> " mill' in Page(page(made)).text


def test_summary_for_a_notebook():
    page = Page(notebook_page(design()))
    assert f"All {len(design().report)} checks hold" in page.text
    assert show(design()) == notebook_page(design())


def test_what_is_watched_tells_limit_and_wish():
    for words in (job_sheet_text(design()), calculation()):
        assert "at most 4, better 1.3" in words
    assert "better" not in str(gw.Check("gap", 3.0, 2.0, "mm", "at least", "", "", "", wanted=2.5))


def test_what_is_not_there_is_not_spoken_of():
    """A mill turned by hand has no clutch to set and no epoxy to wait for; the hauler has both."""
    by_hand, drilled = (read(job_sheet(example(n))).text for n in ("cider-mill", "orchard-hauler"))
    for words in ("Set the clutch as told", "before its epoxy sets", "let the epoxy set"):
        assert words in drilled
        assert words not in by_hand


def test_a_paper_names_what_is_only_just_kept():
    watched = [check.name for check in design().report if check.verdict == "marginal"]
    assert watched
    assert f"Kept, but less well than wanted: {'; '.join(watched)}." in read(sheet()).text


def test_grain_is_told_where_it_matters():
    """Plates, lid, pads, rings and the cradle's plate may lie any way."""
    free = [part.name for part in design().parts if part.grain is None]
    cells = read(sheet()).cells
    assert cells.count("any") == len(free) == 6
    assert "face grain along x (1200 mm)" in read(sheet()).text


def test_who_turns_a_crank_is_told_of_no_battery():
    by_hand = read(job_sheet(example("cider-mill"))).text
    assert "battery" not in by_hand
    assert "reach in only while nobody is at it" in by_hand
    assert "battery or plug out" in read(sheet()).text


def test_wheels_at_either_end_are_told_as_two():
    cart = example("orchard-cart").brief
    both = Design(replace(cart, load=replace(cart.load, driven_share=1.0)))
    text = read(job_sheet(both)).text
    assert re.search(r"at either end a driven wheel of .*? Their faces stand [\d.]+ and ", text)
    assert "On rod 3, the drum" in read(sheet()).text


def test_glued_things_take_no_longer_bolts():
    glued = design("[shafts]", '[shafts]\nfixing = "glued rod"')
    text = read(job_sheet(glued)).text
    assert "takes more rod" in text
    assert "longer bolts" not in text


def test_a_sheet_is_bought_as_it_is_sold():
    thick = design("thickness = 12.0", "thickness = 21.0")
    assert "sheet 1200 × 600 × 21 mm (20.4 mm thick)" in read(job_sheet(thick)).text


def test_cautions_come_before_any_work():
    text = read(sheet()).text
    assert text.index("Routers throw chips") < text.index("1. What to buy")


@pytest.mark.parametrize("name", every(9, [name for name in EXAMPLES if name not in BENCH]))
def test_the_job_sheet_is_short(name):
    """8 pages of A4: chromium prints the longest, the gate's 3790 words and its pictures, on 8."""
    page = re.sub(r"<svg.*?</svg>", "", job_sheet(example(name)), flags=re.S)
    assert len(Page(page).text.split()) < 3900


@pytest.mark.parametrize("name", every(9, [name for name in EXAMPLES if name not in BENCH]))
def test_the_calculation_is_short(name):
    """15 pages of A4 hold the longest, that of the gate, of some 9500 words."""
    assert len(Page(calculation_html(example(name))).text.split()) < 9600


@cache
def two_pairs():
    """The sheet of two stages of gears without a machine."""
    text = example_text("apple-washer")
    return job_sheet_html(solve(parse_brief(text + text[text.index("[[stage]]") :], "two.toml")))


def test_the_sheet_of_two_pairs_is_short():
    """3 pages of A4 in small print hold some 1900 words beside their pictures."""
    assert len(read(two_pairs()).text.split()) < 1900


@pytest.mark.parametrize("made", [sheet, two_pairs])
@pytest.mark.parametrize(
    "fact",
    [
        "a down-cut one leaves the upper face clean", "last pass", "A backing board",
        "Tape on the face", "flutes at least as long", "seven plies or more", "outer edge last",
        "counter-clockwise in an", "never on a flank", "seal edges", "Wax the flanks",
        "scorched wood", "dust mask", "throw chips", "guard every mesh",
        "stands in its maker's tables", "local codes",
    ],
)  # fmt: skip
def test_what_the_trade_knows_is_told_once(made, fact):
    assert read(made()).text.count(fact) == 1


@pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser that prints")
@pytest.mark.parametrize(("made", "most"), every(2, [(two_pairs, 3), (sheet, 8)]))
def test_the_sheets_have_few_pages(made, most, tmp_path):
    (tmp_path / "sheet.html").write_text(made(), encoding="utf-8")
    printed = tmp_path / "sheet.pdf"
    command = ["chromium", "--headless", "--no-sandbox", "--no-pdf-header-footer"]
    command += [f"--print-to-pdf={printed}", str(tmp_path / "sheet.html")]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) <= most


def test_names_in_the_picture_stand_off_small_gears_and_over_no_rod():
    name = re.compile(
        r'<text x="([-\d.]+)" y="([-\d.]+)"[^>]* font-size="([\d.]+)">(\w+ \d)(?:, drive)?</text>'
    )
    train = design().train
    picture = sheet().split("<svg")[1]
    found = {m[4]: (float(m[1]), -float(m[2]), float(m[3])) for m in name.finditer(picture)}
    assert set(found) == {gear.name for gear in train.gears}
    for x, y, size in found.values():
        for shaft, (a, b) in enumerate(train.points):
            bore = train.shafts[shaft].rod_diameter / 2
            assert abs(x - a) > bore + 2 * size or not b - bore - size < y < b + bore
    x, y, size = found["pinion 1"]
    a, b = train.points[0]
    beside = abs(x - a) - 2 * size, abs(y + size / 3 - b) - size / 2
    assert max(beside) > train.gears[0].gear.root_diameter / 2
    assert ">pinion 1, drive<" in picture  # on so small a gear there is no room for it either
    assert ">load<" in picture


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("low above the ground", ["checks fails: do not cut"]),
        ("gears out of true", ["checks fail: do not cut", "1 other check fails of it."]),
        ("edges cut badly", ["and 1 more cause,"]),
        ("crank too long", ["3 other checks fail of it."]),
    ],
)
def test_one_is_told_as_one_and_several_as_several(name, words):
    made = solved(name)
    text = " ".join(job_sheet_text(made).split())
    for one in words:
        assert one in text
    fails = "fails" if len(made.report.failed) == 1 else "fail"
    assert made.report.summary.endswith(f"of {len(made.report)} checks {fails}")
