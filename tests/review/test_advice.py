"""What a meet's reports suggest to change: set, floors, people, waits; each sentence true to the record behind it."""

from dataclasses import replace

from meetapp.review.advice import advise
from meetapp.review.advised import Advice
from meetapp.review.blame import set_to_blame
from meetapp.review.causes import Cause, CauseKind, Weighed
from meetapp.review.evidence import Airing, Kind, MeetRecord, SetToken, Stay
from meetapp.review.explaining import MeetExplained, explain
from meetapp.review.further_off import further_off
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.floors import Floors
from tests.review.scenes import flight, record_of, report


def close_pairs() -> MeetRecord:
    """Five times two loans 7 MHz apart, reported each time; the same two pilots' channels."""
    airings, told = [], []
    for number in range(5):
        first, second = 2 * number + 1, 2 * number + 2
        start = 20 * number
        airings.append(flight(first, 5765, start, start + 6))
        airings.append(replace(flight(second, 5772, start + 1, start + 6), token=3))
        told.append(report(number + 1, first, start + 1.5))
    return record_of(airings, told)


def blaming(record: MeetRecord, *shares: tuple[Cause, float]) -> MeetExplained:
    """Every report of the record explained by these causes."""
    rest = 1 - sum(share for _cause, share in shares)
    causes = tuple(Weighed(cause, share, share) for cause, share in (*shares, (Cause("unknown"), rest)))
    explained = explain(record)
    return replace(explained, reports=tuple(replace(each, causes=causes) for each in explained.reports), silent=())


def told(explained: MeetExplained, kind: str) -> Advice:
    [found] = [each for each in advise(explained) if each.kind == kind]
    return found


def test_loans_too_close_lead_to_a_token_and_a_floor() -> None:
    kinds = {each.kind for each in advise(explain(close_pairs()))}
    assert {"leave_out_token", "raise_floor"} <= kinds


def test_a_floor_is_raised_from_what_it_was_with_what_that_costs() -> None:
    record = replace(close_pairs(), floors=Floors(5, None))
    tokens = (SetToken(1, "T1", 5765), SetToken(3, "T3", 5772))
    sentence = told(explain(replace(record, tokens=tokens)), "raise_floor").sentence
    assert "a spacing of less than 8 MHz: raise its floor from 5 to 8 MHz." in sentence
    assert "The set as a whole reaches 7 MHz, so choose another one, or wait longer: flown again with" in sentence
    assert "mean wait 2.5 min instead of 0 min" in sentence


def test_a_floor_that_was_high_enough_is_kept_and_not_raised() -> None:
    explained = explain(replace(close_pairs(), floors=Floors(33, None)))
    assert "though the meet's floor was 33 MHz" in told(explained, "keep_floor").sentence
    assert "raise_floor" not in {each.kind for each in advise(explained)}


def test_one_far_off_case_does_not_set_the_floor() -> None:
    record = replace(close_pairs(), floors=Floors(20, None))
    explained = blaming(record, (Cause("too_close", 5772, (2,), 7.0), 0.9))
    far = (Weighed(Cause("too_close", 5797, (2,), 32.0), 0.3, 0.3), Weighed(Cause("unknown"), 0.7, 0.7))
    mixed = replace(explained, reports=(replace(explained.reports[0], causes=far), *explained.reports[1:]))
    assert "a spacing of less than 8 MHz" in told(mixed, "keep_floor").sentence


def test_a_quiet_meet_asks_for_nothing() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5865, 0, 6)], [])
    assert [each.kind for each in advise(explain(record))] == ["nothing"]
    assert set_to_blame(explain(record)) == ""


def test_a_long_wait_stands_beside_what_the_formula_expects() -> None:
    airings = [flight(n, 5765, 15 * n, 15 * n + 14) for n in range(1, 13)]
    airings = [replace(each, pilot=number % 6 + 1) for number, each in enumerate(airings)]
    stays = tuple(Stay(each.pilot or 0, max(each.since_s - 3600, 0), each.since_s, True) for each in airings)
    record = replace(record_of(airings, [], stays=stays), tokens=(SetToken(1, "T1", 5765),))
    assert "(the formula expects " in told(explain(record), "token_count").sentence


def failing_kit() -> MeetRecord:
    """Pilot 1 reports in two of three flights; pilots 2 to 4 fly the same channel well, pilot 9 flies 20 MHz off."""
    own = [replace(flight(loan, 5765, 20 * loan, 20 * loan + 6), pilot=1) for loan in (1, 2, 3)]
    others = [flight(loan, 5765, 200 + 20 * loan, 206 + 20 * loan) for loan in (4, 5, 6)]
    beside = [replace(flight(loan, 5785, 20 * (loan - 10), 20 * (loan - 10) + 6), pilot=9) for loan in (11, 12)]
    reports = [replace(report(n, n, 20 * n + 3), pilot=1) for n in (1, 2)]
    return record_of([*own, *others, *beside], reports)


