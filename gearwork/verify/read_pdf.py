"""Reading a printed drawing back: sizes of the pages, lines and words on them, in mm on the paper.

Of PDF (ISO 32000-1) as much as `output/pdf.py` writes. Anything else is refused: a file printed
anew by another program may have lost its scale.
"""

import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gearwork.errors import GearworkError
from gearwork.numbers import Floats

POINT = 25.4 / 72  # mm, the unit of a page (ISO 32000-1, 8.3.2.3)
MAX_BYTES = 8_000_000
FOREIGN = "it is no PDF as gearwork writes it: write the files again"

_OBJECT = re.compile(rb"(?:^|\n)(\d+) 0 obj\s(.*?)\sendobj", re.S)
_TOKEN = re.compile(rb"\((?:\\.|[^()\\])*\)|[\[\]]|/[^\s/\[\]()<>]+|[-+.\d]+|[A-Za-z*]+", re.S)
_RESCALED = re.compile(rb"/Rotate (?!0\s)|/UserUnit|/CropBox")
# Operators that change neither where a line runs nor what is written.
_PASSED = set(b"S f* n h re W* j d BT TL T*".split())


@dataclass(frozen=True)
class Stroke:
    """A line of a width, and its corners as drawn on the paper, mm."""

    width: float
    corners: Floats


@dataclass(frozen=True)
class PdfPage:
    """A page: width and height, lines, and words with where their baselines begin, mm.

    Of words only the letters of Latin-1 are read.
    """

    size: tuple[float, float]
    strokes: tuple[Stroke, ...]
    texts: tuple[tuple[str, tuple[float, float]], ...]


def read_pdf(path: Path) -> list[PdfPage]:
    """Return the pages of a PDF in their order; an error tells why it cannot be vouched for."""
    with open(path, "rb") as file:
        data = file.read(MAX_BYTES + 1)
    if not data.startswith(b"%PDF-"):
        raise GearworkError("it is no PDF any more")
    if len(data) > MAX_BYTES or data.count(b"%%EOF") != 1 or not data.rstrip().endswith(b"%%EOF"):
        raise GearworkError("it was changed or cut short since gearwork wrote it")
    objects = dict(_OBJECT.findall(data))
    try:
        (tree,) = (o for o in objects.values() if b"/Type /Pages" in o)
        kids = re.findall(rb"(\d+) 0 R", re.findall(rb"/Kids \[(.*?)\]", tree, re.S)[0])
        letters = {
            name: _letters(objects[font], objects)
            for fonts in objects.values()
            if b"/Type" not in fonts
            for name, font in re.findall(rb"(/F[\d+]+) (\d+) 0 R", fonts)
        }
        return [_page(objects[kid], objects, letters) for kid in kids]
    except GearworkError:
        raise
    except (KeyError, IndexError, ValueError, zlib.error):
        raise GearworkError(FOREIGN) from None


def _page(
    page: bytes, objects: dict[bytes, bytes], letters: dict[bytes, dict[int, str]]
) -> PdfPage:
    if _RESCALED.search(page):
        raise GearworkError("a page of it was turned, cropped or scaled: print it as written")
    (box,) = re.findall(rb"/MediaBox \[([^]]*)\]", page)
    left, low, right, top = map(float, box.split())
    (content,) = re.findall(rb"/Contents (\d+) 0 R", page)
    hand = _Hand((left, low), letters)
    given: list[bytes] = []
    for token in _TOKEN.findall(_unpacked(objects[content])):
        if token.isalpha() or token[-1:] == b"*":
            hand.takes(token, given)
            given = []
        else:
            given.append(token)
    size = (right - left) * POINT, (top - low) * POINT
    return PdfPage(size, tuple(hand.strokes), tuple(hand.texts))


def _unpacked(stream: bytes) -> bytes:
    data = stream.partition(b"stream\n")[2]
    return zlib.decompressobj().decompress(data, 10 * MAX_BYTES)


def _letters(font: bytes, objects: dict[bytes, bytes]) -> dict[int, str]:
    """What each code of a font stands for, where it says so (ISO 32000-1, 9.10.3)."""
    named = re.findall(rb"/ToUnicode (\d+) 0 R", font)
    if not named:
        return {}
    table = _unpacked(objects[named[0]]).partition(b"beginbfchar")[2]
    return {
        int(code, 16): bytes.fromhex(letter.decode()).decode("utf-16-be")
        for code, letter in re.findall(rb"<(\w+)> <(\w+)>", table)
    }


_ESCAPED = re.compile(rb"\\([()\\]|[0-7]{3})")


def _meant(escaped: re.Match[bytes]) -> bytes:
    """The byte that stands behind a backslash, as itself or in octal (ISO 32000-1, 7.3.4.2)."""
    told = escaped[1]
    return bytes([int(told, 8)]) if told.isdigit() else told


class _Hand:
    """What draws a page from its tokens: operands come first, then what is done with them."""

    def __init__(self, corner: tuple[float, float], letters: dict[bytes, dict[int, str]]) -> None:
        self.letters, self.font = letters, b""
        # Matrix rows as in ISO 32000-1, 8.3.4; the width of lines goes with it.
        self.state = np.array([[1.0, 0.0], [0.0, 1.0], -np.array(corner)]), 1.0
        self.kept: list[tuple[Floats, float]] = []
        self.paths: list[list[tuple[float, float]]] = []
        self.word, self.start = "", np.zeros(2)
        self.strokes: list[Stroke] = []
        self.texts: list[tuple[str, tuple[float, float]]] = []

    def takes(self, token: bytes, given: Sequence[bytes]) -> None:
        """Do what an operator says with its operands."""
        matrix, width = self.state
        if token == b"l":  # by far the most
            self.paths[-1].append(_point(given))
        elif token == b"m":
            self.paths.append([_point(given)])
        elif token == b"q":
            self.kept.append(self.state)
        elif token == b"Q":
            self.state = self.kept.pop()
        elif token == b"cm":
            a, b, c, d, e, f = map(float, given)
            turned = np.array([[a, b], [c, d]]) @ matrix[:2]
            self.state = np.vstack([turned, np.array([e, f]) @ matrix[:2] + matrix[2]]), width
        elif token == b"w":
            self.state = matrix, float(given[0])
        elif token == b"Tf":
            self.font = given[0]
        elif token == b"Tm" and given[:4] == [b"1", b"0", b"0", b"1"]:
            self.start = np.array(_point(given))
        elif token == b"Tj":
            self.word += "".join(self._said(given))
        elif token == b"ET":
            at = POINT * (self.start @ matrix[:2] + matrix[2])
            if self.word:
                self.texts.append((" ".join(self.word.split()), (float(at[0]), float(at[1]))))
            self.word = ""
        elif token not in _PASSED:
            raise GearworkError(FOREIGN)
        if token in (b"S", b"f*", b"n"):
            if token == b"S":
                wide = width * POINT * float(np.sqrt(abs(np.linalg.det(matrix[:2]))))
                self.strokes += [
                    Stroke(wide, POINT * (np.array(path) @ matrix[:2] + matrix[2]))
                    for path in self.paths
                ]
            self.paths = []

    def _said(self, given: Sequence[bytes]) -> Iterator[str]:
        known = self.letters.get(self.font, {})
        for token in given:
            if token.startswith(b"("):
                for code in _ESCAPED.sub(_meant, token[1:-1]):
                    letter = known.get(code, chr(code))
                    yield letter if ord(letter[0]) < 256 else ""


def _point(given: Sequence[bytes]) -> tuple[float, float]:
    x, y = given[-2:]
    return float(x), float(y)
