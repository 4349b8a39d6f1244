"""Printed pages read back: words and shapes in millimetres from the top left corner, codes scanned from a picture."""

import io
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import pdfplumber
import pypdfium2
import zxingcpp
from pdfplumber.page import Page

MM = 72 / 25.4
TOLERANCE_MM = 0.2
DESCENDING = set("gjpqyçQ,;()[]/|")
"""Signs that reach below the line on which they stand."""


@dataclass(frozen=True)
class Box:
    """Something on the page: its edges in mm, and its words where it is text."""

    left: float
    top: float
    right: float
    bottom: float
    text: str = ""

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def middle(self) -> tuple[float, float]:
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def holds(self, other: "Box", by_mm: float = 0.0) -> bool:
        return (
            self.left + by_mm <= other.left
            and other.right <= self.right - by_mm
            and self.top + by_mm <= other.top
            and other.bottom <= self.bottom - by_mm
        )

    def covers(self, other: "Box") -> bool:
        return (
            min(self.right, other.right) - max(self.left, other.left) > 0.05
            and min(self.bottom, other.bottom) - max(self.top, other.top) > 0.05
        )


def box_of(found: dict[str, Any]) -> Box:
    return Box(found["x0"] / MM, found["top"] / MM, found["x1"] / MM, found["bottom"] / MM)


def opened(content: bytes) -> list[Page]:
    return list(pdfplumber.open(io.BytesIO(content)).pages)


def size_of(page: Page) -> tuple[float, float]:
    return float(page.width) / MM, float(page.height) / MM


def lines_of_text(page: Page) -> list[Box]:
    """Every piece of text that was written at once, with the box of its letters."""
    found: list[Box] = []
    last_baseline = 0.0
    for char in page.chars:
        baseline = (float(page.height) - char["matrix"][5]) / MM
        size = char["size"] / MM
        below = 0.24 if char["text"] in DESCENDING else 0.02
        box = Box(char["x0"] / MM, baseline - 0.76 * size, char["x1"] / MM, baseline + below * size, char["text"])
        last = found[-1] if found else None
        if last and abs(last_baseline - baseline) < 0.01 and abs(last.right - box.left) < 0.05:
            found[-1] = Box(last.left, last.top, box.right, max(last.bottom, box.bottom), last.text + box.text)
        else:
            found.append(box)
        last_baseline = baseline
    return [box for box in found if box.text.strip()]


def text_of(page: Page) -> str:
    return "\n".join(box.text for box in lines_of_text(page))


def quick_texts(content: bytes) -> list[str]:
    """The words of each page without their places, in the order in which they were written."""
    document = pypdfium2.PdfDocument(content)
    texts = [str(page.get_textpage().get_text_range()) for page in document]
    document.close()
    return texts


def overlapping(boxes: list[Box]) -> list[tuple[str, str]]:
    return [(one.text, other.text) for one, other in combinations(boxes, 2) if one.covers(other)]


def scanned(content: bytes, page: int = 0, dots_per_inch: int = 200) -> set[str]:
    """What a reader finds in the codes of a page, from the picture of it."""
    document = pypdfium2.PdfDocument(content)
    picture = document[page].render(scale=dots_per_inch / 72, grayscale=True).to_pil()
    document.close()
    return {code.text for code in zxingcpp.read_barcodes(picture)}