def test_whose_own_kit_may_fail_stands_beside_how_others_fared_there() -> None:
    found = told(blaming(failing_kit(), (Cause("own_receiver"), 0.8)), "check_kit")
    assert (found.pilot, round(found.reports, 1)) == (1, 1.6)
    assert found.sentence.startswith(
        "Own goggles, antenna, range or battery may be the cause of 2 of pilot 1's 2 reports, in 3 flights. "
        "The others on that channel: none in 3 flights. Try the kit on the bench"
    )
    assert found.sentence.endswith("nearer than 20 MHz; T2 (5695 MHz) would have been 90 MHz off.")


def test_three_people_at_most_are_named_for_their_kit() -> None:
    airings = [flight(loan, 5765, 20 * loan, 20 * loan + 6) for loan in range(1, 7)]
    record = record_of(airings, [report(n, n, 20 * n + 3) for n in range(1, 7)])
    named = [each.pilot for each in advise(blaming(record, (Cause("own_receiver"), 0.7))) if each.kind == "check_kit"]
    assert named == [1, 2, 3]


def test_a_transmitter_on_a_wrong_channel_is_offered_the_token_it_woke_on() -> None:
    cause = Cause("wrong_channel", 5866, (1,), None)
    found = told(blaming(failing_kit(), (cause, 0.8)), "check_transmitter")
    assert "from pilot 1's transmitter (usual) on another channel than given, in 3 flights" in found.sentence
    assert "It may have been on 5866 MHz: where T5 is in, hand it that one." in found.sentence
    assert "may come from" in found.sentence


def test_a_channel_further_off_is_offered_only_where_it_would_matter() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5805, 0, 6)], [report(1, 1, 3)])
    found = told(blaming(record, (Cause("own_receiver"), 0.9)), "check_kit")
    assert found.sentence.endswith("nearer than 40 MHz: a channel further off would hardly change it.")
    alone = record_of([flight(1, 5765, 0, 6)], [report(1, 1, 3)])
    found = told(blaming(alone, (Cause("own_receiver"), 0.9)), "check_kit")
    assert found.sentence.endswith("for a flight.")


def test_another_channel_lies_inside_what_the_transmitter_and_the_site_allow() -> None:
    few = Kind(7, "few", (5765, 5805, 5865, 5945))
    record = record_of([replace(flight(1, 5765, 0, 6), kind=few), flight(2, 5785, 0, 6)], [])
    found = further_off(record, frozenset([1]))
    assert found is not None
    assert (found.was_mhz, found.to_mhz, found.token) == (20, 5865, "T5")
    allowed = further_off(replace(record, allowed_mhz=((5880, 5975),)), frozenset([1]))
    assert allowed is not None
    assert allowed.to_mhz == 5945
    wifi = (Neighbour("Wi-Fi", 5865, 40),)
    none = further_off(replace(record, allowed_mhz=((5855, 5900),), neighbours=wifi), frozenset([1]))
    assert none is not None
    assert none.to_mhz is None


def test_a_camera_on_the_ground_counts_among_those_beside() -> None:
    camera = Airing(9, None, None, 5770, 0, 600)
    found = further_off(record_of([flight(1, 5765, 0, 6), camera], []), frozenset([1]))
    assert found is not None
    assert found.was_mhz == 5


def test_somebody_without_a_token_leads_to_the_rule_and_to_no_name() -> None:
    found = told(blaming(failing_kit(), (Cause("no_token", 5765), 0.9)), "power_rule")
    assert "nobody powers up before they hold one" in found.sentence
    assert "pilot" not in found.sentence


def test_whether_the_set_is_to_blame_is_answered_first() -> None:
    shares: dict[CauseKind, str] = {
        "product": "Possibly for the most part. By these odds the 2 reports may come from the set",
        "no_token": "Hardly, as far as the journal shows.",
    }
    for kind, answer in shares.items():
        assert set_to_blame(blaming(failing_kit(), (Cause(kind, 5765), 0.9))).startswith(answer)
    in_part = set_to_blame(blaming(failing_kit(), (Cause("too_close", 5785, (11,), 20.0), 0.4)))
    assert in_part.startswith("Possibly in part.")
    assert in_part.endswith("nothing that the journal shows: about 1.")
