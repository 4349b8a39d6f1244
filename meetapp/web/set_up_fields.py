"""Form fields that the organiser's pages share: numbers as people write them."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from meetapp.web.forms import Blank


def _with_point(value: Any) -> Any:
    return value.strip().replace(",", ".") if isinstance(value, str) else value


DecimalSign = BeforeValidator(_with_point)
"""Reads '18,5' as '18.5'."""

Decimal = Annotated[float, Field(allow_inf_nan=False), DecimalSign]
OptionalDecimal = Annotated[Annotated[float, Field(allow_inf_nan=False)] | None, DecimalSign, Blank]
OptionalGain = Annotated[Annotated[float, Field(ge=-20, le=40, allow_inf_nan=False)] | None, DecimalSign, Blank]
"""An antenna gain in dBi."""
