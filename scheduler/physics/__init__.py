"""How long heat takes: chamber heat-up, soak and slow cool-down."""

from scheduler.physics.heat import (
    Cooldown,
    chamber_minutes,
    cooldown,
    cooldown_c,
    decayed_c,
    preheat_minutes,
    setpoint_c,
    whole_minutes,
)

__all__ = [
    "Cooldown",
    "chamber_minutes",
    "cooldown",
    "cooldown_c",
    "decayed_c",
    "preheat_minutes",
    "setpoint_c",
    "whole_minutes",
]
