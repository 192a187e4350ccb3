"""Share metals between austenite and ideal carbides at given carbon and nitrogen activity.

With K[p][i] the ratio of the fraction of metal i in carbide p to its fraction in austenite, the amounts
n[p] >= 0 (moles of metal in carbide p per mole of metal in the steel) minimise the convex function

    f(n) = -sum_i z_i ln D_i,   D_i = 1 + sum_p n_p (K[p][i] - 1),

the multiphase form of the Rachford-Rice equations (Computers & Chemical Engineering 18 (1994)
545-550).  At the minimum every present carbide has sum_i K X_i = 1 with X_i = z_i / D_i, and every absent
one less than 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, log
from operator import mul

Vector = list[float]

_STEPS = 60
_GRADIENT = 1e-9
_SMALLEST_GAIN = 1e-14


def share(z: Sequence[float], excess: Sequence[Vector], start: Vector) -> tuple[Vector, Vector]:
    """Minimise f by projected Newton steps.

    Args:
        z: mole fractions of the metals in the steel, sum 1.
        excess: K - 1 of each carbide (row) and metal (column).
        start: first guess of n, >= 0.

    Returns:
        n and X, the metal fractions of austenite.
    """
    n, d = list(start), _denominators(excess, start)
    f = _objective(z, d)
    if f == inf:
        n = [0.0] * len(excess)
        d = _denominators(excess, n)
        f = _objective(z, d)
    for _ in range(_STEPS):
        x = [zi / di for zi, di in zip(z, d, strict=True)]
        slope = [-sum(map(mul, row, x)) for row in excess]
        active = [p for p, g in enumerate(slope) if n[p] > 0.0 or g < -_GRADIENT]
        if not active or max(abs(slope[p]) for p in active) < _GRADIENT:
            break
        step = _newton_step(excess, active, slope, x, d)
        gain = -sum(step[k] * slope[p] for k, p in enumerate(active))
        if gain < _SMALLEST_GAIN:
            # too small a gain for the objective to resolve: the step itself is still good
            n = _advance(n, active, step, 1.0)
            d = _denominators(excess, n)
            break
        n, d, f = _line_search(z, excess, n, active, step, f)
    return n, [zi / di for zi, di in zip(z, d, strict=True)]


def _denominators(excess: Sequence[Vector], n: Vector) -> Vector:
    d = [1.0] * len(excess[0])
    for amount, row in zip(n, excess, strict=True):
        if amount > 0.0:
            d = [di + amount * e for di, e in zip(d, row, strict=True)]
    return d


def _objective(z: Sequence[float], d: Vector) -> float:
    return inf if min(d) <= 1e-12 else -sum(map(mul, z, map(log, d)))


def _newton_step(excess: Sequence[Vector], active: list[int], slope: Vector, x: Vector, d: Vector) -> Vector:
    weight = [xi / di for xi, di in zip(x, d, strict=True)]
    rows = [excess[p] for p in active]
    weighted = [list(map(mul, row, weight)) for row in rows]
    hessian = [[sum(map(mul, a, b)) for b in rows] for a in weighted]
    for k in range(len(active)):
        hessian[k][k] += 1e-10
    downhill = [-slope[p] for p in active]
    step = solve_linear(hessian, downhill)
    # a singular Hessian (two carbides of like composition) can point uphill; steepest descent cannot
    return step if sum(map(mul, step, downhill)) > 0.0 else downhill


def _advance(n: Vector, active: list[int], step: Vector, scale: float) -> Vector:
    moved = list(n)
    for k, p in enumerate(active):
        moved[p] = max(0.0, n[p] + scale * step[k])
    return moved


def _line_search(
    z: Sequence[float], excess: Sequence[Vector], n: Vector, active: list[int], step: Vector, f: float
) -> tuple[Vector, Vector, float]:
    scale = 1.0
    while True:
        trial = _advance(n, active, step, scale)
        d = _denominators(excess, trial)
        f_trial = _objective(z, d)
        if f_trial <= f + 1e-14 or scale < 1e-10:
            return trial, d, f_trial
        scale *= 0.5


def solve_linear(matrix: list[Vector], right: Vector) -> Vector:
    """Solve a small dense system by Gaussian elimination with partial pivoting."""
    size = len(right)
    if size == 1:
        return [right[0] / (matrix[0][0] or 1e-30)]
    if size == 2:
        (a, b), (c, d) = matrix
        determinant = a * d - b * c or 1e-30
        return [(d * right[0] - b * right[1]) / determinant, (a * right[1] - c * right[0]) / determinant]
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        lead = rows[i][i] or 1e-30
        for r in range(i + 1, size):
            factor = rows[r][i] / lead
            if factor:
                rows[r] = [a - factor * b for a, b in zip(rows[r], rows[i], strict=True)]
    solution = [0.0] * size
    for i in range(size - 1, -1, -1):
        known = sum(rows[i][c] * solution[c] for c in range(i + 1, size))
        solution[i] = (rows[i][size] - known) / (rows[i][i] or 1e-30)
    return solution
