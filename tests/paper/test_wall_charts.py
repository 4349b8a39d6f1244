"""The wall chart: true to scale, every mark where it belongs, no words on others, one page on each paper."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from itertools import combinations, permutations

import pytest
from pdfplumber.page import Page

from meetapp.data.catalog import published_plans
from meetapp.flows.printing.day import Day
from meetapp.flows.printing.tags import TagToPrint, beside
from meetapp.flows.printing.wall_chart import WallChart
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.paper.wall_charts import wall_chart_page
from meetapp.spectrum.bands import parse_segments
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import Channel, ChannelPlan, labels_at
from meetapp.spectrum.products import hits, measure
from tests.paper.pages import MM, TOLERANCE_MM, Box, lines_of_text, opened, overlapping, size_of

MADE_AT = datetime(2026, 6, 13, 20, 0, tzinfo=UTC)
PLANS = published_plans()
# Channels 4 MHz apart, as an organiser may add them: their labels can't stand side by side.
DENSE = ChannelPlan("Q", "dense", tuple(Channel("Q", at + 1, 5700 + 4 * at) for at in range(12)), "invented")
SIX = (5658, 5705, 5752, 5820, 5880, 5917)
FORTY = tuple(range(5650, 5930, 7))
NEIGHBOURS = (Neighbour("Wi-Fi 149", 5745, 20), Neighbour("The farm over the road and its Wi-Fi", 5825, 40))


def two_signal(mhz: Sequence[int]) -> tuple[int, ...]:
    return tuple(sorted({2 * a - b for a, b in permutations(mhz, 2)}))


def three_signal(mhz: Sequence[int]) -> tuple[int, ...]:
    return tuple(sorted({a + b - c for a, b in combinations(mhz, 2) for c in mhz if c not in (a, b)}))


def chart(mhz: Sequence[int], plans: tuple[ChannelPlan, ...] = PLANS, bands: str = "5725-5875 25 mW") -> WallChart:
    carriers = [Carrier(each) for each in mhz]
    few = carriers[:12]
    names = [next(iter(labels_at(each, plans)), str(each)) for each in mhz]
    return WallChart(
        day=Day("Lower Meadow Flyers", "June meet", "Lower Meadow", date(2026, 6, 14), ()),
        plans=plans,
        tokens=tuple(
            TagToPrint(f"K{at:03}", names[at], each, *beside(each, plans, 2)) for at, each in enumerate(mhz)
        ),
        measures=measure(few),
        two_signal_mhz=two_signal(mhz),
        three_signal_mhz=three_signal(mhz),
        nearest=hits(few, 35)[:8],
        band_name="Lower Meadow licence",
        segments=parse_segments(bands),
        neighbours=NEIGHBOURS,
    )


def drawn(view: WallChart, paper: PaperName = PaperName.A4) -> Page:
    [page] = opened(wall_chart_page(view, PAPERS[paper], MADE_AT))
    return page


def upright(page: Page) -> list[tuple[float, float, float]]:
    """The upright lines in mm: x, top, bottom."""
    lines = [line for line in page.lines if abs(line["x0"] - line["x1"]) < 0.01]
    return [(line["x0"] / MM, line["top"] / MM, line["bottom"] / MM) for line in lines]


@pytest.mark.parametrize(
    ("view", "paper"),
    [
        pytest.param(chart(SIX), PaperName.A4, id="six"),
        pytest.param(chart((), bands="5150-5250, 5725-5875 25 mW, 5700-5900 10 mW"), PaperName.LETTER, id="none"),
        pytest.param(chart(FORTY[:12], (*PLANS, DENSE)), PaperName.TABLOID, id="twelve and a dense plan"),
        pytest.param(chart(FORTY, (*PLANS, DENSE)), PaperName.LETTER, id="forty on a small page"),
    ],
)
def test_no_word_stands_on_another_or_leaves_the_page(view: WallChart, paper: PaperName) -> None:
    page = drawn(view, paper)
    width, height = size_of(page)
    assert (width, height) == (
        pytest.approx(PAPERS[paper].height_mm, abs=TOLERANCE_MM),
        pytest.approx(PAPERS[paper].width_mm, abs=TOLERANCE_MM),
    )
    words = lines_of_text(page)
    assert overlapping(words) == []
    assert all(Box(0, 0, width, height).holds(box, by_mm=8) for box in words)
    codes = {box.text for box in words} & {token.code for token in view.tokens}
    assert len(codes) == len(view.tokens)


def test_every_mark_stands_where_its_frequency_is() -> None:
    page = drawn(chart(SIX))
    lines = upright(page)
    # The lines of the set run through the whole chart: they give the scale, and everything else has to fit it.
    through = sorted({round(x, 3) for x, top, bottom in lines if bottom - top > 60})
    assert len(through) == len(SIX)
    per_mhz = (through[-1] - through[0]) / (SIX[-1] - SIX[0])

    def at(mhz: float) -> float:
        return through[0] + (mhz - SIX[0]) * per_mhz

    assert through == [pytest.approx(at(mhz), abs=TOLERANCE_MM) for mhz in SIX]
    axis_start, axis_end = at(5362 - 12), at(5945 + 12)
    for words, places in (("2a − b", two_signal(SIX)), ("a + b − c", three_signal(SIX))):
        row = next(box for box in lines_of_text(page) if box.text == words)
        marks = sorted(x for x, top, bottom in lines if bottom - top < 6 and row.top - 1 < top < row.bottom)
        shown = [mhz for mhz in places if axis_start <= at(mhz) <= axis_end]
        assert marks == [pytest.approx(at(mhz), abs=TOLERANCE_MM) for mhz in shown]
    for plan in PLANS:
        for channel in plan.channels:
            label = next(box for box in lines_of_text(page) if box.text == channel.label and box.height < 3.5)
            assert label.middle[0] == pytest.approx(at(channel.mhz), abs=TOLERANCE_MM)
    edges = [x for x, top, bottom in lines if 5 < bottom - top < 5.5]
    for mhz in (5725, 5875, 5735, 5755, 5805, 5845):
        assert min(abs(x - at(mhz)) for x in edges) < TOLERANCE_MM


def test_a_channel_of_the_set_is_white_on_black_in_every_plan() -> None:
    page = drawn(chart(SIX))
    white = {}
    for char in page.chars:
        white.setdefault(char["non_stroking_color"] in (1, (1,), (1.0,)), []).append(char["text"])
    marked = "".join(white[True])
    # Once in the set's own row, once in the plan: R7 is F8 too.
    assert sorted(marked[at : at + 2] for at in range(0, len(marked), 2)) == sorted(
        ["R1", "E1", "B2", "F5", "R7", "R8"] * 2 + ["F8"]
    )
