"""Instants and durations in the words of the shop: "Tue 14:05", "2 h 05 min"."""

from __future__ import annotations

from datetime import datetime

from flask import Flask, g

from web.services import services

#: English whatever the server's locale is.
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

HOUR_MIN = 60
DAY_MIN = 24 * HOUR_MIN


def local(instant: datetime) -> datetime:
    """``instant`` in the shop's time zone; the zone is looked up once a request."""
    if "zone" not in g:
        g.zone = services().zone()
    return instant.astimezone(g.zone)


def when(instant: datetime | None) -> str:
    """Weekday and time, with the date where it is more than six days from now: "Tue 14:05"."""
    if instant is None:
        return "–"
    there = local(instant)
    if "today" not in g:
        g.today = local(services().clock()).date()
    far = abs((there.date() - g.today).days) > 6
    date = f" {there.day} {MONTHS[there.month - 1]}" if far else ""
    return f"{WEEKDAYS[there.weekday()]}{date} {there:%H:%M}"


def day(instant: datetime | None) -> str:
    """Weekday and date: "Tue 4 Mar"."""
    if instant is None:
        return "–"
    there = local(instant)
    return f"{WEEKDAYS[there.weekday()]} {there.day} {MONTHS[there.month - 1]}"


def full(instant: datetime | None) -> str:
    """Weekday, date and time: "Tue 4 Mar 14:05"."""
    return "–" if instant is None else f"{day(instant)} {local(instant):%H:%M}"


def time_only(instant: datetime | None) -> str:
    """The time alone, where the day is told beside it: "14:05"."""
    return "–" if instant is None else f"{local(instant):%H:%M}"


def field_value(instant: datetime | None) -> str:
    """An instant as an ``<input type="datetime-local">`` wants it, in the shop's zone."""
    return "" if instant is None else f"{local(instant):%Y-%m-%dT%H:%M}"


def parsed(text: object) -> datetime | None:
    """The instant that a scenario file's text stands for; ``None`` if it stands for none."""
    try:
        found = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return found if found.tzinfo else None


def lasts(minutes: float) -> str:
    """A duration: "45 min", "2 h 05 min", "3 days 4 h"."""
    whole = round(minutes)
    if whole < HOUR_MIN:
        return f"{whole} min"
    if whole < 2 * DAY_MIN:
        hours, rest = divmod(whole, HOUR_MIN)
        return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
    days, rest = divmod(whole, DAY_MIN)
    hours = rest // HOUR_MIN
    return f"{days} days {hours} h" if hours else f"{days} days"


def figure(value: float | None, decimals: int = 1) -> str:
    """A number with a thin space between thousands and no needless decimals: "1 204.5"."""
    if value is None:
        return "–"
    text = f"{value:,.{decimals}f}".replace(",", "\u202f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def register(app: Flask) -> None:
    """Give every template these words as filters."""
    app.jinja_env.filters.update(
        when=when,
        day=day,
        full=full,
        time_only=time_only,
        field_value=field_value,
        parsed=parsed,
        lasts=lasts,
        figure=figure,
    )
