"""All tables, one import: `from meetapp.store import tables as t`."""

from meetapp.store.club_tables import (
    BandProfile,
    BandSegment,
    ChannelPlanRow,
    Club,
    DeskSession,
    GuessCrowd,
    GuessSource,
    Installation,
    Meet,
    Neighbour,
    Operation,
    Pilot,
    PilotTransmitter,
    PlanChannel,
    Site,
    Token,
    TransmitterKind,
)
from meetapp.store.heat_tables import Heat, HeatPlan, HeatSeat
from meetapp.store.meet_tables import (
    Alarm,
    Attendance,
    ClashReport,
    JournalLine,
    LineEntry,
    Loan,
    LoanSetting,
    MeetToken,
    PassOffer,
    Pause,
    Sharing,
)
from meetapp.store.naming import metadata

__all__ = [
    "Alarm", "Attendance", "BandProfile", "BandSegment", "ChannelPlanRow", "ClashReport", "Club", "DeskSession",
    "GuessCrowd", "GuessSource", "Heat", "HeatPlan", "HeatSeat", "Installation", "JournalLine", "LineEntry", "Loan",
    "LoanSetting", "Meet", "MeetToken", "Neighbour", "Operation", "PassOffer", "Pause", "Pilot", "PilotTransmitter",
    "PlanChannel", "Sharing", "Site", "Token", "TransmitterKind", "metadata",
]
