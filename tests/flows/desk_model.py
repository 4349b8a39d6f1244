"""The desk as plain dictionaries and lists: what should be true after each step, without the code under test."""

from copy import deepcopy
from dataclasses import dataclass, field
from itertools import combinations, permutations

Carrier = tuple[int, float]


@dataclass
class Loan:
    """A token (None: a camera without one) with somebody, and what is set."""

    label: str | None
    mhz: int
    power_mw: float | None
    is_overridden: bool = False


@dataclass
class Model:
    """Who holds what, who waits (name, passed once), who shares what, and how the tokens are.

    `settings`: what each pilot would set for each token; `widths`: how wide each of them is.
    """

    settings: dict[tuple[str, str], int]
    widths: dict[str, float]
    spacing: float
    clearance: float
    tokens: dict[str, str]
    loans: dict[str, Loan] = field(default_factory=dict)
    line: list[tuple[str, bool]] = field(default_factory=list)
    turns: dict[str, tuple[str, str]] = field(default_factory=dict)

    def copy(self) -> "Model":
        return deepcopy(self)

    def is_partner(self, who: str) -> bool:
        return any(partner == who for _holder, partner in self.turns.values())

    def waits(self, who: str) -> bool:
        return any(name == who for name, _passed in self.line)

    def is_out(self, label: str) -> bool:
        return any(loan.label == label for loan in self.loans.values())

    def carriers(self, without: str | None = None) -> list[Carrier]:
        return [(loan.mhz, self.widths.get(who, 20)) for who, loan in self.loans.items() if who != without]

    # Each step gives the model after it, or None where it has to be refused. The same model: nothing happens.

    def handed_out(self, who: str, label: str, has_reason: bool) -> "Model | None":
        mhz = self.settings.get((who, label))
        if self.tokens[label] != "usable" or self.is_out(label) or who in self.loans or mhz is None:
            return None
        breaks = breaks_a_floor(self.carriers(), (mhz, self.widths[who]), self.spacing, self.clearance)
        if breaks and not has_reason:
            return None
        after = self.copy()
        after.loans[who] = Loan(label, mhz, 25, breaks)
        after.served(who)
        return after

    def served(self, who: str) -> None:
        if self.waits(who):
            self.line = [(name, False) for name, _passed in self.line if name != who]
        self.turns = {label: pair for label, pair in self.turns.items() if pair[1] != who}

    def camera_on(self, mhz: int) -> "Model | None":
        if "camera" in self.loans:
            return None
        breaks = breaks_a_floor(self.carriers(), (mhz, 20), self.spacing, self.clearance)
        after = self.copy()
        after.loans["camera"] = Loan(None, mhz, 25, breaks)
        return after

    def taken_back(self, who: str) -> "Model":
        after = self.copy()
        after.turns.pop(after.loans.pop(who).label or "", None)
        return after

    def handed_over(self, who: str, to: str) -> "Model | None":
        label = self.loans[who].label
        if label is None or who == to:
            return None
        return self.taken_back(who).handed_out(to, label, False)

    def swapped(self, label: str) -> "Model | None":
        if label not in self.turns:
            return None
        holder, partner = self.turns[label]
        after = self.copy()
        del after.turns[label], after.loans[holder]
        swapped = after.handed_out(partner, label, False)
        if swapped is not None:
            swapped.turns[label] = (partner, holder)
        return swapped

    def changed(self, who: str, mhz: int) -> "Model | None":
        if abs(mhz - 5658) > 2 or self.loans[who].label != "R1":
            return None
        loan = self.loans[who]
        if mhz == loan.mhz:
            return self
        others = self.carriers(without=who)
        if breaks_a_floor(others, (mhz, self.widths[who]), self.spacing, self.clearance):
            return None
        after = self.copy()
        after.loans[who] = Loan(loan.label, mhz, loan.power_mw, loan.is_overridden)
        return after

    def joined(self, who: str) -> "Model | None":
        if who in self.loans or self.is_partner(who):
            return None
        if self.waits(who):
            return self
        after = self.copy()
        after.line.append((who, False))
        return after

    def left(self, who: str) -> "Model":
        if not self.waits(who):
            return self
        after = self.copy()
        after.line = [each for each in after.line if each[0] != who]
        return after

    def passed(self, who: str, is_passed: bool) -> "Model":
        if (who, not is_passed) not in self.line:
            return self
        after = self.copy()
        after.line[after.line.index((who, not is_passed))] = (who, is_passed)
        return after

    def shared(self, who: str, partner: str) -> "Model | None":
        label = self.loans[who].label
        if label is None or label in self.turns or partner in self.loans or self.is_partner(partner):
            return None
        if (partner, label) not in self.settings:
            return None
        after = self.left(partner).copy()
        after.turns[label] = (who, partner)
        return after

    def ended(self, label: str) -> "Model":
        if label not in self.turns:
            return self
        after = self.copy()
        del after.turns[label]
        return after

    def missing(self, label: str) -> "Model | None":
        if self.tokens[label] != "usable":
            return self if self.tokens[label] == "missing" else None
        holder = next((who for who, loan in self.loans.items() if loan.label == label), None)
        after = self.taken_back(holder) if holder else self.copy()
        after.tokens[label] = "missing"
        return after

    def found(self, label: str) -> "Model":
        if self.tokens[label] == "usable":
            return self
        after = self.copy()
        after.tokens[label] = "usable"
        return after

    def withdrawn(self, label: str) -> "Model | None":
        if self.tokens[label] == "withdrawn":
            return self
        if self.is_out(label):
            return None
        after = self.copy()
        after.tokens[label] = "withdrawn"
        return after


def breaks_a_floor(on_air: list[Carrier], added: Carrier, spacing: float, clearance: float) -> bool:
    """Whether a carrier breaks a floor with those on air: every pair and every product in which it takes part."""
    if any(abs(mhz - added[0]) - ((width + added[1]) / 2 - 20) < spacing for mhz, width in on_air):
        return True
    everything = [*on_air, added]
    numbers = set(range(len(everything)))
    mine = len(everything) - 1
    formulas = [[(a, 2), (b, -1)] for a, b in permutations(numbers, 2)]
    formulas += [[(a, 1), (b, 1), (c, -1)] for a, b in combinations(numbers, 2) for c in numbers - {a, b}]
    for formula in formulas:
        sources = {number for number, _times in formula}
        for victim in numbers - sources:
            takes_part = mine == victim or mine in sources
            if takes_part and _distance(everything, formula, victim) < clearance:
                return True
    return False


def _distance(carriers: list[Carrier], formula: list[tuple[int, int]], victim: int) -> float:
    """How far a product falls from its victim, the widths beyond the reference of 20 MHz taken off."""
    product = sum(times * carriers[number][0] for number, times in formula)
    width = sum(abs(times) * carriers[number][1] for number, times in formula)
    return abs(product - carriers[victim][0]) - (carriers[victim][1] - 20) / 2 - (width - 60) / 2
