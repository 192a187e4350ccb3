"""Root searches for the carbon and nitrogen balances."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, log

_STEPS = 80
_NARROW = 1e-10
_LONGEST = 2.0
_PAIR_STEPS = 12
_HALVINGS = 3

Pair = tuple[float, float]


def site_fraction(right: float, slope: float) -> float:
    """Solve ln(y / (1 - y)) + slope * y = right for 0 < y < 0.6 by Newton steps."""
    y = 0.02
    for _ in range(_STEPS):
        f = log(y / (1.0 - y)) + slope * y - right
        y_new = y - f / (1.0 / (y * (1.0 - y)) + slope)
        if y_new <= 0.0:
            y_new = y / 3.0
        elif y_new >= 0.6:
            y_new = 0.5 * (y + 0.6)
        if abs(y_new - y) < 1e-10:
            return y_new
        y = y_new
    return y


def rising_root(
    function: Callable[[float], tuple[float, float]],
    start: float,
    limits: tuple[float, float],
    tolerance: float,
) -> float:
    """Find the zero of a rising function by Newton steps kept inside a shrinking bracket.

    Steps are cut to 2; one that leaves the bracket, or a slope that is not positive, bisects instead, so
    kinks of the function cannot stall the search.  Without a change of sign inside ``limits`` the nearer
    limit is returned.

    Args:
        function: returns value and slope.
        start: first trial.
        limits: lowest and highest argument.
        tolerance: largest acceptable absolute value.
    """
    low, high = limits
    x = min(max(start, low), high)
    for _ in range(_STEPS):
        value, slope = function(x)
        if abs(value) < tolerance or high - low < _NARROW:
            break
        if value > 0.0:
            high = x
        else:
            low = x
        step = -value / slope if slope > 0.0 else 0.0
        x_new = x + min(max(step, -_LONGEST), _LONGEST)
        x = x_new if low < x_new < high else 0.5 * (low + high)
    return x


def newton_pair(
    function: Callable[[float, float], tuple[Pair, tuple[Pair, Pair]]],
    start: Pair,
    tolerance: float,
) -> Pair | None:
    """Find a common zero of two functions of two variables by Newton steps of at most 2 in each.

    A step that makes the larger residual worse is halved up to three times.  Returns None when the search
    does not settle in 12 evaluations, so that the caller can use a slower, surer method.

    Args:
        function: returns both values and, for each, its slopes against both variables; infinite values
            where it has none.
    """
    x, y = start
    (f, g), slopes = function(x, y)
    worst, halvings = max(abs(f), abs(g)), 0
    step_x, step_y = _pair_step(f, g, slopes)
    for _ in range(_PAIR_STEPS):
        if worst < tolerance:
            return x, y
        (f, g), slopes = function(x + step_x, y + step_y)
        miss = max(abs(f), abs(g))
        if miss >= worst and (halvings < _HALVINGS or miss == inf):
            step_x, step_y, halvings = 0.5 * step_x, 0.5 * step_y, halvings + 1
            continue
        x, y, worst, halvings = x + step_x, y + step_y, miss, 0
        step_x, step_y = _pair_step(f, g, slopes)
    return None


def _pair_step(f: float, g: float, slopes: tuple[Pair, Pair]) -> Pair:
    (a, b), (c, d) = slopes
    determinant = a * d - b * c or 1e-30
    step_x, step_y = (b * g - d * f) / determinant, (c * f - a * g) / determinant
    longest = max(abs(step_x), abs(step_y))
    scale = min(1.0, _LONGEST / longest) if longest > 0.0 else 1.0
    return scale * step_x, scale * step_y
