"""The trade-off of a question as a drawing whose points lead to the questions that get them."""

from meetapp.drawings.shapes import Picture
from meetapp.drawings.trade_off import Curve, CurvePoint, trade_off_picture
from meetapp.flows.planning.choosing import TradeOff, TradeRow
from meetapp.web.texts import number


def curve_of(found: TradeOff, address: str, again: str) -> Picture | None:
    """The drawing; None while nothing is worked out. `again`: the question as a query."""

    def point(row: TradeRow) -> CurvePoint:
        clearance = row.found.clearance_mhz
        return CurvePoint(
            count=row.count,
            from_mhz=row.from_mhz,
            spacing_mhz=row.found.spacing_mhz or 0,
            clearance_mhz=found.useful_mhz if clearance is None else min(clearance, found.useful_mhz),
            hint=f"{row.count} channels {number(row.found.spacing_mhz)} MHz apart: clearance {number(clearance)}",
            href=f"{address}?{again}&count={row.count}&spacing={row.pick_spacing_mhz}",
            is_proven=row.is_proven,
            is_asked=row.is_asked,
        )

    others = [row for row in found.by_count if row.count != found.count]
    return trade_off_picture(
        Curve(found.count, tuple(map(point, found.by_spacing)), tuple(map(point, others)), found.useful_mhz)
    )
