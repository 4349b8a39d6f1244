"""What pick and inspect answer, in JSON and in words."""

import json
from collections.abc import Sequence

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.products import Hit, Measures, product_text
from meetapp.spectrum.result import BestFound, Impossible, Optimal

NEAR_A_CARRIER_MHZ = 40
"""How near a product must fall to a carrier for `inspect` to list it: a little over the useful clearance."""

NOTHING_YET = "The search was stopped before it found a set: give it more time with --seconds."

_MADE_OF_THE_THIRD_ORDER = 3
_TOLERANCE = "A difference of a few MHz is within a transmitter's own tolerance."
_PROOF = f"Proven best by these sums; no promise of a clear picture. {_TOLERANCE}"
_NO_PROOF = "Best found when the search was stopped: not proven, and no promise of a clear picture."
_MORE_TIME = "More time (--seconds) may find a better one or the proof."

Json = dict[str, object]


def print_json(answer: Json) -> None:
    """Print an answer on one line."""
    print(json.dumps(answer))


def set_as_json(carriers: Sequence[Carrier], labels: Sequence[Sequence[str]], measures: Measures) -> Json:
    """A set with its measures."""
    return {
        "mhz": [carrier.mhz for carrier in carriers],
        "labels": [list(each) for each in labels],
        "spacing_mhz": measures.spacing_mhz,
        "two_signal_clearance_mhz": measures.two_signal_clearance_mhz,
        "three_signal_clearance_mhz": measures.three_signal_clearance_mhz,
    }


def widths_as_json(carriers: Sequence[Carrier]) -> Json:
    """How wide each carrier is, and where its edges are."""
    return {
        "widths_mhz": [carrier.width_mhz for carrier in carriers],
        "edges_mhz": [list(carrier.edges_mhz) for carrier in carriers],
    }


def proof_as_json(result: Optimal | BestFound) -> Json:
    """Whether it is proven; if not, what no clearance can pass."""
    if isinstance(result, Optimal):
        return {"proven": True}
    return {"proven": False, "clearance_bound_mhz": result.bound_mhz}


def hits_as_json(near: Sequence[Hit]) -> Json:
    """The products near the carriers."""
    return {
        "products": [
            {
                "order": _MADE_OF_THE_THIRD_ORDER,
                "kind": hit.product.kind,
                "sources": list(hit.product.sources),
                "mhz": hit.product.mhz,
                "victim": hit.victim_mhz,
                "distance_mhz": hit.distance_mhz,
            }
            for hit in near
        ]
    }


def impossible_as_json(result: Impossible) -> Json:
    """What would fit instead."""
    return {"largest_count": result.largest_count, "largest_spacing_mhz": result.largest_spacing_mhz}


def print_set(
    carriers: Sequence[Carrier], labels: Sequence[Sequence[str]], measures: Measures, *, with_edges: bool
) -> None:
    """A line for each carrier, then the measures."""
    for carrier, names in zip(carriers, labels, strict=True):
        edges = f"  {_width_text(carrier)}" if with_edges else ""
        print(f"{carrier.mhz} MHz  {' '.join(names)}{edges}".rstrip())
    print()
    for name, value in (
        ("spacing", measures.spacing_mhz),
        ("two-signal clearance", measures.two_signal_clearance_mhz),
        ("three-signal clearance", measures.three_signal_clearance_mhz),
    ):
        print(f"{name:<24}{'nothing to measure' if value is None else f'{value:g} MHz'}")
    if any(carrier.width_mhz != REFERENCE_WIDTH_MHZ for carrier in carriers):
        print(f"Widths are taken off: at {REFERENCE_WIDTH_MHZ} MHz of width these are plain distances between centres.")
    print()


def _width_text(carrier: Carrier) -> str:
    low, high = carrier.edges_mhz
    return f"{carrier.width_mhz:g} MHz wide, {low:g} to {high:g}"


def print_proof(result: Optimal | BestFound, signals: str, useful_mhz: int) -> None:
    """Whether it is proven, and what that says."""
    if isinstance(result, Optimal):
        print(_PROOF)
        return
    clearance = "two-signal clearance" if signals == "two" else "clearance"
    bound = ""
    if result.bound_mhz is not None:
        bound = f"No set here has more than {result.bound_mhz:g} MHz of {clearance}, counted up to {useful_mhz} MHz. "
    print(f"{_NO_PROOF} {bound}{_MORE_TIME}")


def print_impossible(result: Impossible, count: int, spacing_mhz: int) -> None:
    """What was asked for, and what would fit instead."""
    print(f"There is no set of {count} with a spacing of {spacing_mhz} MHz here.")
    print(f"The largest count at this spacing is {result.largest_count}.")
    if result.largest_spacing_mhz is None:
        print("No spacing helps: there are fewer frequencies to choose from than that.")
    else:
        print(f"The largest spacing for this count is {result.largest_spacing_mhz:g} MHz.")


def print_hits(near: Sequence[Hit]) -> None:
    """A line for each product near a carrier."""
    print(f"Products of the third order within {NEAR_A_CARRIER_MHZ} MHz of a carrier: {len(near) or 'none'}")
    for hit in near:
        product = hit.product
        text = f"{product_text(product.kind, product.sources)} = {product.mhz}"
        print(f"  {text:<28}{hit.distance_mhz:g} MHz from {hit.victim_mhz}")
