"""Signing in against a record: right and wrong secrets, waits, unknown names, links, tablets."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest

from scheduler.office import people
from scheduler.office.people.signing_in import SHUT, WRONG, SignInRefused
from scheduler.office.refused import Refused
from scheduler.people import hash_of_token, hashing, secret_matches
from scheduler.store import Record
from scheduler.store.rows.batch import table
from scheduler.store.tables import (
    PersonRow,
    SignInAttemptRow,
    SignInDeviceRow,
    SignInLinkRow,
    SignInSessionRow,
)
from tests.people.conftest import PASSWORD, PIN
from tests.web.fakes import StandingClock

HERE = "192.0.2.7"


def kinds(record: Record) -> list[str]:
    with record.reading() as unit:
        return [event.kind for event in unit.events.list()]


def tried(record: Record, clock: StandingClock, name: str, secret: str, client: str = HERE) -> str:
    """The refusal of a try that must not sign in."""
    with pytest.raises(SignInRefused) as refusal:
        people.sign_in_by_password(record, clock, name, secret, client)
    return str(refusal.value)


def shared(record: Record, clock: StandingClock) -> str:
    """The token of a tablet that the manager shares."""
    with record.reading() as unit:
        mia = unit.people.get("mia")
    assert mia is not None
    return people.trust_device(record, clock, mia, "by the ovens")[0]


def test_the_right_password_opens_a_sign_in_that_its_token_finds(shop: Record, clock: StandingClock) -> None:
    opened = people.sign_in_by_password(shop, clock, " Oto ", PASSWORD, HERE)
    found = people.find_sign_in(shop, clock, opened.token)
    assert found is not None and (found.person.id, found.way) == ("oto", "password")
    assert people.find_sign_in(shop, clock, opened.token + "x") is None
    assert kinds(shop)[0] == "signed in"


def test_no_secret_and_no_token_stands_in_the_record(shop: Record, clock: StandingClock) -> None:
    opened = people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE)
    tokens = [opened.token, people.make_link(shop, clock, "oto"), shared(shop, clock)]
    tried(shop, clock, "my password is hunter2 hunter2", "x")
    with shop.reading() as unit:
        rows = [
            str(tuple(row))
            for each in (PersonRow, SignInSessionRow, SignInAttemptRow, SignInLinkRow, SignInDeviceRow)
            for row in unit.connection.execute(table(each).select())
        ]
        rows += [str(event) for event in unit.events.list(limit=1000)]
    assert len(rows) > 10
    for secret in (PASSWORD, *tokens, "hunter2"):
        assert not [row for row in rows if secret in row]
    assert any("$argon2id$" in row for row in rows)


def test_a_sign_in_idles_out_but_lives_while_it_is_used(shop: Record, clock: StandingClock) -> None:
    begun = clock.now
    token = people.sign_in_by_password(shop, clock, "mia", PASSWORD, HERE).token
    for hour in range(1, 12):
        clock.now = begun + timedelta(hours=hour) - timedelta(minutes=5 * hour)
        assert people.find_sign_in(shop, clock, token) is not None
    clock.now += timedelta(hours=1)
    assert people.find_sign_in(shop, clock, token) is None


def test_what_a_page_asks_by_itself_keeps_nobody_signed_in(shop: Record, clock: StandingClock) -> None:
    token = people.sign_in_by_password(shop, clock, "mia", PASSWORD, HERE).token
    for _ in range(59):
        clock.now += timedelta(minutes=1)
        assert people.find_sign_in(shop, clock, token, counts=False) is not None
    clock.now += timedelta(minutes=1)
    assert people.find_sign_in(shop, clock, token, counts=False) is None


def test_after_five_wrong_passwords_even_the_right_one_waits(shop: Record, clock: StandingClock) -> None:
    for _ in range(4):
        assert tried(shop, clock, "oto", "wrong") == WRONG["password"]
    assert "try again in 1 min" in tried(shop, clock, "oto", "wrong")
    assert tried(shop, clock, "oto", PASSWORD) == "Too many wrong tries: try again in 1 min."
    assert kinds(shop)[0] == "locked out"
    clock.now += timedelta(minutes=1)
    assert people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE).person.id == "oto"
    # The right one forgives: five more wrong ones are free again.
    for _ in range(4):
        assert tried(shop, clock, "oto", "wrong") == WRONG["password"]


def test_one_persons_wait_is_nobody_elses(shop: Record, clock: StandingClock) -> None:
    for _ in range(5):
        tried(shop, clock, "oto", "wrong")
    assert people.sign_in_by_password(shop, clock, "mia", PASSWORD, HERE).person.id == "mia"


@pytest.mark.parametrize("name", ["nobody", "", "fee", "x" * 5000, "gone"])
def test_names_that_cannot_sign_in_answer_as_wrong_passwords_do(
    shop: Record, clock: StandingClock, name: str
) -> None:
    people.add_person(shop, clock, "gone", "Gon Away", "operator")
    people.set_password(shop, clock, "gone", PASSWORD)
    people.deactivate(shop, clock, "gone")
    known = [tried(shop, clock, "oto", "wrong") for _ in range(7)]
    assert [tried(shop, clock, name, PASSWORD) for _ in range(7)] == known


def test_unknown_names_cost_a_hash_too(
    shop: Record, clock: StandingClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked: list[str] = []

    class Watched:
        def verify(self, stored: str, text: str) -> bool:
            worked.append(stored)
            return True

        def hash(self, text: str) -> str:
            return "made up"

    monkeypatch.setattr(hashing, "_HASHER", Watched())
    hashing._nobody.cache_clear()
    tried(shop, clock, "nobody", "x")
    assert worked == ["made up"]
    hashing._nobody.cache_clear()


def test_a_damaged_hash_matches_nothing() -> None:
    assert not secret_matches("x", "no hash")
    assert not secret_matches("x", None)


def test_one_address_that_tries_many_names_waits(shop: Record, clock: StandingClock) -> None:
    for number in range(30):
        tried(shop, clock, f"guess{number}", "wrong")
    assert "Too many" in tried(shop, clock, "mia", PASSWORD)
    assert people.sign_in_by_password(shop, clock, "mia", PASSWORD, "192.0.2.8").person.id == "mia"
    clock.now += timedelta(minutes=15)
    assert people.sign_in_by_password(shop, clock, "mia", PASSWORD, HERE).person.id == "mia"


def test_tries_at_once_do_not_slip_past_the_limit(shop: Record, clock: StandingClock) -> None:
    device = shared(shop, clock)
    answers: list[str] = []

    def guess() -> None:
        try:
            people.sign_in_by_pin(shop, clock, "oto", "9998", HERE, device)
        except SignInRefused as refusal:
            answers.append(str(refusal))

    threads = [threading.Thread(target=guess) for _ in range(12)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert len(answers) == 12
    assert sum(answer.startswith(WRONG["pin"]) for answer in answers) == 5


def test_a_pin_works_only_where_a_tablet_is_shared(shop: Record, clock: StandingClock) -> None:
    for device in (None, "made-up"):
        with pytest.raises(SignInRefused, match="PINs don't work yet"):
            people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device)
    device = shared(shop, clock)
    opened = people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device)
    found = people.find_sign_in(shop, clock, opened.token)
    assert found is not None and found.way == "pin"
    people.forget_device(shop, clock, 1, "mia")
    with pytest.raises(SignInRefused, match="PINs don't work yet"):
        people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device)


def test_a_shared_tablet_ends_after_its_days(shop: Record, clock: StandingClock) -> None:
    device = shared(shop, clock)
    clock.now += timedelta(days=90)
    assert people.find_device(shop, clock, device) is None
    with pytest.raises(SignInRefused, match="PINs don't work yet"):
        people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device)


def test_ten_wrong_pins_shut_it_until_the_password_or_a_new_pin(shop: Record, clock: StandingClock) -> None:
    device = shared(shop, clock)

    def shut() -> None:
        for _ in range(10):
            with pytest.raises(SignInRefused, match="wrong"):
                people.sign_in_by_pin(shop, clock, "oto", "9998", HERE, device)
            clock.now += timedelta(minutes=16)
        with pytest.raises(SignInRefused) as refusal:
            people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device)
        assert str(refusal.value) == SHUT

    shut()
    people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE)
    assert people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, device).person.id == "oto"
    shut()
    people.set_pin(shop, clock, "oto", "5806", "mia")
    assert people.sign_in_by_pin(shop, clock, "oto", "5806", HERE, device).person.id == "oto"


def test_a_link_signs_in_once(shop: Record, clock: StandingClock) -> None:
    token = people.make_link(shop, clock, "fee", "mia")
    assert people.read_link(shop, clock, token).id == "fee"
    assert people.read_link(shop, clock, token).id == "fee", "looking spends nothing"
    opened = people.use_link(shop, clock, token, HERE)
    assert people.find_sign_in(shop, clock, opened.token) is not None
    for again in (
        lambda: people.use_link(shop, clock, token, HERE),
        lambda: people.read_link(shop, clock, token),
    ):
        with pytest.raises(SignInRefused, match="no longer"):
            again()


def test_a_link_ends_and_is_withdrawn(shop: Record, clock: StandingClock) -> None:
    late, withdrawn = people.make_link(shop, clock, "fee"), people.make_link(shop, clock, "oto")
    people.end_sign_ins(shop, clock, "oto", "mia")
    with pytest.raises(SignInRefused):
        people.use_link(shop, clock, withdrawn, HERE)
    clock.now += timedelta(hours=24)
    with pytest.raises(SignInRefused):
        people.use_link(shop, clock, late, HERE)


def test_a_screens_link_opens_again_until_a_new_one_is_made(shop: Record, clock: StandingClock) -> None:
    token = people.make_display_link(shop, clock, "Wall by the door", "mia")
    first, second = (people.open_display(shop, clock, token) for _ in range(2))
    assert first.person.role == "display" and first.person.id == "wall-wall-by-the-door"
    with pytest.raises(SignInRefused):
        people.use_link(shop, clock, token, HERE)
    newer = people.make_display_link(shop, clock, "Wall by the door", "mia")
    for opened in (first, second):
        assert people.find_sign_in(shop, clock, opened.token) is None
    with pytest.raises(SignInRefused):
        people.open_display(shop, clock, token)
    assert people.open_display(shop, clock, newer).person.id == first.person.id


def test_a_persons_link_opens_no_screen(shop: Record, clock: StandingClock) -> None:
    with pytest.raises(SignInRefused):
        people.open_display(shop, clock, people.make_link(shop, clock, "mia"))


@pytest.mark.parametrize("change", ["deactivate", "change_role", "set_password", "end_sign_ins"])
def test_a_change_ends_the_sign_ins_that_stood_on_what_was(
    shop: Record, clock: StandingClock, change: str
) -> None:
    token = people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE).token
    more = {"change_role": ["front_desk"], "set_password": ["nine quiet anvils"]}.get(change, [])
    getattr(people, change)(shop, clock, "oto", *more, who="mia")
    assert people.find_sign_in(shop, clock, token) is None


def test_a_new_pin_ends_only_what_the_old_one_opened(shop: Record, clock: StandingClock) -> None:
    by_pin = people.sign_in_by_pin(shop, clock, "oto", PIN, HERE, shared(shop, clock)).token
    by_password = people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE).token
    people.set_pin(shop, clock, "oto", "5806")
    assert people.find_sign_in(shop, clock, by_pin) is None
    assert people.find_sign_in(shop, clock, by_password) is not None


def test_sign_out_ends_it(shop: Record, clock: StandingClock) -> None:
    token = people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE).token
    people.sign_out(shop, clock, token)
    people.sign_out(shop, clock, token)
    assert people.find_sign_in(shop, clock, token) is None
    assert kinds(shop).count("signed out") == 1


def test_the_last_manager_stays(shop: Record, clock: StandingClock) -> None:
    for change in (
        lambda: people.deactivate(shop, clock, "mia"),
        lambda: people.change_role(shop, clock, "mia", "operator"),
    ):
        with pytest.raises(Refused, match="only manager"):
            change()
    people.change_role(shop, clock, "oto", "manager", "mia")
    people.deactivate(shop, clock, "mia", "oto")


def test_the_first_person_is_a_manager(record: Record, clock: StandingClock) -> None:
    with pytest.raises(Refused, match="first person must be a manager"):
        people.add_person(record, clock, "oto", "Oto Prov", "operator")
    assert not people.has_people(record)
    with pytest.raises(Refused, match="no person yet"):
        people.make_display_link(record, clock, "Wall")


def test_every_change_has_its_event_and_names_who(shop: Record, clock: StandingClock) -> None:
    people.change_role(shop, clock, "fee", "operator", "mia")
    people.deactivate(shop, clock, "fee", "mia")
    people.activate(shop, clock, "fee", "mia")
    with shop.reading() as unit:
        events = [(event.kind, event.who) for event in unit.events.list(("person", "fee"))]
    assert events == [
        ("person let in again", "mia"),
        ("person shut out", "mia"),
        ("role changed", "mia"),
        ("person added", "office"),
    ]


def test_old_tries_and_ended_sign_ins_are_dropped(shop: Record, clock: StandingClock) -> None:
    token = people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE).token
    tried(shop, clock, "nobody", "x")
    clock.now += timedelta(days=31)
    people.sign_in_by_password(shop, clock, "oto", PASSWORD, HERE)
    with shop.reading() as unit:
        assert unit.sign_ins.get(hash_of_token(token)) is None
        assert len(unit.connection.execute(table(SignInAttemptRow).select()).all()) == 1
