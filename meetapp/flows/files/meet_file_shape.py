"""The shape of a meet file: one meet with everything that its review needs.

`meetapp/data/meet_file.schema.json` is this shape as JSON Schema; a test keeps the two the same.
"""

import json
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic.json_schema import GenerateJsonSchema

from meetapp.flows.files.meet_file_fields import (
    NO_CONTROL_SIGNS,
    Facts,
    FloorMhz,
    HeatCount,
    LongText,
    Mhz,
    Name,
    PowerMw,
    Ref,
    ShortText,
    Utc,
    WidthMhz,
)

_ABOUT = (
    "One meet with everything that its review needs. Rows point at each other by their 'ref', a number that means "
    "something inside one file only. Times are UTC, frequencies and widths MHz, powers mW. A row with a 'voided_at' "
    "was undone: it never counted and is kept for the journal's sake."
)
FORMAT = "meetapp meet file"
VERSION = 2
READABLE = (1, 2)
"""Version 1 has no heats; everything else is the same."""


class Part(BaseModel):
    """One object of the file: nothing missing, nothing beside it, no value of another type."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class SegmentPart(Part):
    """A stretch of band from edge to edge."""

    low_mhz: Mhz
    high_mhz: Mhz
    power_mw: PowerMw | None = Field(description="The highest power there, null where the profile names none.")


class BandPart(Part):
    """A band profile with its source."""

    name: Name
    condition: LongText
    source: LongText
    read_on: date | None
    segments: list[SegmentPart] = Field(max_length=100)


class NeighbourPart(Part):
    """A known foreign signal beside the site."""

    label: Name
    centre_mhz: Annotated[int, Field(ge=1000, le=10_000)]
    width_mhz: WidthMhz
    wifi_channel: Annotated[int, Field(ge=1, le=1000)] | None


class SitePart(Part):
    """Where the meet was."""

    name: Name
    time_zone: Name = Field(description="IANA name; times are shown in it.")
    note: LongText
    band_profile: BandPart
    neighbours: list[NeighbourPart] = Field(max_length=200)


class MeetPart(Part):
    """The meet itself with its floors (spacing null: never set; clearance null: no floor for it)."""

    name: Name
    on_date: date
    state: Literal["planned", "open", "closed"]
    fly_at_once: Annotated[int, Field(ge=1, le=100)]
    pull_mhz: Annotated[int, Field(ge=0, le=100)]
    head_limit_min: Annotated[int, Field(ge=0, le=10_000)]
    power_ceiling_mw: PowerMw | None
    spacing_floor_mhz: FloorMhz | None
    clearance_floor_mhz: FloorMhz | None
    lower_floors_reason: LongText
    signals: Literal["both", "two"]
    is_self_service: bool
    opened_at: Utc | None
    closed_at: Utc | None


class PlanChannelPart(Part):
    """One channel of a plan."""

    number: Annotated[int, Field(ge=1, le=999)]
    mhz: Mhz


class PlanPart(Part):
    """A channel plan that a transmitter kind or a setting names."""

    letter: Annotated[str, Field(pattern=r"^[A-Z]{1,4}$")]
    name: Name
    source: LongText
    is_published: bool
    channels: list[PlanChannelPart] = Field(min_length=1, max_length=100)


class KindPart(Part):
    """A kind of transmitter. `tuning` and `goggles` are words such as 'A B R3 5740 5650-5925/1'."""

    ref: Ref
    name: Name
    is_digital: bool
    width_mhz: WidthMhz
    width_source: LongText
    carson_modulating_mhz: Annotated[float, Field(gt=0, le=1000)] | None
    carson_deviation_mhz: Annotated[float, Field(gt=0, le=1000)] | None
    tuning: Annotated[str, Field(min_length=1, max_length=2000, pattern=NO_CONTROL_SIGNS)]
    goggles: LongText
    power_steps_mw: list[PowerMw] = Field(max_length=50)
    antenna_gain_dbi: Annotated[float, Field(ge=-100, le=100)] | None
    goggles_transmit: bool
    moves_by_itself: bool
    sets_silently: bool
    setting_hint: LongText
    setting_card: LongText | None = Field(
        default=None, description="How each channel is set: 'switches', 'button' or 'menu' and a line for each channel."
    )


class TransmitterPart(Part):
    """One transmitter of a pilot."""

    ref: Ref
    kind: Ref
    nickname: ShortText


class AttendancePart(Part):
    """A pilot expected at the meet, checked in, gone home."""

    transmitter: Ref | None
    is_expected: bool
    checked_in_at: Utc | None
    left_at: Utc | None


class PilotPart(Part):
    """A pilot with the transmitters that played a part at the meet."""

    ref: Ref
    name: Name
    board_name: Name
    band_profile: BandPart | None = Field(description="The pilot's own, null where the site's counts.")
    transmitters: list[TransmitterPart] = Field(max_length=100)
    attendance: AttendancePart | None


class TokenPart(Part):
    """A token that belonged to the meet's set or was out at it."""

    ref: Ref
    code: Annotated[str, Field(min_length=1, max_length=40, pattern=NO_CONTROL_SIGNS)]
    label: Name
    nominal_mhz: Mhz
    is_in_set: bool


