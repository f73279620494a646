"""``soakline people``: a shop's people from a terminal."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scheduler.cli import main
from scheduler.office import people
from scheduler.office.clock import system_clock
from scheduler.office.config import Config
from scheduler.office.people.addresses import server_address
from scheduler.store import Record

PASSWORD = "seven kettles sing"


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    for name in ("SOAKLINE_HOST", "SOAKLINE_PORT", "SOAKLINE_NAMES", "SOAKLINE_HTTPS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("SOAKLINE_DATABASE_URL", f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    return f"sqlite:///{tmp_path / 'shop.sqlite3'}"


def run(*arguments: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["people", *arguments], input=typed)


def test_people_are_added_listed_and_shut_out(url: str) -> None:
    refused = run("add", "oto", "Oto Prov")
    assert refused.exit_code == 2 and "first person must be a manager" in refused.output
    added = run("add", "Mia", "Mia Testa", "--role", "manager")
    assert added.exit_code == 0 and "http://127.0.0.1:8642/sign-in/link/" in added.output
    assert run("add", "oto", "Oto Prov").exit_code == 0
    assert run("password", "oto", typed=f"{PASSWORD}\n{PASSWORD}\n").exit_code == 0
    assert run("pin", "oto", typed="2749\n2749\n").exit_code == 0
    listed = run("list").output
    assert "mia              manager     Mia Testa                no password yet" in listed
    assert "oto              operator    Oto Prov                 password, PIN" in listed
    record = Record(url)
    assert people.sign_in_by_password(record, system_clock, "oto", PASSWORD, "192.0.2.7").person.id == "oto"
    assert "1 signed in" in run("list").output
    assert run("deactivate", "oto").exit_code == 0
    assert "shut out" in run("list").output and "signed in" not in run("list").output
    assert run("link", "oto").exit_code == 2
    assert run("activate", "oto").exit_code == 0
    assert run("pin", "oto", "--none").exit_code == 0
    assert "Oto Prov                 password\n" in run("list").output
    with record.reading() as unit:
        assert {event.who for event in unit.events.list() if event.kind == "person added"} == {"terminal"}
    record.close()


def test_a_screens_link_ends_the_one_before(url: str) -> None:
    assert run("screen-link", "Hall").exit_code == 2
    run("add", "mia", "Mia Testa", "--role", "manager")
    tokens = [run("screen-link", "Hall").output.strip().rpartition("/screen/")[2] for _ in range(2)]
    record = Record(url)
    with pytest.raises(people.SignInRefused):
        people.open_display(record, system_clock, tokens[0])
    assert people.open_display(record, system_clock, tokens[1]).person.name == "Hall"
    record.close()


@pytest.mark.parametrize(
    ("arguments", "typed", "told"),
    [
        (("password", "mia"), "short\nshort\n", "10 to 200"),
        (("pin", "mia", "--pin", "4444"), "", "one digit repeated"),
        (("link", "nobody"), "", "there is no person nobody"),
        (("deactivate", "mia"), "", "the only manager"),
        (("add", "m", "Name"), "", "can't be used"),
    ],
)
def test_what_cannot_be_done_is_told_in_a_line(
    url: str, arguments: tuple[str, ...], typed: str, told: str
) -> None:
    run("add", "mia", "Mia Testa", "--role", "manager")
    answer = run(*arguments, typed=typed)
    assert answer.exit_code == 2 and told in answer.output and "Traceback" not in answer.output


@pytest.mark.parametrize(
    ("config", "address"),
    [
        (Config(), "http://127.0.0.1:8642"),
        (Config(host="::1"), "http://[::1]:8642"),
        (Config(host="0.0.0.0", names=("shop.example", "192.0.2.4")), "http://shop.example:8642"),
        (Config(names=("shop.example",), https=True), "https://shop.example"),
    ],
)
def test_links_begin_with_the_name_that_the_server_goes_by(config: Config, address: str) -> None:
    assert server_address(config) == address
