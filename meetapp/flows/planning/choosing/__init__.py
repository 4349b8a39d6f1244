"""Choosing a meet's channels: the question, the search that goes on behind the page, and what its answers look like."""

from meetapp.flows.planning.choosing.choice import Choice, choose
from meetapp.flows.planning.choosing.comparison import Comparison, compare
from meetapp.flows.planning.choosing.form_page import ChoosingPage, choosing_page
from meetapp.flows.planning.choosing.question import USUAL_SPACING_MHZ, Question
from meetapp.flows.planning.choosing.search_jobs import SearchJobs, search_to_the_end
from meetapp.flows.planning.choosing.shown_set import ShownSet, look_at
from meetapp.flows.planning.choosing.trade_off import TradeOff, TradeRow, trade_off

__all__ = [
    "USUAL_SPACING_MHZ",
    "Choice",
    "ChoosingPage",
    "Comparison",
    "Question",
    "SearchJobs",
    "ShownSet",
    "TradeOff",
    "TradeRow",
    "choose",
    "choosing_page",
    "compare",
    "look_at",
    "search_to_the_end",
    "trade_off",
]
