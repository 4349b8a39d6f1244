"""A meet that was explained is not explained again, unless anything in its record changed."""

from dataclasses import replace
from random import Random

from meetapp.flows.review.explained_once import explained_once
from tests.review.scenes import quiet_day, record_of, report


def test_the_same_record_read_again_gets_the_explanation_that_was_kept() -> None:
    airings = quiet_day(Random(5), pilots=8, flights=30)
    told = [report(1, airings[9].loan, airings[9].since_s / 60 + 1)]
    first = explained_once(record_of(airings, told))
    assert explained_once(record_of([replace(each) for each in airings], list(told))) is first

    told_otherwise = [replace(told[0], look="gone")]
    renamed = record_of(airings, told)
    renamed = replace(renamed, fliers=(replace(renamed.fliers[0], name="somebody else"), *renamed.fliers[1:]))
    for changed in (record_of(airings, told_otherwise), renamed):
        assert explained_once(changed) is not first
