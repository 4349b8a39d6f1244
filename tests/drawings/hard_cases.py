"""The hardest cases of every kind of drawing, each as what the template writes."""

from collections.abc import Iterator

from meetapp.drawings.odds import Odds, odds_picture
from meetapp.drawings.settings import setting_picture
from meetapp.drawings.shapes import Picture
from meetapp.drawings.silent_air import SilentAir, silent_picture
from meetapp.drawings.start_lines import start_line_picture
from meetapp.drawings.token_counts import CountColumn, counts_picture
from meetapp.drawings.trade_off import Curve, CurvePoint, trade_off_picture
from meetapp.rules.setting_cards import LEVERS_MAX, LeversToSet, MenuEntry, PressesToMake, ToDo
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.heats import LinePlace, start_line
from tests.drawings.air_cases import CASES
from tests.drawings.day_cases import DAYS
from tests.drawings.written import written

TO_DO: dict[str, ToDo] = {
    "a full bank of switches": LeversToSet((True, False) * (LEVERS_MAX // 2), True),
    "many presses, many lamps": PressesToMake(99, 7, tuple((f"lamp {number}", "x99") for number in range(16))),
    "a menu": MenuEntry((("frequency", "5658 MHz"), ("channel", "8"))),
}
COUNTS = [CountColumn(count, 0.09 * count, 0.08 * count, 150 - 9 * count, -9, count == 10) for count in range(1, 11)]


def curve(step: float) -> Picture:
    """A trade-off of nine spacings so far apart, with rings where the step ends."""
    wanted = [
        CurvePoint(6, 20 + step * (n - 1), 20 + step * n, 35 - 4 * n, f"6 at {n}", f"/6/{n}", n % 2 == 0, n == 3)
        for n in range(9)
    ]
    others = [CurvePoint(n, 37, 37 + n / 8, 3, f"{n}", f"/{n}", True, False) for n in (2, 3, 4, 5, 7, 8, 9, 10)]
    picture = trade_off_picture(Curve(6, tuple(wanted), tuple(others), 35))
    assert picture is not None
    return picture


def full_line(pads: int) -> Picture:
    """A start line on which somebody with a long name of a channel stands at each pad."""
    places = [(LinePlace(pad, str(5600 + 17 * pad)), Carrier(5600 + 17 * pad)) for pad in range(1, pads + 1)]
    return start_line_picture(start_line(places, pads), "Round 1, heat 1")


def hard_pieces() -> Iterator[tuple[str, str]]:
    """Each case by its name, as markup."""
    for name, facts in CASES.items():
        yield name, written("air(facts, id)", facts=facts, id=f"air-{name}")
        yield f"small: {name}", written("small_air(facts, id)", facts=facts, id=f"small-{name}")
    for name, day in DAYS.items():
        yield name, written("drawing(day|day_picture, id, scroll=true)", day=day, id=f"day-{name}")
    pictures = {
        **{name: setting_picture(to_do, "R1") for name, to_do in TO_DO.items()},
        "ten counts of tokens": counts_picture(COUNTS),
        "one count of tokens": counts_picture(COUNTS[:1]),
        "a trade-off far apart": curve(9),
        "a trade-off close together": curve(1),
        "odds": odds_picture([Odds("a transmitter not on the channel it was given", 0.4, "40 %")] * 7, "Odds"),
        "on air without a token": silent_picture(
            SilentAir(tuple((5645 + 4 * n, 0.02) for n in range(50)), 5650, 5830, tuple(range(5650, 5900, 20)))
        ),
        "a start line of five": full_line(5),
        "a start line of twelve": full_line(12),
    }
    for name, picture in pictures.items():
        classes = "setting" if name in TO_DO else "start-line" if "start line" in name else "as-is"
        markup = written("drawing(picture, id)", picture=picture, id=f"other-{name}")
        yield name, f'<div class="{classes}">{markup}</div>'
