"""Stamps and spans lose nothing."""

import re
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldwright.contract.quantities import Duration
from coldwright_basis import instants

STAMPS = st.datetimes(
    min_value=datetime(1900, 1, 2),  # noqa: DTZ001 - hypothesis adds the zone
    max_value=datetime(2199, 12, 30),  # noqa: DTZ001
    timezones=st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m))),
)


@given(STAMPS, st.sampled_from("Tt "))
def test_a_stamp_is_the_instant_of_the_standard_library(moment, between):
    text = moment.isoformat().replace("T", between)
    assert re.search(instants.STAMP_PATTERN, text)
    since = moment - datetime(1970, 1, 1, tzinfo=UTC)
    assert instants.instant(text) == ((since.days * 86400 + since.seconds) * 10**6 + since.microseconds) * 1000


@given(st.integers(-2_208_988_800 * 10**9, 7_258_118_399 * 10**9))
def test_an_instant_is_shown_without_loss(nanoseconds):
    text = instants.show(nanoseconds)
    assert re.search(instants.STAMP_PATTERN, text)
    assert instants.instant(text) == nanoseconds


@pytest.mark.parametrize("text", ["2026-02-29T00:00:00Z", "2026-06-31T00:00:00Z", "1900-02-29T00:00:00Z"])
def test_a_day_that_does_not_exist_is_refused(text):
    assert re.search(instants.STAMP_PATTERN, text)
    error = instants.stamp_error("/at", text)
    assert error
    assert error.pointer == "#/at"


@pytest.mark.parametrize("text", ["2026-02-01T00:00:00", "2026-02-01", "2026-02-01T24:00:00Z", "2026-02-01T00:00:00.Z"])
def test_what_is_no_stamp_does_not_fit_the_pattern(text):
    assert not re.search(instants.STAMP_PATTERN, text)


def test_spans_are_exact():
    assert instants.span(Duration(1.5, "min")) == 90 * instants.NANO
    assert instants.in_words(instants.span(Duration(3905, "s"))) == "1 h 5 min 5 s"
    assert instants.duration(90 * instants.NANO).to("s") == 90