class SettingPart(Part):
    """What a loan's transmitter was really set to for a while."""

    transmitter: Ref | None
    label: Name
    mhz: Mhz
    width_mhz: WidthMhz
    power_mw: PowerMw | None
    wake_before_mhz: Mhz | None
    since_at: Utc
    until_at: Utc | None
    voided_at: Utc | None


class LoanPart(Part):
    """One token with one pilot, or a ground transmitter (no pilot, perhaps no token)."""

    ref: Ref
    token: Ref | None
    pilot: Ref | None
    holder_name: ShortText
    out_at: Utc
    in_at: Utc | None
    entered_at: Utc
    ended_missing: bool
    override_reason: LongText = Field(description="Why it went out below a floor; empty where it kept the floors.")
    seen_at: Utc | None
    voided_at: Utc | None
    settings: list[SettingPart] = Field(max_length=200)


class LinePart(Part):
    """One stay in the waiting line."""

    pilot: Ref
    joined_at: Utc
    head_since: Utc | None
    is_skipped: bool
    left_at: Utc | None
    was_served: bool
    voided_at: Utc | None


class SpanPart(Part):
    """Something that ran from a start to an end."""

    started_at: Utc
    ended_at: Utc | None
    voided_at: Utc | None


class SharingPart(SpanPart):
    """Two pilots who used one token by turns."""

    token: Ref
    pilot: Ref
    partner: Ref


class PassOfferPart(SpanPart):
    """A token offered by its holder to another pilot."""

    loan: Ref
    to_pilot: Ref
    was_taken: bool


class PausePart(SpanPart):
    """A pause, in which no waiting counts."""

    reason: LongText


class AlarmPart(SpanPart):
    """'Stray transmitter now' or 'everybody down'."""

    kind: Literal["stray", "down"]


class ReportPart(Part):
    """A clash report."""

    ref: Ref
    pilot: Ref | None
    loan: Ref | None
    happened_at: Utc
    window_s: Annotated[int, Field(ge=0, le=1_000_000)]
    look: Literal["lines", "other_picture", "gone", "colour", "unsure"]
    place: Literal["pits", "line", "flight", "unsure"]
    lasted_s: Annotated[int, Field(ge=0, le=1_000_000)] | None
    note: LongText
    entered_at: Utc
    voided_at: Utc | None


class JournalPart(Part):
    """One line of the journal. In `facts`, pilot, token, loan, transmitter and the like are refs of this file."""

    ref: Ref
    kind: Annotated[str, Field(pattern=r"^[a-z_]{1,40}$")]
    facts: Facts
    actor_role: Literal["organiser", "marshal", "pilot", "bystander"]
    actor_name: ShortText
    actor_pilot: Ref | None
    happened_at: Utc
    entered_at: Utc
    undoes: Ref | None = Field(description="The line that this one took back.")


