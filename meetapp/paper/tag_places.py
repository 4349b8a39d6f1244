"""Where tags stand on a sheet, and their measures in millimetres.

A tag is cut out along its full outline, laminated with a rim of film all around, and the film is cut along the dashes:
so the rims of two tags touch and no paper edge lies bare.
"""

from dataclasses import dataclass

from meetapp.paper.sizes import Paper

TAG_WIDTH_MM = 85.6
"""As wide as a card of size ID-1 (ISO/IEC 7810), so that card pouches fit."""

TAG_HEIGHT_MM = 54.0
"""As high as such a card (53.98 mm there)."""

RIM_MM = 4.0
"""Film around the paper: enough to seal. Common practice, no published source."""

HOLE_DIAMETER_MM = 6.0
"""What a common office punch makes (ISO 838: 6 mm), wide enough for a cable tie."""

HOLE_FROM_EDGE_MM = 8.0
"""From the tag's end to the centre of the hole: 5 mm of paper stay around it."""

CORNER_MM = 12.0
"""How much is cut off the two corners at the hole's end, so that it looks like a tag and hangs freely."""

COLUMNS = 2
TOP_MM = 11.0
"""From the paper's edge to the first film line: more than any common printer leaves blank."""

FOOT_MM = 20.0
"""At least this much stays free below the tags for the ruler and the directions."""

PITCH_X_MM = TAG_WIDTH_MM + 2 * RIM_MM
PITCH_Y_MM = TAG_HEIGHT_MM + 2 * RIM_MM


@dataclass(frozen=True, slots=True)
class TagPlace:
    """A tag on a sheet: its upper left corner in mm. `is_back`: seen from behind, the hole at the right end."""

    x: float
    y: float
    is_back: bool = False

    @property
    def hole(self) -> tuple[float, float]:
        """The centre of its hole."""
        return self.across(HOLE_FROM_EDGE_MM), self.y + TAG_HEIGHT_MM / 2

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The corners of the cut line."""
        top, bottom = self.y, self.y + TAG_HEIGHT_MM
        return (
            (self.across(CORNER_MM), top),
            (self.across(TAG_WIDTH_MM), top),
            (self.across(TAG_WIDTH_MM), bottom),
            (self.across(CORNER_MM), bottom),
            (self.across(0), bottom - CORNER_MM),
            (self.across(0), top + CORNER_MM),
        )

    def across(self, from_hole_end: float) -> float:
        """The x of a point so far from the end with the hole."""
        return self.x + (TAG_WIDTH_MM - from_hole_end if self.is_back else from_hole_end)


def rows_on(paper: Paper) -> int:
    """How many rows of tags a sheet holds."""
    return int((paper.height_mm - TOP_MM - FOOT_MM) // PITCH_Y_MM)


def tags_on(paper: Paper) -> int:
    """How many tags a sheet holds.

    >>> from meetapp.paper.sizes import PAPERS, PaperName
    >>> [tags_on(PAPERS[name]) for name in (PaperName.A4, PaperName.LETTER)]
    [8, 8]
    """
    return COLUMNS * rows_on(paper)


def left_of(paper: Paper) -> float:
    """Where the film of the first column begins: the block stands in the middle, so both sides of a sheet agree."""
    return (paper.width_mm - COLUMNS * PITCH_X_MM) / 2


def place(paper: Paper, number: int, *, is_back: bool = False) -> TagPlace:
    """Where the tag with this number (from 0, row by row) stands.

    On a back the columns change sides: the sheet is turned over its long edge.
    """
    row, column = divmod(number, COLUMNS)
    if is_back:
        column = COLUMNS - 1 - column
    return TagPlace(
        left_of(paper) + column * PITCH_X_MM + RIM_MM, TOP_MM + row * PITCH_Y_MM + RIM_MM, is_back
    )
