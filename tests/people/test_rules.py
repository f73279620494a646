"""The rules alone: patience, secrets, names, how long a sign-in lasts."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.people import (
    CLIENT,
    PASSWORD,
    PIN,
    ROLES,
    BadPerson,
    BadSecret,
    Patience,
    Person,
    SignIn,
    checked_id,
    checked_name,
    checked_password,
    checked_pin,
    hold,
    id_from,
    is_live,
    stay_of,
)
from tests.builders import at

OTO = Person("oto", "Oto Prov", "operator")


@pytest.mark.parametrize(("wrong", "wait_min"), [(4, 0), (5, 1), (6, 2), (7, 4), (8, 8), (9, 15), (30, 15)])
def test_each_wrong_password_after_the_fifth_doubles_the_wait(wrong: int, wait_min: int) -> None:
    held = hold([at(0)] * wrong, at(0), PASSWORD)
    assert (held.until if held else None) == (at(wait_min) if wait_min else None)


def test_a_wait_ends_at_its_minute() -> None:
    tries = [at(0)] * 5
    assert hold(tries, at(1) - timedelta(seconds=1), PASSWORD) is not None
    assert hold(tries, at(1), PASSWORD) is None


def test_ten_wrong_pins_shut_the_pin_for_good() -> None:
    tries = [at(20 * n) for n in range(10)]
    assert hold(tries[:9], at(10_000), PIN) is None
    held = hold(tries, at(10_000), PIN)
    assert held is not None and held.until is None


@given(
    tries=st.lists(st.integers(0, 3000), max_size=40),
    now=st.integers(0, 4000),
    patience=st.sampled_from([PASSWORD, PIN, CLIENT]),
)
def test_a_hold_is_never_past_and_never_longer_than_it_may_be(
    tries: list[int], now: int, patience: Patience
) -> None:
    past = [at(minute) for minute in tries if minute <= now]
    held = hold(past, at(now), patience)
    if len(past) < patience.free:
        assert held is None
    if held is not None and held.until is not None:
        assert at(now) < held.until <= max(past) + patience.longest_wait


@given(tries=st.lists(st.integers(0, 300), max_size=20), more=st.integers(0, 300))
def test_another_wrong_try_never_shortens_a_hold(tries: list[int], more: int) -> None:
    now = at(300)
    before = hold([at(minute) for minute in tries], now, PASSWORD)
    after = hold([at(minute) for minute in (*tries, more)], now, PASSWORD)
    if before is not None:
        assert after is not None and before.until is not None and after.until is not None
        assert after.until >= before.until


@pytest.mark.parametrize("text", ["short", "x" * 201, "aaaabbbbaaaa", "", "oto prov"])
def test_passwords_that_are_guessed_first_are_refused(text: str) -> None:
    with pytest.raises(BadSecret):
        checked_password(text, OTO)


def test_a_long_password_needs_no_special_signs() -> None:
    assert checked_password("seven kettles sing", OTO) == "seven kettles sing"


@pytest.mark.parametrize("text", ["123", "1111", "1234", "8765", "123456789", "12a4", "١٢٣٤", "", "27 49"])
def test_pins_that_are_guessed_first_are_refused(text: str) -> None:
    with pytest.raises(BadSecret):
        checked_pin(text)


@given(st.text(max_size=50))
def test_a_sign_in_name_has_one_spelling_or_none(text: str) -> None:
    try:
        id = checked_id(text)
    except BadPerson:
        return
    assert checked_id(id.upper()) == id
    assert id.isascii() and id == id.lower() and 2 <= len(id) <= 32


@given(st.text(min_size=1, max_size=80))
def test_a_screen_can_have_any_name(name: str) -> None:
    try:
        checked_name(name)
    except BadPerson:
        return
    checked_id(f"wall-{id_from(name) or 'screen'}")


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("way", ["password", "pin", "link", "display"])
def test_a_sign_in_idles_and_ends(role: str, way: str) -> None:
    stay = stay_of(role, way)  # type: ignore[arg-type] # the parameters are roles and ways
    person = Person("x1", "X", role)  # type: ignore[arg-type] # as above
    moment = timedelta(seconds=1)

    def sign_in(used: timedelta) -> SignIn:
        return SignIn(person, way, at(0), at(0) + used, at(0) + stay.whole)  # type: ignore[arg-type] # as above

    assert is_live(sign_in(timedelta()), at(0) + stay.idle - moment)
    assert not is_live(sign_in(timedelta()), at(0) + stay.idle)
    assert is_live(sign_in(stay.whole - moment), at(0) + stay.whole - moment)
    assert not is_live(sign_in(stay.whole - moment), at(0) + stay.whole)


def test_a_sign_in_by_pin_idles_soonest() -> None:
    for role in ("manager", "operator", "front_desk"):
        assert stay_of(role, "pin").idle == timedelta(minutes=30) < stay_of(role, "password").idle
