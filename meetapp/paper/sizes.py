"""Sizes of paper, in millimetres."""

from dataclasses import dataclass, replace
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet as it lies in the printer: width and height in mm."""

    width_mm: float
    height_mm: float

    @property
    def lying(self) -> "Paper":
        """The same sheet, broadside (landscape)."""
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm)


class PaperName(StrEnum):
    """The sheets that can be chosen."""

    A4 = "a4"
    LETTER = "letter"
    A3 = "a3"
    TABLOID = "tabloid"


PAPERS = {
    PaperName.A4: Paper(210, 297),
    PaperName.LETTER: Paper(215.9, 279.4),
    PaperName.A3: Paper(297, 420),
    PaperName.TABLOID: Paper(279.4, 431.8),
}
"""A4 and A3: ISO 216. Letter (8.5 x 11 in) and tabloid (11 x 17 in): ANSI/ASME Y14.1, sizes A and B."""
