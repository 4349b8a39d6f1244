"""Where setting cards stand on a sheet, and their sizes in millimetres."""

from dataclasses import dataclass
from enum import StrEnum

from meetapp.paper.sizes import Paper


class CardSize(StrEnum):
    """The sizes of cards that can be chosen."""

    ID1 = "id1"
    QUARTER = "quarter"


@dataclass(frozen=True, slots=True)
class CardFormat:
    """A card and how it stands on a sheet: `gap_mm` to the next, at least `rim_mm` to the paper's edge."""

    width_mm: float
    height_mm: float
    gap_mm: float
    rim_mm: float

    def columns_on(self, paper: Paper) -> int:
        """How many cards stand side by side."""
        return int((paper.width_mm - 2 * self.rim_mm + self.gap_mm) // (self.width_mm + self.gap_mm))

    def rows_on(self, paper: Paper) -> int:
        """How many cards stand below one another."""
        return int((paper.height_mm - 2 * self.rim_mm + self.gap_mm) // (self.height_mm + self.gap_mm))

    def on_sheet(self, paper: Paper) -> int:
        """How many cards a sheet holds.

        >>> from meetapp.paper.sizes import PAPERS, PaperName
        >>> [CARDS[size].on_sheet(PAPERS[PaperName.A4]) for size in CardSize]
        [8, 4]
        """
        return self.columns_on(paper) * self.rows_on(paper)

    def place(self, paper: Paper, number: int) -> tuple[float, float]:
        """The upper left corner of the card with this number (from 0, row by row)."""
        row, column = divmod(number, self.columns_on(paper))
        across = self.columns_on(paper) * (self.width_mm + self.gap_mm) - self.gap_mm
        left = (paper.width_mm - across) / 2
        return left + column * (self.width_mm + self.gap_mm), self.rim_mm + row * (self.height_mm + self.gap_mm)


CARDS = {
    CardSize.ID1: CardFormat(85.6, 53.98, 4, 14),
    CardSize.QUARTER: CardFormat(105, 148.5, 0, 0),
}
"""ID-1: ISO/IEC 7810 (85.60 x 53.98 mm), for card pouches. A quarter of A4: ISO 216 halved twice, edge to edge."""
