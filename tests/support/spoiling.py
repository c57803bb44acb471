"""Files as text to be spoiled, and one file at a time read back.

A DXF file by its entities, lists of group codes and values; a PDF by the contents of its pages.
"""

import math
import re
import zlib
from contextlib import contextmanager
from itertools import pairwise

import gearwork as gw
from gearwork.machine.parts import file_stem
from gearwork.output.write import cut_files
from gearwork.verify.pieces import piece_checks
from gearwork.verify.read_dxf import CutFiles


@contextmanager
def spoiled(path, data):
    whole = path.read_bytes()
    path.write_bytes(data)
    try:
        yield
    finally:
        path.write_bytes(whole)


class Only:
    """A design with no more than what a file holds, so that no other need be read."""

    def __init__(self, design, stem):
        self.design = design
        on_sheet = stem.startswith("sheet")
        self.sheets = tuple(s for s in design.sheets if stem == f"sheet-{s.number}")
        names = {part.name for sheet in self.sheets for part in sheet.parts}
        self.parts = [
            part
            for part in design.parts
            if (part.name in names if on_sheet else file_stem(part.name) == stem)
        ]
        if len(design.sheets) == 1:
            self.parts = design.parts
        self.test_parts = ()

    def __getattr__(self, name):
        return getattr(self.design, name)


class Known(CutFiles):
    """Files of which all but one are read once for all."""

    def __init__(self, home, whole, stem):
        super().__init__(home)
        if whole is not None:
            self._lines |= {n: lines for n, lines in whole._lines.items() if n != stem}
            self.notes |= whole.notes
        self.stem = stem

    @property
    def sheets(self):
        return (self.stem,) if re.fullmatch(r"sheet-\d+", self.stem) else ()

    @property
    def with_ways(self):
        return (self.stem.removesuffix("-bit-path"),)


def drawn(design):
    """What a design writes into each cut file."""
    return {stem: make() for stem, make in cut_files(design).items()}


def checks_of_pieces(design, files):
    return piece_checks(design, files, drawn(design))


def pieces_verdict(files, design, stem):
    """What is told of the pieces in a spoiled DXF file; nothing where it passes."""
    try:
        found = list(checks_of_pieces(Only(design, stem), files))
    except gw.GearworkError as error:
        return str(error)
    about = [c for c in found if stem.startswith("sheet") or stem in c.part]
    return " ".join(c.why for c in about if not c.ok)


class Pdf:
    """A PDF with the contents of its pages as text."""

    def __init__(self, data):
        self.data = data
        named = re.findall(rb"/Contents (\d+) 0 R", data)
        pages = (zlib.decompressobj().decompress(self._stream(n)[2]) for n in named)
        self.pages = [page.decode("latin-1") for page in pages]
        self._named = named

    def _stream(self, number):
        wanted = rb"\n(" + number + rb" 0 obj\s.*?stream\n)(.*?)(?=\s*endstream)"
        return re.search(wanted, self.data, re.S)

    @property
    def bytes(self):
        data = self.data
        for number, page in zip(self._named, self.pages, strict=True):
            at = self._stream(number)
            data = data.replace(at[2], zlib.compress(page.encode("latin-1")))
        return data

    def each(self, way):
        """Change the contents of every page."""
        self.pages = [way(page) for page in self.pages]


class Dxf:
    """Everything before, in and after the section of entities; a tag is [code, value]."""

    def __init__(self, text):
        lines = text.rstrip("\n").split("\n")
        tags = [[int(a), b] for a, b in zip(lines[::2], lines[1::2], strict=True)]
        start = tags.index([2, "ENTITIES"]) + 1
        end = next(i for i in range(start, len(tags)) if tags[i] == [0, "ENDSEC"])
        self.head, self.tail = tags[:start], tags[end:]
        self.entities = []
        for tag in tags[start:end]:
            if tag[0] == 0:
                self.entities.append([])
            self.entities[-1].append(tag)

    @property
    def text(self):
        tags = [*self.head, *(tag for entity in self.entities for tag in entity), *self.tail]
        return "".join(f"{code}\n{value}\n" for code, value in tags)

    def on(self, layer):
        return [e for e in self.entities if get(e, 8) == layer]

    def of(self, kind):
        return [e for e in self.entities if e[0][1] == kind]

    def piece(self, edge):
        """Everything that lies within the bounds of an outer edge, itself included."""
        x, y = zip(*points(edge), strict=True)
        return [
            e
            for e in self.entities
            if all(min(x) <= a <= max(x) and min(y) <= b <= max(y) for a, b in points(e))
        ]

    def header(self, name, value):
        at = self.head.index([9, name])
        self.head[at + 1][1] = value

    def layer(self, name, code, value):
        at = next(
            i for i, tag in enumerate(self.head)
            if tag == [2, name] and self.head[i - 1] == [100, "AcDbLayerTableRecord"]
        )  # fmt: skip
        end = next(i for i in range(at, len(self.head)) if self.head[i][0] == 0)
        given = [tag for tag in self.head[at:end] if tag[0] == code]
        if given:
            given[0][1] = value
        else:
            self.head.insert(at + 1, [code, value])


def get(entity, code):
    return next((value for given, value in entity if given == code), None)


def put(entity, code, value):
    for tag in entity:
        if tag[0] == code:
            tag[1] = value
            return
    at = next(i for i, tag in enumerate(entity) if tag[0] == 8)
    entity.insert(at + 1, [code, value])


def points(entity):
    found = [
        [float(a[1]), float(b[1])]
        for a, b in pairwise(entity)
        if (a[0], b[0]) in ((10, 20), (11, 21))
    ]
    return found or [[math.inf, math.inf]]


def mapped(entities, way):
    """Entities with their points where `way` takes them."""
    for entity in entities:
        for a, b in pairwise(entity):
            if (a[0], b[0]) in ((10, 20), (11, 21)):
                x, y = way(float(a[1]), float(b[1]))
                a[1], b[1] = f"{x:.6f}", f"{y:.6f}"


def move(entities, x, y):
    mapped(entities, lambda a, b: (a + x, b + y))


def middle(entity):
    x, y = zip(*points(entity), strict=True)
    return (min(x) + max(x)) / 2, (min(y) + max(y)) / 2


def turn(entities, degrees, about=(0.0, 0.0)):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    p, q = about
    mapped(
        entities,
        lambda a, b: (p + c * (a - p) - s * (b - q), q + s * (a - p) + c * (b - q)),
    )


def scale(entities, factor, about=(0.0, 0.0)):
    p, q = about
    mapped(entities, lambda a, b: (p + factor * (a - p), q + factor * (b - q)))
    for entity in entities:
        if entity[0][1] == "CIRCLE":
            put(entity, 40, f"{factor * float(get(entity, 40)):.6f}")


def mirror(entities, about=(0.0, 0.0)):
    mapped(entities, lambda a, b: (2 * about[0] - a, b))
    for entity in entities:
        for tag in entity:
            if tag[0] == 42:
                tag[1] = repr(-float(tag[1]))


def circle(layer, x, y, diameter):
    return [[0, "CIRCLE"], [8, layer], [10, f"{x}"], [20, f"{y}"], [40, f"{diameter / 2}"]]


def polyline(layer, *corners, closed=True):
    tags = [[0, "LWPOLYLINE"], [8, layer], [90, f"{len(corners)}"], [70, f"{int(closed)}"]]
    return [
        *tags,
        *([code, f"{v}"] for corner in corners for code, v in zip((10, 20), corner, strict=True)),
    ]
