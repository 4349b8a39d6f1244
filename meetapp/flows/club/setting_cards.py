"""The setting card of a kind of transmitter: how each of its channels is set, told once by the organiser."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import TypeVar

from sqlmodel import Session, col, select

from meetapp.flows.club.named_rows import KINDS, row_of
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import one_line
from meetapp.rules.counting import (
    Counting,
    lamps_of,
    one_lamp,
    patterns_by_counting,
    presses_by_counting,
)
from meetapp.rules.setting_card_text import (
    card_text,
    parse_card,
    pattern_text,
    presses_text,
    read_pattern,
    read_presses,
)
from meetapp.rules.setting_cards import (
    CHANNELS_MAX,
    LEVERS_MAX,
    BadCard,
    Button,
    Card,
    Menu,
    Presses,
    SwitchBank,
    ToDo,
    same_lamps,
    same_settings,
)
from meetapp.spectrum.tuning import Tuning, parse_tuning
from meetapp.store import tables as t
from meetapp.store.engine import Store

SWITCHES, BUTTON, MENU, WORDS = "switches", "button", "menu", "words"
WAYS = (SWITCHES, BUTTON, MENU, WORDS)
USUAL_LEVERS = 3
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class CardDraft:
    """What the organiser typed about the way that counts. `told`: a text for each channel, by its key on the card."""

    way: str
    levers: int = USUAL_LEVERS
    on_is_up: bool = True
    lamps: str = ""
    plan_step: str = ""
    channel_step: str = ""
    by_mhz: bool = False
    told: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rule:
    """How the channels are filled in. `lamps`: 'one' (the lamp of its number is lit), 'binary', or '' for none."""

    counting: Counting
    lamps: str = ""


@dataclass(frozen=True, slots=True)
class CardChannel:
    """One channel of a kind: its key on the card, its MHz, what was told about it ('': nothing), and what it means."""

    key: str
    mhz: int
    told: str
    to_do: ToDo | None


@dataclass(frozen=True, slots=True)
class CardView:
    """A kind's setting card. `way`: the one that is shown; `saved_way`: the one that counts now.

    `channels` is empty where there are too many to be listed (`is_too_many`); `remarks` point out what is set alike;
    `meets`: those to come with tokens of their own, whose channels a printed card may show.
    """

    kind_id: int
    kind_name: str
    hint: str
    way: str
    saved_way: str
    draft: CardDraft
    channels: tuple[CardChannel, ...]
    count: int
    is_too_many: bool
    remarks: tuple[str, ...]
    meets: tuple[tuple[int, str], ...] = ()
    channels_max: int = CHANNELS_MAX

    @property
    def untold(self) -> int:
        """How many channels nobody has told about."""
        return sum(channel.to_do is None for channel in self.channels)


def way_of(card: Card | None) -> str:
    """The word for a card's way."""
    match card:
        case SwitchBank():
            return SWITCHES
        case Button():
            return BUTTON
        case Menu():
            return MENU
        case _:
            return WORDS


def card_view(store: Store, kind_id: int, way: str = "") -> CardView:
    """A kind's card as it is saved; with `way`, the page to tell it in another way."""
    with store.read() as session:
        kind, tuning = _kind(session, kind_id)
        card = parse_card(kind.setting_card) if kind.setting_card else None
        saved_way = way_of(card)
        shown_way = way if way in WAYS else saved_way
        shown = card if shown_way == saved_way else None
        draft = _draft_of(shown) if shown else _new_draft(shown_way, len(channels_of(tuning)))
        return replace(_view(kind, tuning, saved_way, draft, shown), meets=_meets(session))


def preview(store: Store, kind_id: int, draft: CardDraft) -> CardView:
    """The same page with what is typed in place of what is saved; nothing is changed.

    Raises:
        Refused: what is typed can't be read.
    """
    with store.read() as session:
        kind, tuning = _kind(session, kind_id)
        saved_way = way_of(parse_card(kind.setting_card) if kind.setting_card else None)
        return _view(kind, tuning, saved_way, draft, _card_from(draft, channels_of(tuning)))


