"""Settings, and the one place where logging is set up."""

from __future__ import annotations

import logging

import pytest

from scheduler.office.clock import system_clock
from scheduler.office.config import BadSetting, Config, settings_table
from scheduler.office.logs import set_up_logging


def test_without_variables_the_defaults_hold() -> None:
    config = Config.from_env({"HOME": "/nowhere", "SOAKLINE_PORT": " "})
    assert config == Config()
    assert (config.database_url, config.redis_url, config.host) == (
        "sqlite:///soakline.db",
        None,
        "127.0.0.1",
    )


def test_variables_are_read_by_their_type() -> None:
    config = Config.from_env(
        {
            "SOAKLINE_DATABASE_URL": "postgresql://a@b/c",
            "SOAKLINE_REDIS_URL": "redis://q",
            "SOAKLINE_PORT": "0",
            "SOAKLINE_LOG_LEVEL": "debug",
            "SOAKLINE_PLAN_SECONDS": "2.5",
            "SOAKLINE_SECRET_KEY": "long",
        }
    )
    assert (config.database_url, config.redis_url, config.port) == ("postgresql://a@b/c", "redis://q", 0)
    assert (config.log_level, config.plan_seconds, config.secret_key) == ("DEBUG", 2.5, "long")


@pytest.mark.parametrize(
    ("variable", "value", "says"),
    [
        ("SOAKLINE_PORT", "65536", "65536 is not a port from 0 to 65535"),
        ("SOAKLINE_PORT", "-1", "-1 is not a port"),
        ("SOAKLINE_PORT", "80a", "80a is not a port"),
        ("SOAKLINE_PLAN_SECONDS", "soon", "soon is not a number of seconds"),
        ("SOAKLINE_PLAN_SECONDS", "inf", "inf is not a number of seconds"),
        ("SOAKLINE_PLAN_SECONDS", "nan", "nan is not a number of seconds"),
        ("SOAKLINE_LOG_LEVEL", "LOUD", "LOUD is none of DEBUG"),
    ],
)
def test_a_bad_variable_is_named_with_its_value(variable: str, value: str, says: str) -> None:
    with pytest.raises(BadSetting, match=f"{variable}: {says}"):
        Config.from_env({variable: value})


def test_the_table_lists_every_setting_with_its_meaning() -> None:
    table = settings_table()
    assert [variable for variable, _, _ in table] == [
        "SOAKLINE_DATABASE_URL",
        "SOAKLINE_REDIS_URL",
        "SOAKLINE_HOST",
        "SOAKLINE_NAMES",
        "SOAKLINE_HTTPS",
        "SOAKLINE_PORT",
        "SOAKLINE_LOG_LEVEL",
        "SOAKLINE_SECRET_KEY",
        "SOAKLINE_PLAN_SECONDS",
    ]
    assert all(about.endswith(".") for _, _, about in table)


def test_logging_is_set_up_once(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    root = logging.getLogger()
    monkeypatch.setattr(root, "handlers", [])
    before = root.level
    try:
        set_up_logging("info")
        set_up_logging("WARNING")
        logging.getLogger("shop").info("unheard")
        logging.getLogger("shop").warning("heard once")
    finally:
        root.setLevel(before)
    assert capsys.readouterr().err.count("heard once") == 1
    with pytest.raises(ValueError, match="LOUD"):
        set_up_logging("loud")


def test_the_system_clock_knows_its_offset() -> None:
    assert system_clock().utcoffset() is not None
