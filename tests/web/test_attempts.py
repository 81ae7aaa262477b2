"""The bound on failed sign-ins, by a clock of its own."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from service.web.attempts import MOST, MOST_ADDRESSES, WITHIN_SECONDS, Attempts


class Clock:
    def __init__(self) -> None:
        self.time = 0.0

    def __call__(self) -> float:
        return self.time


@given(st.lists(st.floats(0, 100), max_size=60))
def test_never_more_tries_than_the_bound_within_its_time(pauses: list[float]) -> None:
    clock, tried = Clock(), []
    attempts = Attempts(clock)
    for pause in pauses:
        clock.time += pause
        if attempts.wait("10.0.0.1") == 0:
            attempts.note_failure("10.0.0.1")
            tried.append(clock.time)
    for first, last in zip(tried, tried[MOST:], strict=False):
        assert last - first >= WITHIN_SECONDS


def test_one_address_does_not_keep_out_another() -> None:
    attempts = Attempts(Clock())
    for _ in range(MOST):
        attempts.note_failure("10.0.0.1")
    assert attempts.wait("10.0.0.1") > 0
    assert attempts.wait("10.0.0.2") == 0


def test_the_wait_that_is_told_is_enough() -> None:
    clock = Clock()
    attempts = Attempts(clock)
    for _ in range(MOST):
        clock.time += 1.3
        attempts.note_failure("10.0.0.1")
    clock.time += attempts.wait("10.0.0.1")
    assert attempts.wait("10.0.0.1") == 0


def test_many_addresses_take_no_more_room_than_so_much() -> None:
    attempts = Attempts(Clock())
    for number in range(MOST_ADDRESSES + 50):
        attempts.note_failure(str(number))
    assert len(attempts._failed) <= MOST_ADDRESSES
