"""Where labels stand so that none covers another: pure, and the same for the same input."""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise


class NoRoom(ValueError):
    """The labels together are longer than the room for them: make the drawing longer or the labels shorter."""


def spread(
    anchors: Sequence[float], lengths: Sequence[float], start: float, end: float, gap: float = 0
) -> tuple[float, ...]:
    """The middles of labels in one row, as near to their anchors as they can stand without touching.

    Shapes: anchors ascend, lengths belong to them; the answer is in the same order. Each label lies within `start` and
    `end` and at least `gap` from the next. The sum of squared shifts is the least that allows it. Cost: O(n).
    Method: isotonic regression by pooling neighbours (Ayer and others 1955), then cut to the room.

    Raises:
        NoRoom: they don't fit.

    >>> spread([10, 12, 50], [10, 10, 10], 0, 100)
    (6.0, 16.0, 50.0)
    >>> spread([1], [10], 0, 100)
    (5.0,)
    """
    if not anchors:
        return ()
    steps = [(a + b) / 2 + gap for a, b in pairwise(lengths)]
    offsets = list(accumulate(steps, initial=0.0))
    first, last = start + lengths[0] / 2, end - lengths[-1] / 2 - offsets[-1]
    if last < first:
        raise NoRoom(f"Labels of {offsets[-1]:g} don't fit between {start:g} and {end:g}.")
    pooled = _never_falling([anchor - offset for anchor, offset in zip(anchors, offsets, strict=True)])
    return tuple(min(max(first, at), last) + offset for at, offset in zip(pooled, offsets, strict=True))


def _never_falling(values: Sequence[float]) -> list[float]:
    """The never falling sequence that lies nearest to the values: where they fall, neighbours share their mean."""
    pools: list[tuple[float, int]] = []
    for value in values:
        total, size = value, 1
        while pools and pools[-1][0] / pools[-1][1] > total / size:
            before, many = pools.pop()
            total, size = total + before, size + many
        pools.append((total, size))
    return [total / size for total, size in pools for _ in range(size)]


def lanes(stretches: Iterable[tuple[float, float]], gap: float = 0) -> tuple[int, ...]:
    """For each stretch (from, to) the first lane in which it stands clear of those before it; lanes count from 0.

    >>> lanes([(0, 10), (5, 15), (10, 20)])
    (0, 1, 0)
    """
    taken: list[list[tuple[float, float]]] = []
    chosen = []
    for low, high in stretches:
        free = (
            lane
            for lane, others in enumerate(taken)
            if all(high + gap <= left or right + gap <= low for left, right in others)
        )
        lane = next(free, len(taken))
        if lane == len(taken):
            taken.append([])
        taken[lane].append((low, high))
        chosen.append(lane)
    return tuple(chosen)
