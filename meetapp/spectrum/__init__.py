"""Channels, products, best sets and matching: pure functions over frozen values, in MHz.

The public names are listed here; the modules say what each is for.
"""

from meetapp.spectrum.bands import Segment, lies_within, parse_segments, segment_around, segments_text
from meetapp.spectrum.bandwidth import carson_mhz, rounded_up_width_mhz
from meetapp.spectrum.carriers import (
    Carrier,
    Neighbour,
    blocked_by,
    neighbour_gap,
    required_distance,
    spacing_between,
)
from meetapp.spectrum.channels import (
    DEFAULT_PULL_MHZ,
    REFERENCE_WIDTH_MHZ,
    USEFUL_CLEARANCE_MHZ,
    BadProblem,
    Channel,
    ChannelPlan,
    labels_at,
    name_of,
)
from meetapp.spectrum.floors import Floors, Shortfall, keeps_floors, set_keeps_floors, shortfalls
from meetapp.spectrum.handout import Offer, TokenIn, Waiting, held_back, largest_group, offers
from meetapp.spectrum.picking import pick
from meetapp.spectrum.pool import plans_of, pool_mhz
from meetapp.spectrum.problem import PickProblem, order_key
from meetapp.spectrum.products import Hit, Measures, Product, hits, measure, product_text, products
from meetapp.spectrum.pull import pulled, worst_case
from meetapp.spectrum.queue_simulation import SimulatedWait, simulated_wait
from meetapp.spectrum.queueing import MeanTimes, QueueFigures, finite_source_queue
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.search import IsOver, best_per_spacing, best_set, improving, next_best
from meetapp.spectrum.serving import (
    ExpectedPilot,
    ServingAnswer,
    ServingProblem,
    ServingSet,
    expected_pilot,
    improving_serving_set,
    next_best_serving,
    seats_in,
    serving_set,
)
from meetapp.spectrum.trade_off import CountRow, Point, by_count, by_spacing, count_row, serving_best, within_pull
from meetapp.spectrum.tuning import Setting, TunableRange, Tuning, parse_tuning, setting_for
from meetapp.spectrum.verify import check_ranking, check_set
from meetapp.spectrum.ways_in import WayIn, ways_in
from meetapp.spectrum.wifi import wifi_centre_mhz, wifi_neighbour

__all__ = [
    "DEFAULT_PULL_MHZ",
    "REFERENCE_WIDTH_MHZ",
    "USEFUL_CLEARANCE_MHZ",
    "BadProblem",
    "BestFound",
    "Carrier",
    "Channel",
    "ChannelPlan",
    "CountRow",
    "ExpectedPilot",
    "Floors",
    "Hit",
    "Impossible",
    "IsOver",
    "MeanTimes",
    "Measures",
    "Neighbour",
    "Offer",
    "Optimal",
    "PickProblem",
    "Point",
    "Product",
    "QueueFigures",
    "Result",
    "Segment",
    "ServingAnswer",
    "ServingProblem",
    "ServingSet",
    "Setting",
    "Shortfall",
    "SimulatedWait",
    "TokenIn",
    "TunableRange",
    "Tuning",
    "Undecided",
    "Waiting",
    "WayIn",
    "best_per_spacing",
    "best_set",
    "blocked_by",
    "by_count",
    "by_spacing",
    "carson_mhz",
    "check_ranking",
    "check_set",
    "count_row",
    "expected_pilot",
    "finite_source_queue",
    "held_back",
    "hits",
    "improving",
    "improving_serving_set",
    "keeps_floors",
    "labels_at",
    "largest_group",
    "lies_within",
    "measure",
    "name_of",
    "neighbour_gap",
    "next_best",
    "next_best_serving",
    "offers",
    "order_key",
    "parse_segments",
    "parse_tuning",
    "pick",
    "plans_of",
    "pool_mhz",
    "product_text",
    "products",
    "pulled",
    "required_distance",
    "rounded_up_width_mhz",
    "seats_in",
    "segment_around",
    "segments_text",
    "serving_best",
    "serving_set",
    "set_keeps_floors",
    "setting_for",
    "shortfalls",
    "simulated_wait",
    "spacing_between",
    "ways_in",
    "wifi_centre_mhz",
    "wifi_neighbour",
    "within_pull",
    "worst_case",
]