def filled(store: Store, kind_id: int, draft: CardDraft, rule: Rule) -> CardDraft:
    """The draft with every channel told by a rule, to be corrected by hand.

    Raises:
        Refused: the rule can't count so many channels.
    """
    with store.read() as session:
        _, tuning = _kind(session, kind_id)
    keys = list(channels_of(tuning))
    with _refusing("start"):
        if draft.way == SWITCHES:
            patterns = patterns_by_counting(keys, draft.levers, rule.counting)
            told = {key: pattern_text(pattern) for key, pattern in patterns.items()}
        else:
            told = {key: presses_text(each) for key, each in _presses_by_rule(tuning, draft, rule).items()}
    return replace(draft, told=told)


def _presses_by_rule(tuning: Tuning, draft: CardDraft, rule: Rule) -> dict[str, Presses]:
    by_plan: dict[str, list[tuple[str, int]]] = {}
    for channel in tuning.channels:
        by_plan.setdefault(channel.plan, []).append((channel.label, channel.number))
    others = [key for key in channels_of(tuning) if key.isdecimal()]
    if others:
        by_plan[""] = [(key, number) for number, key in enumerate(others, start=1)]
    presses = presses_by_counting(list(by_plan.items()), rule.counting.start)
    lamps = len(draft.lamps.split())
    if rule.lamps == "one":
        number_of = {key: number for channels in by_plan.values() for key, number in channels}
        return {key: replace(each, lamps=one_lamp(number_of[key], lamps)) for key, each in presses.items()}
    if rule.lamps == "binary":
        patterns = patterns_by_counting(list(presses), lamps, rule.counting)
        return {key: replace(each, lamps=lamps_of(patterns[key])) for key, each in presses.items()}
    return presses


def save_card(store: Store, deed: Deed, kind_id: int, draft: CardDraft) -> Answer:
    """Save how the channels of a kind are set; every pilot with such a transmitter sees it from then on."""

    def work(work: Work) -> Answer:
        kind, tuning = _kind(work.session, kind_id)
        card = _card_from(draft, channels_of(tuning))
        kind.setting_card = card_text(card)
        with _refusing("way"):
            parse_card(kind.setting_card)
        work.session.add(kind)
        work.note("setting_card_saved", {"kind_id": kind.id, "name": kind.name})
        alike = _remarks(card, channels_of(tuning))
        return Answer(card_address(kind_id), " ".join([f"The setting card of '{kind.name}' is saved.", *alike]))

    return do_once(store, deed, work)


def drop_card(store: Store, deed: Deed, kind_id: int) -> Answer:
    """Take the card away; the kind's hint stays. Doing it twice changes nothing."""

    def work(work: Work) -> Answer:
        kind, _ = _kind(work.session, kind_id)
        if kind.setting_card is not None:
            kind.setting_card = None
            work.session.add(kind)
            work.note("setting_card_dropped", {"kind_id": kind.id, "name": kind.name})
        return Answer(card_address(kind_id), f"'{kind.name}' has no setting card any more; its hint stays.")

    return do_once(store, deed, work)


def card_address(kind_id: int) -> str:
    """Where the card of a kind is told."""
    return f"/organiser/kinds/{kind_id}/setting"


def channels_of(tuning: Tuning) -> dict[str, int]:
    """Everything that a kind can be set to: its key on the card to its MHz, in the order of the tuning."""
    by_name = {channel.label: channel.mhz for channel in tuning.channels}
    singles = (*tuning.frequencies_mhz, *(mhz for each in tuning.ranges for mhz in each.all_mhz()))
    return by_name | {str(mhz): mhz for mhz in singles}


def read_card(text: str, field: str) -> str | None:
    """A card's text as it is stored; None for an empty one.

    Raises:
        Refused: it is no card.
    """
    if not text.strip():
        return None
    with _refusing(field):
        return card_text(parse_card(text))


def _kind(session: Session, kind_id: int) -> tuple[t.TransmitterKind, Tuning]:
    kind: t.TransmitterKind = row_of(session, KINDS, kind_id)
    return kind, parse_tuning(kind.tuning, plans_of(session))


