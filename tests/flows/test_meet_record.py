"""A meet file as the record that reports are explained from: channels, labels, missing tags, alarms."""

import pytest

from meetapp.flows.files.meet_file import export_meet
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.meet_record import record_of
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day


@pytest.fixture
def file(desk: Desk) -> MeetFile:
    fly_a_day(desk)
    close_it(desk)
    return export_meet(desk.store, desk.world.meet, desk.clock())


def test_a_wide_range_keeps_every_channel_that_a_plan_or_a_token_names(file: MeetFile) -> None:
    wide = file.model_copy(
        update={"kinds": [kind.model_copy(update={"tuning": "5640-5950/1"}) for kind in file.kinds]}
    )
    named = {channel.mhz for plan in file.plans for channel in plan.channels if 5640 <= channel.mhz <= 5950}
    for flier in record_of(wide).fliers:
        for kind in flier.kinds:
            assert named <= set(kind.channels_mhz)
            assert len(kind.channels_mhz) < 120


def test_a_labels_slips_are_its_neighbours_in_the_plan_and_its_number_in_others(file: MeetFile) -> None:
    plan_of = {plan.letter: {channel.number: channel.mhz for channel in plan.channels} for plan in file.plans}
    slips = [airing for airing in record_of(file).airings if airing.step_beside_mhz]
    assert slips
    for airing in slips:
        given = next(
            (letter, number)
            for letter, channels in plan_of.items()
            for number, mhz in channels.items()
            if mhz == airing.mhz
        )
        beside = {plan_of[given[0]].get(given[1] + step) for step in (-1, 1)}
        assert set(airing.step_beside_mhz) <= beside


def test_an_unknown_wake_channel_is_that_of_the_same_transmitters_last_loan(file: MeetFile) -> None:
    blank = [
        loan.model_copy(
            update={"settings": [each.model_copy(update={"wake_before_mhz": None}) for each in loan.settings]}
        )
        for loan in file.loans
    ]
    airings = [each for each in record_of(file.model_copy(update={"loans": blank})).airings if each.pilot is not None]
    again = [(one, other) for one in airings for other in airings if one.pilot == other.pilot and one is not other]
    assert again
    for airing in airings:
        before = [each.mhz for each in airings if each.pilot == airing.pilot and each.since_s < airing.since_s]
        assert airing.wake_before_mhz == (before[-1] if before else None)


def test_a_missing_tag_and_a_called_stray_are_suspicions(file: MeetFile) -> None:
    found = record_of(file).suspicions
    missing = [each for each in found if each.pilot is not None]
    assert len(missing) == sum(loan.ended_missing for loan in file.loans) == 1
    assert any(each.mhz is None for each in found)


def test_what_was_handed_out_with_a_reason_was_handed_out_in_spite_of_a_warning(file: MeetFile) -> None:
    first, *others = file.loans
    loans = [
        first.model_copy(update={"override_reason": "the last pair of the day"}),
        *(loan.model_copy(update={"override_reason": ""}) for loan in others),
    ]
    airings = record_of(file.model_copy(update={"loans": loans})).airings
    assert {each.loan for each in airings if each.is_override} == {first.ref}
