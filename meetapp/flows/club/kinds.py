"""Kinds of transmitter: what they can make, how wide they are, their powers and their habits."""

from dataclasses import dataclass, replace

from sqlmodel import Session, col, func, select

from meetapp.data.catalog import kind_templates
from meetapp.flows.club.kind_drafts import CARSON, KindDraft, Meaning, carson_width, draft_from, draft_of, meaning_of
from meetapp.flows.club.named_rows import KINDS, give_name, row_of
from meetapp.flows.club.setting_cards import read_card
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import one_line, power_steps_text, read_power_steps, read_tuning, refusing
from meetapp.spectrum.carriers import check_width
from meetapp.spectrum.channels import exact_mhz
from meetapp.spectrum.tuning import parse_tuning
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class KindRow:
    """A kind in the list."""

    kind_id: int
    name: str
    is_digital: bool
    width_mhz: float
    reach: str
    power_steps: str
    used_by: int
    is_retired: bool


@dataclass(frozen=True, slots=True)
class KindView:
    """The page of one kind; `kind_id` None: a new one. `goggles_meaning` None: they receive all that it makes."""

    kind_id: int | None
    draft: KindDraft
    width_mhz: float | None = None
    width_words: str = ""
    meaning: Meaning | None = None
    goggles_meaning: Meaning | None = None
    is_retired: bool = False
    used_by: int = 0


def list_kinds(store: Store) -> tuple[KindRow, ...]:
    """Every kind by name, the retired ones last."""
    with store.read() as session:
        plans = plans_of(session)
        used = _used(session)
        rows = [
            KindRow(
                kind.id,
                kind.name,
                kind.is_digital,
                exact_mhz(kind.width_mhz),
                meaning_of(parse_tuning(kind.tuning, plans), plans).reach,
                kind.power_steps_mw,
                used.get(kind.id, 0),
                kind.retired_at is not None,
            )
            for kind in session.exec(select(t.TransmitterKind))
        ]
    return tuple(sorted(rows, key=lambda row: (row.is_retired, row.name.casefold())))


def _used(session: Session) -> dict[int, int]:
    counted = (
        select(t.PilotTransmitter.kind_id, func.count())
        .where(col(t.PilotTransmitter.retired_at).is_(None))
        .group_by(col(t.PilotTransmitter.kind_id))
    )
    return dict(session.exec(counted).all())


def kind_view(store: Store, kind_id: int) -> KindView:
    """The page of one kind."""
    with store.read() as session:
        kind: t.TransmitterKind = row_of(session, KINDS, kind_id)
        plans = plans_of(session)
        return KindView(
            kind.id,
            draft_of(kind),
            exact_mhz(kind.width_mhz),
            kind.width_source,
            meaning_of(parse_tuning(kind.tuning, plans), plans),
            meaning_of(parse_tuning(kind.goggles, plans), plans) if kind.goggles else None,
            kind.retired_at is not None,
            _used(session).get(kind.id, 0),
        )


def template_names() -> tuple[tuple[int, str], ...]:
    """The generic kinds to start from: (place in the catalogue, name)."""
    return tuple(enumerate(template.name for template in kind_templates()))


def new_kind_view(store: Store, *, template: int | None = None, copied_id: int | None = None) -> KindView:
    """The page of a kind that isn't there yet: empty, from a template, or like another kind; it has no name yet.

    Raises:
        NotFound: no such template or kind.
    """
    if copied_id is not None:
        return KindView(None, replace(kind_view(store, copied_id).draft, name=""))
    templates = kind_templates()
    if template is None:
        first = templates[0]
        modulating, deviation = first.carson_modulating_mhz, first.carson_deviation_mhz
        return KindView(None, KindDraft(carson_modulating_mhz=modulating, carson_deviation_mhz=deviation))
    if template not in range(len(templates)):
        raise NotFound("There is no such template.", "Choose one from the list.")
    return KindView(None, draft_from(templates[template]))


def add_kind(store: Store, deed: Deed, draft: KindDraft) -> Answer:
    """Write a new kind of transmitter down."""

    def work(work: Work) -> Answer:
        kind = t.TransmitterKind(name="", width_mhz=1, tuning="", power_steps_mw="")
        kind.setting_card = read_card(draft.setting_card, "setting_card")
        reach = _fill(work.session, kind, draft)
        work.note("kind_added", {"kind_id": kind.id, "name": kind.name})
        return Answer(f"/organiser/kinds/{kind.id}", f"'{kind.name}' is saved: {reach}.", made_id=kind.id)

    return do_once(store, deed, work)


def change_kind(store: Store, deed: Deed, kind_id: int, draft: KindDraft) -> Answer:
    """Save what changed about a kind. Loans that are out keep the width they went out with."""

    def work(work: Work) -> Answer:
        kind: t.TransmitterKind = row_of(work.session, KINDS, kind_id)
        reach = _fill(work.session, kind, draft)
        work.note("kind_changed", {"kind_id": kind.id, "name": kind.name})
        return Answer(f"/organiser/kinds/{kind.id}", f"'{kind.name}' is saved: {reach}.")

    return do_once(store, deed, work)


def _fill(session: Session, kind: t.TransmitterKind, draft: KindDraft) -> str:
    # A plan must not change while a kind is saved that names its channels.
    session.exec(select(t.Club).with_for_update()).one()
    give_name(session, KINDS, kind, draft.name)
    plans = plans_of(session)
    tuning = read_tuning(draft.tuning, plans, "tuning")
    goggles = read_tuning(draft.goggles, plans, "goggles") if draft.goggles.strip() else None
    if goggles is not None and not goggles.all_mhz() & tuning.all_mhz():
        raise Refused("These goggles can't receive a single channel of it.", "Check both lists.", field="goggles")
    kind.is_digital = draft.is_digital
    _fill_width(kind, draft)
    kind.tuning = tuning.text(plans)
    kind.goggles = goggles.text(plans) if goggles else ""
    kind.power_steps_mw = power_steps_text(read_power_steps(draft.power_steps, "power_steps"))
    kind.antenna_gain_dbi = draft.antenna_gain_dbi
    kind.goggles_transmit = draft.goggles_transmit
    kind.moves_by_itself = draft.moves_by_itself
    kind.sets_silently = draft.sets_silently
    kind.setting_hint = draft.setting_hint
    session.add(kind)
    session.flush()
    return meaning_of(tuning, plans).reach


def _fill_width(kind: t.TransmitterKind, draft: KindDraft) -> None:
    if draft.width_from == CARSON:
        if draft.is_digital:
            hint = "Give the width of the digital mode with its source."
            raise Refused("Carson's rule is for analogue video.", hint, field="width_from")
        modulating, deviation = draft.carson_modulating_mhz, draft.carson_deviation_mhz
        kind.width_mhz, kind.width_source = carson_width(modulating, deviation)
        kind.carson_modulating_mhz, kind.carson_deviation_mhz = modulating, deviation
        return
    if draft.width_mhz is None:
        raise Refused("Fill in: the width.", field="width_mhz")
    if not draft.width_source.strip():
        raise Refused("Fill in: where the width comes from.", "A manual, a measurement, a list.", field="width_source")
    with refusing("width_mhz"):
        check_width(draft.width_mhz)
    kind.width_mhz, kind.width_source = draft.width_mhz, one_line(draft.width_source)
    kind.carson_modulating_mhz = kind.carson_deviation_mhz = None