def _view(kind: t.TransmitterKind, tuning: Tuning, saved_way: str, draft: CardDraft, card: Card | None) -> CardView:
    every = channels_of(tuning)
    is_too_many = len(every) > CHANNELS_MAX
    return CardView(
        kind_id=kind.id,
        kind_name=kind.name,
        hint=kind.setting_hint,
        way=draft.way,
        saved_way=saved_way,
        draft=draft,
        channels=()
        if is_too_many
        else tuple(
            CardChannel(key, mhz, draft.told.get(key, ""), card.to_do(key, mhz) if card else None)
            for key, mhz in every.items()
        ),
        count=len(every),
        is_too_many=is_too_many,
        remarks=tuple(_remarks(card, every)) if card else (),
    )


def _meets(session: Session) -> tuple[tuple[int, str], ...]:
    with_tokens = select(t.MeetToken.meet_id)
    coming = select(t.Meet).where(t.Meet.state != "closed", col(t.Meet.id).in_(with_tokens))
    return tuple((meet.id, meet.name) for meet in session.exec(coming.order_by(col(t.Meet.on_date), col(t.Meet.id))))


def _new_draft(way: str, channels: int) -> CardDraft:
    """An empty form; the bank has as many switches as it takes to count the channels."""
    return CardDraft(way, levers=min(max(1, (channels - 1).bit_length()), LEVERS_MAX))


def _draft_of(card: Card) -> CardDraft:
    match card:
        case SwitchBank():
            told = {key: pattern_text(pattern) for key, pattern in card.patterns.items()}
            return CardDraft(SWITCHES, levers=card.levers, on_is_up=card.on_is_up, told=told)
        case Button():
            told = {key: presses_text(each) for key, each in card.presses.items()}
            return CardDraft(
                BUTTON,
                lamps=" ".join(card.lamps),
                plan_step=card.plan_step,
                channel_step=card.channel_step,
                told=told,
            )
        case Menu():
            return CardDraft(MENU, by_mhz=card.by_mhz)


def _card_from(draft: CardDraft, channels: Mapping[str, int]) -> Card:
    """The card that a draft means; a channel with an empty text is left out."""
    if draft.way == MENU:
        return Menu(draft.by_mhz)
    if len(channels) > CHANNELS_MAX:
        raise Refused(
            f"This kind can be set to {len(channels)} frequencies: a card lists {CHANNELS_MAX} at most.",
            "Choose the menu, or words only.",
            field="way",
        )
    with _refusing("levers" if draft.way == SWITCHES else "lamps"):
        if draft.way == SWITCHES:
            return SwitchBank(draft.levers, draft.on_is_up, _read(draft, channels, read_pattern))
        lamps = tuple(draft.lamps.split())
        steps = one_line(draft.plan_step), one_line(draft.channel_step)
        return Button(lamps, *steps, _read(draft, channels, read_presses))


def _read(draft: CardDraft, channels: Mapping[str, int], read: Callable[[str, str], T]) -> dict[str, T]:
    return {key: read(draft.told[key], key) for key in channels if draft.told.get(key, "").strip()}


@contextmanager
def _refusing(field: str) -> Iterator[None]:
    """Turn what a card refuses into a refusal that names the field of the channel, or else `field`."""
    try:
        yield
    except BadCard as bad:
        raise Refused(bad.reason, field=channel_field(bad.channel) if bad.channel else field) from bad


def channel_field(key: str) -> str:
    """The form field for one channel."""
    return f"told-{key}"


def _remarks(card: Card, channels: Mapping[str, int]) -> Iterator[str]:
    alike = same_settings(card, channels)
    if alike:
        yield f"Set alike, so one of them must be wrong: {_groups(alike)}."
    if lamps := [group for group in same_lamps(card, channels) if group not in alike]:
        yield f"The lamps show the same for: {_groups(lamps)}."


def _groups(groups: Sequence[Sequence[str]]) -> str:
    return "; ".join(f"{', '.join(group[:-1])} and {group[-1]}" for group in groups)
