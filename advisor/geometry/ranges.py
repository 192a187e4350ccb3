"""Range checks shared by the geometry functions."""

from __future__ import annotations

from advisor.errors import OutOfRangeError

ANGLE_DEG = (1.0, 60.0)  # any bevel of a knife, axe or chisel, per side


def check(field: str, value: float, low: float, high: float, unit: str) -> float:
    """Return ``value`` if it is a number from ``low`` to ``high``.

    Raises:
        OutOfRangeError: it is not; the hint names the range.
    """
    if not low <= value <= high:
        raise OutOfRangeError(
            f"{field.replace('_', ' ')} of {value:g} {unit}",
            field=field,
            hint=f"give {low:g} to {high:g} {unit}",
        )
    return value


def check_angle(value: float, field: str = "angle") -> float:
    """Return an angle per side in degrees, 1 to 60. Raises OutOfRangeError outside."""
    return check(field, value, *ANGLE_DEG, "degrees per side")
