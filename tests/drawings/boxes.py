"""What every drawing must keep: words that don't touch, inside the drawing."""

from collections.abc import Iterator
from itertools import combinations

from meetapp.drawings.shapes import Drawing, Picture

ROUNDING = 0.2
"""Places are written to a tenth."""


def trouble_in(picture: Picture) -> list[str]:
    """Words that cover each other or stick out, in every layout."""
    return [f"{drawing.layout}: {what}" for drawing in picture.drawings for what in _trouble(drawing)]


def _trouble(drawing: Drawing) -> Iterator[str]:
    for words in drawing.words:
        box = words.extent
        outside = min(box.left, box.top) < -ROUNDING or box.right > drawing.width + ROUNDING
        if outside or box.bottom > drawing.height + ROUNDING:
            yield f"'{words.text}' sticks out at {box}"
    for one, other in combinations(drawing.words, 2):
        if one.extent.covers(other.extent):
            yield f"'{one.text}' touches '{other.text}'"