class HeatPlanPart(Part):
    """Heats as the organiser asked for them, and what was proven then. The one without an end is the last one made."""

    ref: Ref
    size: Annotated[int, Field(ge=1, le=100)] = Field(description="How many fly at once at most.")
    rounds: Annotated[int, Field(ge=1, le=1000)]
    pads: Annotated[int, Field(ge=1, le=1000)] | None = Field(description="Places on the start line, null: enough.")
    spacing_floor_mhz: FloorMhz
    clearance_floor_mhz: FloorMhz | None
    heats_per_round: HeatCount
    heats_bound: HeatCount = Field(description="No plan has fewer heats in a round.")
    heats_proven: bool
    channel_changes: HeatCount
    changes_bound: HeatCount = Field(description="No plan with these heats has fewer channel changes.")
    changes_proven: bool
    made_at: Utc
    ended_at: Utc | None
    voided_at: Utc | None


class HeatSeatPart(Part):
    """A pilot in a heat: the token to take, the channel to set and the place on the start line."""

    pilot: Ref
    transmitter: Ref
    token: Ref
    label: Name
    mhz: Mhz
    width_mhz: WidthMhz
    pad: Annotated[int, Field(ge=1, le=1000)]
    missing: Literal["", "no_show", "broken", "left", "no_token"] = Field(
        description="Why the seat stayed empty; empty where it didn't."
    )
    is_up_late: bool
    voided_at: Utc | None


class HeatPart(Part):
    """A group that flew at once, or was to. Known by its round and number; `position` is its place in the day."""

    ref: Ref
    plan: Ref
    round: Annotated[int, Field(ge=1, le=1000)]
    number: Annotated[int, Field(ge=1, le=10_000)]
    position: Annotated[int, Field(ge=1, le=100_000)]
    state: Literal["planned", "called", "flown", "voided", "dropped"]
    again_for: Ref | None = Field(description="The heat that didn't count and is flown again by this one.")
    called_at: Utc | None
    landed_at: Utc | None
    voided_at: Utc | None
    seats: list[HeatSeatPart] = Field(max_length=1000)


def _no_truth(value: Any) -> Any:
    """`true` is no number, though Python takes it for 1."""
    if isinstance(value, bool):
        raise ValueError("must be a number")
    return value


class MeetFile(Part):
    """A whole meet. Overrides stand with their loans and in the journal; a file of version 1 has no heats."""

    format: Literal["meetapp meet file"]
    version: Annotated[Literal[1, 2], BeforeValidator(_no_truth)]
    club_name: ShortText
    exported_at: Utc
    has_names: bool = Field(description="False: people are numbered and free text is left out.")
    meet: MeetPart
    site: SitePart
    plans: list[PlanPart] = Field(max_length=100)
    kinds: list[KindPart] = Field(max_length=1000)
    pilots: list[PilotPart] = Field(max_length=5000)
    tokens: list[TokenPart] = Field(max_length=5000)
    loans: list[LoanPart] = Field(max_length=50_000)
    line: list[LinePart] = Field(max_length=50_000)
    sharing: list[SharingPart] = Field(max_length=50_000)
    pass_offers: list[PassOfferPart] = Field(max_length=50_000)
    pauses: list[PausePart] = Field(max_length=10_000)
    alarms: list[AlarmPart] = Field(max_length=10_000)
    reports: list[ReportPart] = Field(max_length=50_000)
    heat_plans: list[HeatPlanPart] = Field(default=[], max_length=10_000)
    heats: list[HeatPart] = Field(default=[], max_length=50_000)
    journal: list[JournalPart] = Field(max_length=200_000)


class _WithoutFieldTitles(GenerateJsonSchema):
    """Leaves out titles that only repeat the name of a field."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        """No field has a title."""
        return False


def schema_text() -> str:
    """The shape as JSON Schema (draft 2020-12), as it is kept beside the program's data."""
    schema: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:meetapp:meet-file:{VERSION}",
        **MeetFile.model_json_schema(schema_generator=_WithoutFieldTitles),
    }
    schema["title"], schema["description"] = "Meet file", _ABOUT
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
