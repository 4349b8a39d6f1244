"""The timeline: a true time axis, everything that happened on it, words that never touch."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.drawings.day import day_picture
from meetapp.drawings.shapes import Box, Drawing, Part, flat
from meetapp.review.day import DayFacts, DayRow, DayStretch
from tests.drawings.boxes import trouble_in
from tests.drawings.day_cases import DAYS, NAMES, day, report, stretch

minutes = st.floats(0, 600)
stretches = st.builds(
    lambda start, length, who, kind: stretch(start, start + length, who, kind),
    minutes,
    st.floats(0, 120),
    st.sampled_from(NAMES),
    st.sampled_from(("loan", "missing", "pause", "alarm")),
)
rows = st.builds(
    DayRow,
    st.text(max_size=12),
    st.lists(stretches, max_size=6).map(tuple),
    st.lists(st.builds(report, minutes, st.floats(0, 30)), max_size=3).map(tuple),
).filter(lambda row: bool(row.moments))
days = st.lists(rows, min_size=1, max_size=6).map(lambda some: day(*some))


def layout(facts: DayFacts, name: str) -> Drawing:
    return next(drawing for drawing in day_picture(facts).drawings if drawing.layout == name)


@settings(max_examples=15)
@given(days)
def test_no_words_touch_whatever_happened(facts: DayFacts) -> None:
    assert trouble_in(day_picture(facts)) == []


@pytest.mark.parametrize("facts", DAYS.values(), ids=DAYS.keys())
def test_no_words_touch_in_the_worst_days(facts: DayFacts) -> None:
    assert trouble_in(day_picture(facts)) == []


@settings(max_examples=15)
@given(days)
def test_the_time_axis_is_true_and_nothing_is_left_out(facts: DayFacts) -> None:
    parts = [shape for shape in layout(facts, "only").shapes if isinstance(shape, Part)]
    told = [each for row in facts.rows for each in row.stretches]
    assert sorted(part.hint for part in parts) == sorted(
        each.hint for row in facts.rows for each in (*row.stretches, *row.reports)
    )
    drawn = {(part.hint, box.x, box.width) for part in parts for box in flat(part.shapes) if isinstance(box, Box)}
    whole = (facts.end - facts.start).total_seconds() / 60
    length = layout(facts, "only").width - 48
    for each in told:
        begins = (each.start - facts.start).total_seconds() / 60 / max(whole, 1) * length + 24
        lasts = (each.end - each.start).total_seconds() / 60 / max(whole, 1) * length
        assert any(
            hint == each.hint and x == pytest.approx(begins, abs=1e-3) and width == pytest.approx(lasts, abs=1e-3)
            for hint, x, width in drawn
        )


@settings(max_examples=15)
@given(days)
def test_paper_shows_every_minute_of_every_loan(facts: DayFacts) -> None:
    """The strips cut bars, but their lengths together are as long as what they stand for."""
    paper = layout(facts, "paper")
    whole = max((facts.end - facts.start).total_seconds() / 60, 1)
    minutes_of_strip = max(min(120, whole), whole / 12)
    per_minute = (960 - 88 - 48) / minutes_of_strip
    drawn = sum(box.width for box in flat(paper.shapes) if isinstance(box, Box))
    told = sum((each.end - each.start).total_seconds() / 60 for row in facts.rows for each in row.stretches)
    assert drawn / per_minute == pytest.approx(told, abs=0.01)
    assert not paper.has_links


def test_times_are_those_of_the_site_also_where_the_clocks_change() -> None:
    # The clocks of Berlin go from 3:00 back to 2:00 on 2026-10-25 (01:00 UTC).
    start = datetime(2026, 10, 24, 23, 30, tzinfo=UTC)
    end = start + timedelta(hours=4)
    row = DayRow("R1", (DayStretch("loan", start, end, "Ana", "Ana, all night", "#loan-1"),))
    drawing = layout(DayFacts(start, end, ZoneInfo("Europe/Berlin"), (row,)), "only")
    times = [words.text for words in drawing.words if words.kind == "soft"]
    assert times[:7] == ["01:30", "01:45", "02:00", "02:15", "02:30", "02:45", "02:00"]
    assert times[-1] == "04:30"


def test_the_description_counts() -> None:
    picture = day_picture(DAYS["a busy day"])
    # 35 + 26 + 21 + 17 + 15 + 13 loans and the camera's; six reports each; the first may be from two minutes before.
    assert picture.description.startswith("Loans: 128. Clash reports: 36. From 09:58 to 13:29.")
