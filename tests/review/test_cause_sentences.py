"""What is said of somebody beside a cause: only ever as possible, and never as the only one it can have been."""

from meetapp.review.cause_sentences import Names, cause_sentence, silent_sentence
from meetapp.review.causes import Cause, Weighed
from meetapp.review.silent_transmitters import MayBe, SilentTransmitter
from tests.review.scenes import flight, record_of

NAMES = Names(record_of([flight(1, 5765, 0, 6), flight(2, 5865, 0, 6)], []))


def test_somebody_s_wrong_channel_is_told_as_possible_and_not_as_what_happened() -> None:
    told = cause_sentence(Weighed(Cause("wrong_channel", 5865, (1,), 4), 0.9, 0.9), None, NAMES)
    assert told == "Possible: pilot 1 (given 5765 MHz) on 5865 MHz instead, 4 MHz from the channel."


def test_whose_transmitter_was_on_without_a_token_is_never_told_without_somebody_else() -> None:
    silent = SilentTransmitter(5865, 5860, 5870, 0.9, 0, 600, ((5865, 1.0),), (0,), (MayBe(1, 5865, 1.0),))
    told = silent_sentence(silent, NAMES)
    assert told.startswith("Possible: ")
    assert told.endswith("pilot 1 (5865 MHz). It may as well have been somebody whom the journal doesn't show.")
