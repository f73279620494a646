"""Files that no instrument wrote: one message that names the line and the figure."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from scheduler.physics.climate import read_sensor
from scheduler.physics.csv_rows import TOLD
from scheduler.physics.logs import read_log
from scheduler.physics.nonsense import Nonsense

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no column humidity_pct"),
        ("time,humidity_pct\n", "there is no reading in it"),
        ("time,humidity_pct\n2031-03-03T05:00\n", "line 2: humidity_pct is '', which is no number"),
        ("time,humidity_pct\n2031-13-03,50\n", "line 2: time is '2031-13-03', which is no time"),
        ("time,humidity_pct\n0001-01-01T00:00:00+12:00,50\n", "line 2: time is '0001"),
        ("time,humidity_pct\n9999-12-31T23:00:00-12:00,50\n", "line 2: time is '9999"),
        ("time,humidity_pct\n2031-03-03T05:00,nan\n", "'nan', which is no number"),
        ('time,humidity_pct\n"' + "x" * 200_000, "line 2: no CSV can be read here"),
        ('"' + "x" * 200_000, "line 1: no CSV can be read here"),
    ],
)
def test_a_sensors_file_that_is_none_is_refused(text: str, said: str) -> None:
    with pytest.raises(Nonsense, match=said):
        read_sensor(text, BERLIN, "air.csv")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "it has none"),
        ("minutes,temp_c\n0,warm\n1,30\n", "line 2: temp_c is 'warm', which is no number"),
        ("minutes,temp_c\ninf,20\n1,30\n", "line 2: minutes is 'inf', which is no number"),
        ("minutes,temp_c\n0,-400\n1,30\n", "-400 °C is no chamber's temperature"),
        ("time,temp_c\n0001-01-01T00:00:00+12:00,20\n", "line 2: time is '0001"),
        ('minutes,temp_c\n"' + "x" * 200_000, "no CSV can be read here"),
    ],
)
def test_a_chambers_log_that_is_none_is_refused(text: str, said: str) -> None:
    with pytest.raises(Nonsense, match=said):
        read_log(text, "log.csv", BERLIN)


def test_a_message_names_the_first_wrong_lines_and_counts_the_others() -> None:
    with pytest.raises(Nonsense) as refused:
        read_sensor("time,humidity_pct\n" + "now,50\n" * (TOLD + 7), BERLIN, "air.csv")
    lines = str(refused.value).splitlines()
    assert len(lines) == TOLD + 1 and lines[-1] == "and 7 more"
